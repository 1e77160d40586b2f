"""`regret` on a plan worked by hand (`regret_plans`), and what must hold between stopping and cutting."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest

from ferrule.app.cashing import open_cash
from ferrule.app.regretting import Regret, cut_to, open_regret
from ferrule.source.products import open_products
from git_builders import ferrule
from regret_plans import LOOM

TODAY = "2026-11-25"
EXAMPLE = Path(__file__).parents[2] / "example-product"


def write(folder: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def ask(folder: Path, *arguments: str) -> dict[str, Any]:
    done = ferrule("regret", *arguments, "--today", TODAY, "--format", "json", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def opened(folder: Path, plan: str | None = None) -> Regret:
    product = open_products(folder, product=None, revision=None, index=False)[0]
    return open_regret(open_cash(product.read(), plan, dt.date.fromisoformat(TODAY)))


def changed(file: str, old: str, new: str) -> dict[str, str]:
    assert old in LOOM[file]
    return {**LOOM, file: LOOM[file].replace(old, new)}


def test_every_week_by_hand(tmp_path: Path) -> None:
    """Week: owed, lost, to ask back, money that Monday.

    2: the mould, half paid. 3: the deposit, and nothing of Q yet. 6: 25 % of 400 for Q; the mould is paid. 7: P is
    ordered, 150 of 300 paid. 9: F at the factory is 108, set against the deposit. 10: all of Q. 11: the build is an
    order: 280 of its 400, 400 of Q, the other 150 of P; of the mould 80 are not recovered.
    """
    found = ask(write(tmp_path, LOOM))
    weeks = {row["week"]: (row["owed"], row["lost"], row["back"], row["cash"]) for row in found["weeks"]}
    assert weeks == {
        0: ("0", "0", "0", "1000"),
        1: ("0", "0", "0", "1000"),
        2: ("240", "240", "0", "760"),
        3: ("240", "240", "120", "640"),
        4: ("240", "240", "120", "640"),
        5: ("240", "240", "120", "640"),
        6: ("100", "480", "120", "400"),
        7: ("250", "630", "120", "250"),
        8: ("250", "630", "120", "250"),
        9: ("250", "738", "12", "250"),
        10: ("550", "738", "12", "250"),
        11: ("830", "80", "0", "250"),
        12: ("830", "80", "0", "250"),
        13: ("830", "80", "0", "250"),
    }
    assert (found["dearest_week_to_stop"], found["first_week_that_cannot_be_paid"]) == (10, 10)


def test_one_week_in_full(tmp_path: Path) -> None:
    found = ask(write(tmp_path, LOOM), "--stop", "10")
    rows = {row["name"]: (row["kind"], row["owed"], row["lost"], row["back"]) for row in found["owed"]}
    assert rows == {
        "T": ("tools", "0", "480", "0"),
        "Q": ("our orders", "400", "0", "0"),
        "P": ("our orders", "150", "150", "0"),
        "F": ("factory stock", "0", "108", "0"),
        "one": ("builds", "0", "0", "12"),
    }
    reasons = {row["name"]: row["reason"] for row in found["owed"]}
    assert reasons["P"] == "cannot be cancelled"
    assert reasons["Q"] == "100 % within 2 weeks of delivery on 2027-03-28, 13 days away"
    assert reasons["F"] == "made for us, so it cannot be cancelled; set against our deposit"


def test_a_cut(tmp_path: Path) -> None:
    """To 60 in week 9: 40 more of P at 2, 40 of Q at 25 % of 4, 40 of F at 1.08, and 160 more of the mould."""
    folder = write(tmp_path, LOOM)
    found = ask(folder, "--stop", "9", "--cut", "60")
    assert {row["name"]: (row["added"], row["planned"]) for row in found["cut"]} == {
        "P": ("80", "100"),
        "Q": ("40", "0"),
        "F": ("43.2", "0"),
        "T": ("160", "80"),
    }
    assert (found["for_nothing"], found["of_it_paid_already"], found["still_to_be_paid"]) == (
        "323.2",
        "200",
        "123.2",
    )


def test_a_cut_week_by_week(tmp_path: Path) -> None:
    """In week 11 the build is an order: 40 % of its 400 are made and paid all the same."""
    rows = {
        row["week"]: (row["added"], row["forced"])
        for row in ask(write(tmp_path, LOOM), "--cut", "60")["weeks"]
    }
    assert rows[1] == ("0", "0")
    assert rows[2] == ("160", "0")
    assert rows[9] == ("323.2", "0")
    assert rows[11] == rows[13] == ("0", "160")


@pytest.mark.parametrize("week", [0, 2, 6, 7, 9, 10])
def test_cutting_to_what_is_planned_costs_nothing_and_stopping_costs_most(tmp_path: Path, week: int) -> None:
    regret = opened(write(tmp_path, LOOM))
    stop = regret.weeks[week]
    costs = [cut_to(regret, None, qty)(stop.day).total for qty in (0, 30, 60, 99, 100)]
    assert costs[-1] == 0
    assert costs == sorted(costs, reverse=True)
    assert stop.total >= costs[0]


def test_the_same_holds_on_the_example() -> None:
    regret = opened(EXAMPLE, "first-season")
    cuts = [cut_to(regret, "summer", qty) for qty in (0, 720, 1440)]
    for stop in regret.weeks[::7]:
        costs = [cut(stop.day).total for cut in cuts]
        assert stop.total >= costs[0] >= costs[1] >= costs[2] == 0


def test_what_is_not_ordered_owes_nothing(tmp_path: Path) -> None:
    """Before the first order nothing is owed, whatever is planned."""
    regret = opened(write(tmp_path, LOOM))
    assert [(int(week.total), len(week.rows)) for week in regret.weeks[:2]] == [(0, 0), (0, 0)]


def test_a_slip(tmp_path: Path) -> None:
    """In week 9, 20 days before delivery, Q can no longer be moved: 300 and 400 at 13 % for 4 of 52 weeks, 28 days of
    1 % a month on F. A week before it could."""
    folder = write(tmp_path, LOOM)
    rows = {row["name"]: row for row in ask(folder, "--stop", "9", "--slip", "4")["slip"]}
    assert {name: (row["value"], row["carrying"]) for name, row in rows.items()} == {
        "P": ("300", "3"),
        "Q": ("400", "4"),
        "F": ("100", "0"),
    }
    assert rows["F"]["storage"].startswith("0.93333")
    assert rows["P"]["moves"] == "no notice stated, stays 2027-03-28"
    assert rows["Q"]["moves"] == "too late, stays 2027-03-28"
    earlier = {row["name"]: row for row in ask(folder, "--stop", "8", "--slip", "4")["slip"]}
    assert (earlier["Q"]["moves"], earlier["Q"]["cost"]) == ("can be moved", "0")


def test_waiting(tmp_path: Path) -> None:
    """From 580 in week 6 to 1,288 in week 10: P 300, Q 300 more, F 108."""
    found = ask(write(tmp_path, LOOM), "--stop", "6", "--until", "10")
    assert {row["name"]: row["change"] for row in found["changes"]} == {"P": "300", "Q": "300", "F": "108"}
    assert found["change"] == "708"


def test_the_chain_behind_a_part(tmp_path: Path) -> None:
    found = ask(write(tmp_path, LOOM), "--stop", "10", "--why", "P")
    rows = {row["fact"]: (row["value"], row["place"]) for row in found["why"]}
    assert rows["ordered"] == ("2027-02-15", "")
    assert rows["terms"] == ("cannot be cancelled", "parts/all.toml:12")
    assert rows["our orders"] == ("P at norholt", "parts/all.toml:5")
    assert rows["paid"][0] == "150.00"
    assert rows["rests on"][0] == "quote N-77 of 2026-11-01"


def test_open_orders_and_stock_come_first(tmp_path: Path) -> None:
    """40 of P in stock and 70 on order, half paid, are enough: nothing more is ordered; 10 are over if it is built."""
    counts = (
        '[[stock]]\npart = "P"\nplace = "we"\nqty = 40\ncounted = 2026-11-16\n'
        '[[order]]\nid = "PO-1"\npart = "P"\nseller = "norholt"\nqty = 70\nordered = 2026-11-02\ndue = 2027-03-01\n'
        'each = "2 EUR"\npaid = "50 %"\nncnr = true\n'
    )
    folder = write(tmp_path, {**LOOM, "counts/all.toml": counts})
    stop = {row["name"]: row for row in ask(folder, "--stop", "3")["owed"]}
    assert (stop["P"]["kind"], stop["P"]["owed"], stop["P"]["lost"]) == ("open orders", "70", "70")
    late = {row["fact"]: row["value"] for row in ask(folder, "--stop", "12", "--why", "P")["why"]}
    assert (late["left over"], late["used anyway"], late["for nothing"]) == ("10", "120.00", "20.00")


def test_a_factory_without_the_right_hands_nothing_over(tmp_path: Path) -> None:
    files = changed("firms/all.toml", 'covers_stock = "90 days"\n', "")
    weeks = {row["week"]: row for row in ask(write(tmp_path, files))["weeks"]}
    assert (weeks[9]["lost"], weeks[9]["back"]) == ("630", "120")


def test_terms_that_nobody_states_count_in_full_and_are_named(tmp_path: Path) -> None:
    files = changed("parts/all.toml", "ncnr = true\n", "")
    found = ask(write(tmp_path, files), "--stop", "7")
    assert found["notes"][-1] == "counted in full because nothing is stated on cancelling: P"
    assert {row["name"]: row["owed"] for row in found["owed"]}["P"] == "150"


def test_an_amount_that_is_not_known_is_named(tmp_path: Path) -> None:
    files = changed("parts/all.toml", "price = [{ from = 1, each = 2 }]\n", "")
    notes = ask(write(tmp_path, files))["notes"]
    assert "not known, so all of it is at least: amount of P, our orders" in notes


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--stop", "14"), "its weeks are 0 to 13"),
        (("--cut", "101"), "more than the 100 planned"),
        (("--cut", "10", "--build", "on"), "did you mean one?"),
        (("--why", "X"), "bound to nothing called X"),
        (("--scenario", "x"), "no scenario called x"),
    ],
)
def test_what_cannot_be_asked(tmp_path: Path, arguments: tuple[str, ...], message: str) -> None:
    done = ferrule("regret", *arguments, "--today", TODAY, cwd=write(tmp_path, LOOM))
    assert done.returncode == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr
