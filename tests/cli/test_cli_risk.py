"""`risk` on a product worked by hand, its draws, and the example's screens.

Lamps at 40 without tax, made of one P at 5 and a step of 3: a unit leaves 32. The plan builds 4,000 and sells 400 a
week for ten weeks. P comes from one maker; 2,400 lie in our store, which is 6 weeks; to replace it takes 26.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from answers import answer, golden
from ferrule.cli import main
from git_builders import ferrule

LAMP = {
    "product.toml": """\
[product]
id = "LAMP"
name = "Lamp"
currency = "EUR"
stage = "prototype"

[policy]
carrying_rate = "18 %"
""",
    "parts/p.toml": """\
[part.P]
class = "mechanical"
qualify = "26 weeks"
qualify_cost = "14000 EUR"
loss_chance = "5 %"
lifecycle = { status = "active" }

[[part.P.source]]
maker = "m"
seller = "s"
status = "approved"
currency = "EUR"
price = [{ from = 1, each = 6 }, { from = 100, each = 5 }]
lead_time = "20 days"
valid_until = 2026-12-31
expedite = [{ lead_time = "13 days", each = 1, fee = "50 EUR" }]
""",
    "assemblies/t.toml": """\
[assembly]
id = "TOP"
factory = "works"
steps = [{ name = "build", cost = 3, yield = "100 %", time = "5 days" }]

[assembly.sale.web]
list_price = "40 EUR"

[[line]]
item = 10
part = "P"
qty = 1
supply = "consigned"
""",
    "firms/f.toml": """\
[firm.m]
name = "M"
roles = ["maker"]

[firm.s]
name = "S"
roles = ["seller"]

[firm.works]
name = "Works"
roles = ["factory"]

[firm.me]
name = "Me"
roles = ["us"]

[channel.web]
name = "Web"
kind = "direct"
currency = "EUR"

[lane.sea]
name = "Sea"
mode = "sea"
destination = "EU"
currency = "EUR"
leg = [{ name = "sea", best = "10 days", likely = "20 days", worst = "60 days" }]

[lane.air]
name = "Air"
mode = "air"
destination = "EU"
currency = "EUR"
leg = [{ name = "air", best = "4 days", likely = "4 days", worst = "4 days" }]
""",
    "counts/s.toml": """\
[[stock]]
part = "P"
place = "me"
qty = 2400
status = "usable"
ours = true
counted = 2026-12-01
""",
    "plans/p.toml": """\
[plan]
id = "p"
start = 2027-01-04
end = "week 40"
opening = 30000
floor = 5000
season = 2027-04-24

[[build]]
name = "b"
sku = "TOP"
qty = 4000
factory = "works"
lane = "sea"
ship = 2027-03-15

[[sales]]
sku = "TOP"
channel = "web"
build = "b"
qty = 4000
over_weeks = 10
""",
}
Run = Callable[..., tuple[int, str, str]]


def write(folder: Path, edits: Mapping[str, str]) -> None:
    """Write the lamp, old texts replaced by new ones, each of which stands in one place of one file."""
    for old in edits:
        assert sum(text.count(old) for text in LAMP.values()) == 1, old
    for path, text in LAMP.items():
        (folder / path).parent.mkdir(exist_ok=True)
        for old, new in edits.items():
            text = text.replace(old, new)  # noqa: PLW2901
        (folder / path).write_text(text, encoding="utf-8")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command in this process on the lamp, some files changed: its code, and what it printed."""
    monkeypatch.chdir(tmp_path)

    def here(*arguments: str, edits: Mapping[str, str] | None = None) -> tuple[int, str, str]:
        write(tmp_path, edits or {})
        monkeypatch.setattr(sys, "argv", ["ferrule", "risk", *arguments, "--today", "2027-01-01"])
        return main._run(), *capsys.readouterr()

    return here


def ask(run: Run, *arguments: str, edits: Mapping[str, str] | None = None) -> dict[str, Any]:
    code, printed, said = run(*arguments, "--format", "json", edits=edits)
    assert (code, said) == (0, "")
    found: dict[str, Any] = json.loads(printed)
    return found


def test_the_only_maker_fails(run: Run) -> None:
    """(26 - 6) x 400 x 32 = 256,000, 5 % of it a year 12,800.

    Cover for 20 weeks is 8,000 at 5: 40,000, and 18 % of that a year to keep it; a second source costs 14,000.
    """
    found = ask(run, "p")
    (sole,) = found["sole_sources"]
    assert sole == {
        "part": "P",
        "maker": "m",
        "qualify": "26",
        "cover": "6",
        "worth": "12800",
        "exposure": "256000",
        "chance": "5",
        "expected": "12800",
    }
    assert [(row["once"], row["a_year"], row["removed"]) for row in found["measures"]] == [
        ("40000", "7200", "256000"),
        ("14000", "0", "256000"),
    ]
    assert found["rates"] == [
        {"sku": "TOP", "units": 4000, "weeks": 10, "a_week": "400", "contribution": "32", "worth": "12800"}
    ]


@pytest.mark.parametrize(
    ("old", "new", "cover", "exposure", "words"),
    [
        ('qualify = "26 weeks"\n', "", "6", None, "time to qualify a replacement (qualify)"),
        ('loss_chance = "5 %"\n', "", "6", "256000", "yearly chance that the source fails (loss_chance)"),
        ("qty = 2400", "qty = 10400", "26", "0", "exposure: (weeks to replace"),
        ("qty = 2400", "qty = 12000", "30", "0", "exposure: (weeks to replace"),
        (
            'lead_time = "20',
            'held_for_us = 400\nlead_time = "20',
            "7",
            "243200",
            "exposure: (weeks to replace",
        ),
    ],
)
def test_unknown_is_named_and_never_nothing(  # noqa: PLR0913, PLR0917
    run: Run, old: str, new: str, cover: str, exposure: str | None, words: str
) -> None:
    """Stock for longer than a replacement takes leaves nothing to lose; what a seller holds for us is cover."""
    found = ask(run, "p", edits={old: new})
    (sole,) = found["sole_sources"]
    assert (sole["cover"], sole["exposure"]) == (cover, exposure)
    assert any(words in note for note in found["notes"])
    known = exposure is not None and sole["chance"] is not None
    assert sole["expected"] == (f"{int(exposure or 0) * 5 // 100}" if known else None)


def test_a_second_maker_is_no_sole_source(run: Run) -> None:
    second = '[[part.P.source]]\nmaker = "works"\nseller = "s"\nstatus = "approved"\ncurrency = "EUR"\n\n'
    found = ask(run, "p", edits={"[[part.P.source]]\nmaker": f"{second}[[part.P.source]]\nmaker"})
    assert "sole_sources" not in found
    assert "no part of this plan has one maker only" in found["notes"]


def test_the_last_order(run: Run) -> None:
    """Plans need 4,000; a tenth for repairs and a reserve of 100 make 4,500, less 2,400 in stock: 2,100 at 5."""
    ends = 'status = "last-time-buy", last_order = 2027-02-01'
    (plain,) = ask(run, "p", edits={'status = "active"': ends})["ends"]
    assert (plain["need"], plain["service"], plain["stock"], plain["qty"], plain["cash"]) == (
        "4000",
        "not asked",
        "2400",
        "1600",
        "8000",
    )
    edits = {'lifecycle = { status = "active" }': f"safety_stock = 100\nlifecycle = {{ {ends} }}"}
    (kept,) = ask(run, "p", "--service", "10%", edits=edits)["ends"]
    assert (kept["service"], kept["reserve"], kept["qty"], kept["cash"], kept["redesign"]) == (
        "400",
        "100",
        "2100",
        "10500",
        "14000",
    )
    assert kept["last_order"] == "2027-02-01"


def test_float_and_what_buys_days(run: Run) -> None:
    """P is due on 9 March, before five days of building end on 14 March; 20 days before it is 18 February.

    Expedited it is there 7 days sooner: 7 / 7 of a week's 12,800, for 50 and 1 on each of 1,600. By air the goods
    are 56 days sooner than at the worst by sea.
    """
    found = ask(run, "p")
    (order,) = found["leads"]
    assert (order["item"], order["order_by"], order["slack"], order["worth"]) == (
        "P",
        "2027-02-18",
        48,
        "12800",
    )
    assert (order["measure"], order["once"], order["removed"]) == (
        "expedited, 7 days sooner",
        "1650",
        "12800",
    )
    (air,) = found["reserve"]
    assert (air["other"], air["days"], air["removed"]) == ("air", 56, "102400")


def test_a_price_no_quote_holds(run: Run) -> None:
    """The quote ends before the order on 18 February: 1,600 at 6 instead of 5."""
    (price,) = ask(run, "p")["prices"]
    assert (price["order_day"], price["ends"], price["price"], price["dearer"], price["at_risk"]) == (
        "2027-02-18",
        "2026-12-31",
        "5",
        "6",
        "1600",
    )
    (flat,) = ask(run, "p", edits={"{ from = 1, each = 6 }, ": ""})["prices"]
    assert (flat["dearer"], flat["at_risk"]) == (None, None)
    assert "prices" not in ask(run, "p", edits={"valid_until = 2026-12-31": "valid_until = 2027-02-18"})


def test_draws_by_hand(run: Run) -> None:
    """Shipped on 15 March the goods arrive x - 1 days later, and miss 24 April where x is above 41.

    Of the triangle from 10 over 20 to 60 that is (60 - 41.5)^2 / (50 x 40) = 17.1 %.
    """
    found = ask(run, "p", "--draws", "1000", "--seed", "3")
    missed = int(found["season_missed_in"].split()[0])
    assert abs(missed / 1000 - 0.171) < 0.04
    assert ask(run, "p", "--draws", "1000", "--seed", "3") == found
    assert ask(run, "p", "--draws", "1000", "--seed", "4")["chances"] != found["chances"] or missed


