"""`cash` on plans worked by hand, and what moves the money of the example."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from cash_builders import BARE, EXAMPLE, HEAD, LAMP, MOULD, TODAY, ask, moving, write
from git_builders import ferrule


def test_a_plan_of_payments_alone(tmp_path: Path) -> None:
    folder = write(tmp_path, {"product.toml": HEAD, "plans/bare.toml": BARE})
    found = ask(folder, "cash")
    assert moving(found) == {
        0: ("0", "40", "60"),
        4: ("0", "30", "30"),
        8: ("0", "50", "-20"),
        12: ("90", "0", "70"),
        16: ("90", "0", "160"),
    }
    assert (found["trough"], found["trough_week"], found["needed_at_the_start"]) == ("-20", 8, "120")
    assert found["first_week_below_the_floor"] == 8
    assert found["profit_of_the_plan"] == "60"


def test_money_that_is_not_signed(tmp_path: Path) -> None:
    """25 in week 7 lift the trough to 5, and are no profit."""
    folder = write(tmp_path, {"product.toml": HEAD, "plans/bare.toml": BARE})
    found = ask(folder, "cash", "--hoped")
    assert (found["trough"], found["profit_of_the_plan"]) == ("5", "60")
    assert "hoped for and counted: 25.00 EUR of funding that is not signed" in found["notes"]
    assert (
        "hoped for and not counted: 25.00 EUR of funding that is not signed" in ask(folder, "cash")["notes"]
    )
    assert (
        "hoped for and counted: 25.00 of funding that is not signed"
        in ask(folder, "levers", "--hoped")["notes"]
    )


@pytest.mark.parametrize(
    ("old", "new", "arguments", "said"),
    [
        (
            "",
            "",
            (),
            "The money does not last: -20.00 in week 8, from 2027-03-01, 20.00 below the floor of 0.00",
        ),
        (
            "opening = 100\nfloor = 0",
            "opening = 120\nfloor = 0",
            (),
            "The money lasts: lowest 0.00 in week 8, from 2027-03-01, exactly the floor of 0.00",
        ),
        (
            "opening = 100\nfloor = 0",
            "opening = 130",
            (),
            "The money lasts: lowest 10.00 in week 8, from 2027-03-01, 10.00 above zero",
        ),
        (
            "opening = 100\n",
            "",
            (),
            "The plan needs 120.00 at the start and states no opening cash; lowest -120.00 in week 8, from 2027-03-01",
        ),
        (
            "",
            "",
            ("--hoped",),
            (
                "The money lasts with 25.00 that is only hoped for: lowest 5.00 in week 8, from 2027-03-01, 5.00 above the "
                "floor of 0.00"
            ),
        ),
        (
            'when = "week 4"',
            'when = "week 12"',
            (),
            (
                "The money lasts: lowest 10.00 in week 8, from 2027-03-01, 10.00 above the floor of 0.00; if payments leave "
                "before receipts land it is -20.00 in week 12"
            ),
        ),
        (
            "amount = 30\n",
            'amount = "30 USD"\n',
            (),
            (
                "The money lasts: lowest at most 10.00 in week 8, from 2027-03-01, 10.00 above the floor of 0.00, if nothing "
                "that is not known takes it"
            ),
        ),
    ],
)
def test_the_first_sentence_says_whether_the_money_lasts(
    tmp_path: Path, old: str, new: str, arguments: tuple[str, ...], said: str
) -> None:
    folder = write(
        tmp_path, {"product.toml": HEAD, "plans/bare.toml": BARE.replace(old, new) if old else BARE}
    )
    done = ferrule("cash", *arguments, "--today", TODAY, cwd=folder)
    assert done.stdout.splitlines()[0] == said


def test_a_build_and_its_sales(tmp_path: Path) -> None:
    """100 lamps at 2 + 3 = 500: 40 % with the order, three weeks before they ship on 15 February; the rest on 1 March.

    60 sold at 10 are settled after a week but for a tenth, which comes four weeks later. 40 sold at 6 on Friday
    5 March are due on 26 March and paid on the Thursday after, 1 April.
    """
    found = ask(write(tmp_path, LAMP), "cash")
    assert moving(found) == {
        1: ("0", "10", "790"),
        2: ("0", "10", "780"),
        3: ("0", "210", "570"),
        4: ("0", "10", "560"),
        8: ("0", "300", "260"),
        9: ("360", "0", "620"),
        10: ("180", "0", "800"),
        12: ("240", "0", "1040"),
        13: ("40", "0", "1080"),
        14: ("20", "0", "1100"),
    }
    assert (found["trough"], found["trough_week"], found["needed_at_the_start"]) == ("260", 8, "540")
    assert (found["profit_of_the_plan"], found["money_back_for_good_in_week"]) == ("300", 10)


def test_a_mould_in_another_currency(tmp_path: Path) -> None:
    """500.01 and 500.00 USD at 1.08 are 462.97 EUR each; 400 for 35 days at 8 % cost 3.07; rent on the 4th."""
    found = ask(write(tmp_path, MOULD), "cash")
    assert moving(found) == {
        0: ("0", "562.97", "37.03"),
        1: ("400", "0", "437.03"),
        4: ("0", "100", "337.03"),
        6: ("0", "403.07", "-66.04"),
        7: ("0", "462.97", "-529.01"),
        8: ("0", "100", "-629.01"),
    }
    assert found["profit_of_the_plan"] == "-1229.01"
    assert found["currencies"] == [
        {"currency": "USD", "income": "0", "outgo": "1000.01", "net": "-1000.01", "home": "-925.94"},
    ]


def test_two_breakevens_and_what_is_deployed(tmp_path: Path) -> None:
    """The lamp costs 5; the web leaves 10 - 5 = 5 on each of 60, the shop 6 - 5 = 1 on each of 40: 3.40 blended.

    Rent of 40 takes 40 / 3.40 = 11.8, so 12 units, sold by the end of week 8. The bank has its money back in week 10.
    Below the opening of 800: 10, 20, 230, 240 (weeks 4 to 7), 540, 180: 10 + 20 + 230 + 4 x 240 + 540 + 180 = 1,940.
    """
    found = ask(write(tmp_path, LAMP), "cash")
    assert (found["breakeven_quantity"], found["sales_reach_it_in_week"]) == ("12", 8)
    assert found["money_back_for_good_in_week"] == 10
    assert found["capital_deployed"] == "1940"
    assert (found["needed_at_the_start"], found["lowest_if_payments_leave_first"]) == ("540", "260")


def test_payments_leave_first(tmp_path: Path) -> None:
    """Rent in the week of a receipt: 260 in week 8, then 360 in and 100 out in week 9: 160 before 360 come, 520 after."""
    more = '[[one_off]]\nname = "fair"\namount = 100\nwhen = "week 9"\n\n[lever.balance-later]'
    texts = LAMP | {"plans/lamp.toml": LAMP["plans/lamp.toml"].replace("[lever.balance-later]", more)}
    found = ask(write(tmp_path, texts), "cash")
    assert (found["trough"], found["lowest_if_payments_leave_first"], found["week_of_that_low"]) == (
        "260",
        "160",
        9,
    )


# --- the example -----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def as_agreed() -> dict[str, Any]:
    return ask(EXAMPLE, "cash", "first-season")


@pytest.mark.parametrize(
    ("old", "new", "weeks"),
    [
        ("{ from = 1040, each = 5.6 }", "{ from = 1040, each = 5.7 }", "later"),
        ("moq = 1040", "moq = 3120", "larger"),
        ('lead_time = "24 weeks"\nlead_stated', 'lead_time = "12 weeks"\nlead_stated', "moved"),
    ],
)
def test_what_a_part_says_moves_the_money(
    tmp_path: Path, as_agreed: dict[str, Any], old: str, new: str, weeks: str
) -> None:
    """A dearer part, a larger least order, a shorter lead time: the same command shows other payments."""
    folder = tmp_path / "p"
    shutil.copytree(EXAMPLE, folder)
    path = folder / "parts" / "processor.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    found = ask(folder, "cash", "first-season")
    before, after = (
        {row["week"]: row["kind_own_purchases"] for row in answer["weeks"] if row["kind_own_purchases"] != ""}
        for answer in (as_agreed, found)
    )
    assert before != after
    spent = [sum(map(Decimal, each.values())) for each in (before, after)]
    if weeks == "moved":
        assert set(before) != set(after)
        assert spent[0] == spent[1]
    else:
        assert spent[1] < spent[0]


def test_the_order_of_scenarios_does_not_matter(as_agreed: dict[str, Any]) -> None:
    one = ask(EXAMPLE, "cash", "first-season", "--scenario", "air-first", "--scenario", "dollar-up")
    two = ask(EXAMPLE, "cash", "first-season", "--scenario", "dollar-up", "--scenario", "air-first")
    kept = ("scenario", "trough", "trough_week", "needed", "ending", "profit")
    rows = [{row["scenario"]: [row[key] for key in kept] for row in each["scenarios"]} for each in (one, two)]
    assert rows[0] == rows[1]
    assert rows[0]["air-first"][1] != as_agreed["trough"]


def test_weeks_add_up(as_agreed: dict[str, Any]) -> None:
    net = sum((Decimal(row["net"]) for row in as_agreed["weeks"]), Decimal(0))
    assert net == Decimal(as_agreed["ending"]) - Decimal(as_agreed["opening"])
    kinds = sum((Decimal(row["plan"]) for row in as_agreed["kinds"]), Decimal(0))
    assert kinds == net
    days = ask(EXAMPLE, "cash", "first-season", "--daily")["days"]
    assert days[-1]["balance"] == as_agreed["ending"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("cash", "first-season", "--scenario", "air-frist"), "did you mean air-first?"),
        (("cash", "first-season", "--week", "57"), "its weeks are 0 to 56"),
        (("cash", "nothing"), "first-season"),
        (("levers", "second-season"), "add [lever.NAME]"),
    ],
)
def test_what_is_not_there(arguments: tuple[str, ...], message: str) -> None:
    done = ferrule(*arguments, "--today", TODAY, cwd=EXAMPLE)
    assert done.returncode == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr
