"""Leaving a firm, worked by hand: ways, money, and what is not ours."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

from builders import product
from ferrule.compute.leaving import Leaving, leave

FILES = {
    "f.toml": (
        '[firm.us]\nname = "Us"\nroles = ["us"]\n'
        '[firm.f]\nname = "F"\n[firm.f.factory]\nexit_time = "10 weeks"\nexit_cost = "9000 EUR"\n'
    ),
    "a.toml": '[assembly]\nid = "TOP"\nfactory = "f"\n[[line]]\nitem = 1\npart = "BOX"\nqty = 1\n',
    "p.toml": (
        '[part.BOX]\nclass = "fabricated"\nqualify = "6 weeks"\nqualify_cost = "2000 EUR"\n'
        'document = [{ kind = "drawing", file = "b.pdf" }]\n'
        '[[part.BOX.source]]\nmaker = "f"\nseller = "f"\nstatus = "approved"\n'
    ),
    "t.toml": (
        '[tool.M]\nname = "Mould"\nkind = "mould"\nmakes = ["BOX"]\namount = "5000 EUR"\ncustodian = "f"\nfirm = "f"\n'
        'leg = [{ name = "steel", owner = "seller", likely = "40 days" }, { name = "sampling", owner = "seller", likely = "7 days" }]\n'
        'copy_held = "ours"\n'
    ),
}
OURS = 'owner = "us"\nagreement = { title = "Tools", signed = 2026-01-01 }\nreturned_on_demand = true\n'


def left(**changed: str) -> Leaving:
    files = {name: FILES[name] + changed.get(name.split(".")[0], "") for name in FILES}
    return leave(product(files), "f", dt.date(2026, 11, 25))


def test_a_tool_that_is_not_ours_is_made_anew_before_its_part_is_qualified() -> None:
    found = left()
    box = next(way for way in found.ways if way.record == ("part", "BOX"))
    assert box.legs == (("steel", "40 days"), ("sampling", "7 days"), ("qualify elsewhere", "6 weeks"))
    assert box.finish == dt.date(2026, 11, 25) + dt.timedelta(days=40 + 7 + 42 - 1)
    assert (box.money, box.money_at_least) == (Fraction(7000), False)
    assert (found.days, found.money, found.unknown) == (89, Fraction(16000), ())
    assert found.longest == box
    assert [gap.kind for gap in found.gaps] == ["ownership not proven"]


def test_a_tool_that_is_ours_by_paper_comes_along_and_is_sampled_again() -> None:
    found = left(t=OURS)
    box = next(way for way in found.ways if way.record == ("part", "BOX"))
    assert box.legs == (("sampling", "7 days"), ("qualify elsewhere", "6 weeks"))
    assert (box.money, box.words) == (Fraction(2000), "M comes along")
    assert (found.days, found.longest and found.longest.record) == (70, ("firm", "f"))
    assert found.gaps == ()


def test_a_return_that_is_not_agreed_is_said_and_the_tool_made_anew() -> None:
    found = left(t=OURS.replace("returned_on_demand = true\n", ""))
    assert [gap.kind for gap in found.gaps] == ["return not agreed"]
    assert found.money == 16000


def test_what_is_not_known_is_at_least_and_named() -> None:
    files = dict(FILES)
    files["p.toml"] = files["p.toml"].replace('qualify = "6 weeks"\nqualify_cost = "2000 EUR"\n', "")
    files["f.toml"] = files["f.toml"].replace('exit_time = "10 weeks"\n', "")
    found = leave(product(files), "f", dt.date(2026, 11, 25))
    assert found.unknown == ("time: building of TOP", "time: BOX", "money: BOX")
    assert (found.days, found.money) == (47, Fraction(14000))


def test_a_second_maker_frees_the_part_but_not_its_tool() -> None:
    second = '[[part.BOX.source]]\nmaker = "g"\nseller = "g"\nstatus = "approved"\n'
    records = [way.record for way in left(p=second).ways]
    assert records == [("firm", "f"), ("part", "BOX")]
    files = {name: text for name, text in FILES.items() if name != "t.toml"} | {
        "p.toml": FILES["p.toml"] + second
    }
    assert [way.record for way in leave(product(files), "f", dt.date(2026, 11, 25)).ways] == [("firm", "f")]


def test_what_nobody_told_us_is_a_gap() -> None:
    files = dict(FILES)
    files["p.toml"] += '[part.CONN]\n[[part.CONN.source]]\nseller = "f"\nstatus = "approved"\n'
    files["p.toml"] = files["p.toml"].replace('document = [{ kind = "drawing", file = "b.pdf" }]\n', "")
    files["t.toml"] = files["t.toml"].replace('copy_held = "ours"\n', "")
    files["a.toml"] = files["a.toml"].replace(
        'factory = "f"\n', 'factory = "f"\nsteps = [{ name = "look", kind = "test" }]\n'
    )
    found = leave(product(files), "f", dt.date(2026, 11, 25))
    assert [(gap.kind, gap.record[1]) for gap in found.gaps] == [
        ("maker unknown", "CONN"),
        ("ownership not proven", "M"),
        ("only copy is theirs", "M"),
        ("nothing of ours describes it", "BOX"),
        ("program not held", "TOP"),
    ]