@pytest.mark.parametrize(
    ("season", "missed"), [("2027-04-03", "0 of 7 draws, 0.0 %"), ("2027-04-02", "7 of 7 draws, 100.0 %")]
)
def test_without_a_range_all_is_certain(run: Run, season: str, missed: str) -> None:
    """Twenty days at sea from 15 March end on 3 April, in every draw; the balance never moves either."""
    legs = 'best = "10 days", likely = "20 days", worst = "60 days"'
    same = 'best = "20 days", likely = "20 days", worst = "20 days"'
    found = ask(run, "p", "--draws", "7", edits={legs: same, "2027-04-24": season})
    assert found["season_missed_in"] == missed
    assert {row["arrival"] for row in found["chances"]} == {"2027-04-03"}
    assert len({row["trough"] for row in found["chances"]}) == 1


def test_sales_are_drawn(run: Run) -> None:
    """Sales of an even chance: 30,000 less 8,000 and the factory's 4,000 x 3 is 10,000; without them 30,000 are spent late.

    Of 200 draws about half pass the floor, four standard deviations being 28. Firm sales always happen.
    """
    late = '\n[[one_off]]\nname = "late"\namount = 30000\nwhen = "week 39"\n'
    chance = {"over_weeks = 10\n": f'over_weeks = 10\nprobability = "50 %"\n{late}'}
    drawn = ask(run, "p", "--draws", "200", edits=chance)
    assert 72 <= int(drawn["floor_passed_in"].split()[0]) <= 128
    assert [drawn["chances"][at]["trough"] for at in (0, -1)] == ["10000", "-20000"]
    firm = {"over_weeks = 10\n": f'over_weeks = 10\nfirm = true\nprobability = "50 %"\n{late}'}
    sure = ask(run, "p", "--draws", "20", edits=firm)
    assert sure["floor_passed_in"] == "0 of 20 draws, 0.0 %"
    assert {row["trough"] for row in sure["chances"]} == {"10000"}


def test_less_demand_is_drawn(run: Run) -> None:
    """Between a tenth and two tenths of 4,000 sell at 40: with 45,000 spent late, 10,000 + 16,000 to 32,000."""
    late = '\n[[one_off]]\nname = "late"\namount = 45000\nwhen = "week 39"\n'
    found = ask(
        run,
        "p",
        "--draws",
        "80",
        "--demand",
        "10%,15%,20%",
        edits={"over_weeks = 10\n": f"over_weeks = 10\n{late}"},
    )
    troughs = [float(row["trough"]) for row in found["chances"]]
    assert all(-19000 <= trough <= -3000 for trough in troughs)
    assert troughs == sorted(troughs, reverse=True)
    assert troughs[0] > troughs[-1]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("p", "--why", "Q"), "Q is no part of this plan that one maker stands behind"),
        (("q",), "there is no plan called q"),
        (("p", "--demand", "70%,90%,100%"), "pass --draws too"),
        (("p", "--draws", "5", "--demand", "90%,70%,100%"), "are no three rising shares"),
        (("p", "--draws", "5", "--demand", "70%,90%,110%"), "are no three rising shares"),
        (("p", "--draws", "5", "--demand", "70.01%,90%,100%"), "finer than a tenth of a percent"),
        (("p", "--draws", "0"), "0 is not in the range"),
    ],
)
def test_refusals(run: Run, arguments: tuple[str, ...], words: str) -> None:
    code, printed, said = run(*arguments)
    assert (code, printed) == (2, "")
    assert words in said


def test_why(run: Run) -> None:
    """Every figure leads to the line that states it."""
    found = ask(run, "p", "--why", "P")
    rows = {row["figure"]: (row["value"], row["place"]) for row in found["figures"]}
    assert rows["weeks to replace"] == ("26", "parts/p.toml:3")
    assert rows["second source"] == ("14000", "parts/p.toml:4")
    assert rows["% a year"] == ("5", "parts/p.toml:5")
    assert rows["exposure"][0] == "256000"


@pytest.mark.parametrize("columns", [80, 120])
def test_screens(columns: int, *, update: bool) -> None:
    """The example's first season, as a terminal of that width shows it, drawn and not."""
    golden(f"risk-{columns}.txt", answer(columns, "risk", "first-season", "--most", "4"), update=update)
    drawn = ("risk", "first-season", "--draws", "40", "--times", "likely", "--demand", "60%,90%,100%")
    golden(f"risk-drawn-{columns}.txt", answer(columns, *drawn, "--table", "chances"), update=update)


def test_the_same_draws_with_another_hash_seed(tmp_path: Path) -> None:
    write(tmp_path, {})
    asked = (
        "risk",
        "p",
        "--draws",
        "50",
        "--seed",
        "11",
        "--demand",
        "50%,80%,100%",
        "--today",
        "2027-01-01",
    )
    one, other = (ferrule(*asked, cwd=tmp_path, PYTHONHASHSEED=seed).stdout for seed in ("0", "4242"))
    assert one == other
    assert "draws: 50" in one
