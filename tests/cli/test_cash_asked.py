"""What `cash` answers beside the weeks, by hand: other rates, stopping, lines of credit, discounts, scenarios beside."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from decimal import Decimal
from pathlib import Path

import pytest

from cash_builders import HEAD, LAMP, TODAY, ask, moving, write
from git_builders import ferrule

YUAN = {
    "product.toml": HEAD.replace("EUR", "USD"),
    "firms/all.toml": '[[rate]]\nrate = "1 USD = 7.20 CNY"\ndate = 2026-11-20\nevidence = "bank reference rate"\n',
    "plans/yuan.toml": """\
[plan]
id = "yuan"
start = 2027-01-04
end = "week 12"
opening = 200000
floor = 0

[[one_off]]
name = "goods"
amount = "840000 CNY"
when = "week 10"

[[one_off]]
name = "sample"
amount = "7200 CNY"
when = "week 2"

[scenario.yuan-up]
set = { "rate.USD.CNY" = "1 USD = 6.84 CNY" }

[scenario.late]
set = { "one_off.goods.when" = "week 11" }
""",
}


@pytest.mark.parametrize("rate", ["1 USD = 6.84 CNY", "6.84 CNY = 1 USD", "yuan-up"])
def test_what_is_open_at_another_rate(tmp_path: Path, rate: str) -> None:
    """840,000 at 7.20 are 116,667 and at 6.84 122,807: 6,140 lost. Till week 2 the sample, 1,000 at 7.20, is open too.

    The balance at the end: 200,000 - 1,000 - 116,666.67 as stated, 200,000 - 847,200 / 6.84 then.
    """
    found = ask(write(tmp_path, YUAN), "cash", "--rate", rate)
    weeks = {row["week"]: row for row in found["restated"]}
    assert sorted(weeks) == list(range(11))
    assert [weeks[n]["open"] for n in (0, 2, 3, 10)] == ["-847200", "-847200", "-840000", "-840000"]
    assert [round(Decimal(weeks[10][key])) for key in ("stated", "restated", "change")] == [
        -116667,
        -122807,
        -6140,
    ]
    assert Decimal(weeks[0]["stated"]) - Decimal(weeks[10]["stated"]) == -1000
    assert found["ending"] == "82333.33"
    assert abs(
        Decimal(found["trough_at_that_rate"]) - (200000 - Decimal(847200) / Decimal("6.84"))
    ) < Decimal("1e-6")
    assert found["its_week"] == 10


def test_a_rate_that_says_nothing_is_refused(tmp_path: Path) -> None:
    folder = write(tmp_path, YUAN)
    for rate, message in {
        "7.20": "or name a scenario that sets one: yuan-up",
        "yuan-upp": "did you mean yuan-up?",
        "late": "or name a scenario that sets one: yuan-up",
        "1 EUR = 7.20 CNY": "is no rate of USD",
    }.items():
        done = ferrule("cash", "--rate", rate, "--today", TODAY, cwd=folder)
        assert done.returncode == 2
        assert message in done.stderr


TOOLED = LAMP | {
    "tools/all.toml": """\
[tool.T-1]
name = "Mould"
kind = "mould"
amount = "48000 EUR"
makes = ["LED"]
amortise_over = 12000
ordered = 2026-10-01
schedule = [{ share = "100 %", due = "order" }]

[tool.T-2]
name = "Gauge"
kind = "gauge"
amount = "300 EUR"
makes = ["TOP"]
ordered = 2026-10-01
schedule = [{ share = "100 %", due = "order" }]
""",
}


@pytest.mark.parametrize(
    ("stop", "made", "true", "left"),
    [("5000", "5000", "9.6", "28000"), ("TOP=0", "0", "-", "48000"), ("12,000", "12000", "4", "0")],
)
def test_what_a_tool_has_not_earned_back(tmp_path: Path, stop: str, made: str, true: str, left: str) -> None:
    """48,000 over 12,000 is 4.00 planned; at 5,000 made it is 9.60, and 28,000 are not earned back."""
    found = ask(write(tmp_path, TOOLED), "cash", "--stop-at", stop)
    mould, gauge = found["tools"]
    kept = ("amount", "over", "planned", "made", "true", "open")
    assert [mould[key] for key in kept] == ["48000", "12000", "4", made, true, left]
    assert (gauge["over"], gauge["planned"], gauge["open"]) == ("-", "-", "300")


@pytest.mark.parametrize(
    ("stop", "message"),
    [("many", "cannot read the quantity"), ("TOPP=5", "did you mean TOP?"), ("LED=5", "it builds TOP")],
)
def test_a_quantity_to_stop_at_that_is_not_built(tmp_path: Path, stop: str, message: str) -> None:
    done = ferrule("cash", "--stop-at", stop, "--today", TODAY, cwd=write(tmp_path, LAMP))
    assert done.returncode == 2
    assert message in done.stderr


#: Opening 100, floor 20; 90 out on Monday of week 1; 50 in on Monday of week 5; a line of 30 at 36.5 % a year.
LINE = """\
[plan]
id = "line"
start = 2027-01-04
end = "week 12"
opening = 100
floor = 20

[[one_off]]
name = "goods"
amount = 90
when = "week 1"

[[funding]]
name = "grant"
amount = 50
when = "week 5"
kind = "grant"
signed = true

[[loan]]
name = "overdraft"
limit = 30
interest = "36.5 %"
"""


def test_a_line_of_credit_by_hand(tmp_path: Path) -> None:
    """11 January: 10 are left, 10 drawn. A tenth of a percent a night: 20 nights to 31 January cost 0.20, drawn too.

    8 nights on 10.20 to 8 February are 0.08, paid at the end of February; the 10.20 go back on 8 February.
    """
    folder = write(tmp_path, {"product.toml": HEAD, "plans/line.toml": LINE})
    found = ask(folder, "cash", "--draw")
    rows = [tuple(row[key] for key in ("day", "amount", "interest", "open")) for row in found["draws"]]
    assert rows == [
        ("2027-01-11", "10", "0", "10"),
        ("2027-01-31", "0.2", "0.2", "10.2"),
        ("2027-02-08", "-10.2", "0", "0"),
        ("2027-02-28", "0", "0.08", "0"),
    ]
    assert (found["trough"], found["trough_without_drawing"], found["most_drawn"]) == ("20", "10", "10.2")
    assert (found["ending"], found["profit_of_the_plan"], found["interest_on_it"]) == (
        "59.72",
        "-40.28",
        "0.28",
    )
    assert found["needed_at_the_start"] == "110"
    plain = ask(folder, "cash")
    assert (plain["trough"], plain["ending"], "draws" in plain) == ("10", "60", False)


def test_a_line_that_does_not_reach(tmp_path: Path) -> None:
    folder = write(
        tmp_path, {"product.toml": HEAD, "plans/line.toml": LINE.replace("limit = 30", "limit = 4")}
    )
    found = ask(folder, "cash", "--draw")
    assert (found["trough"], found["most_drawn"]) == ("13.92", "4")
    assert any("6.08 EUR are missing at worst" in note for note in found["notes"])


def test_a_plan_without_a_line_cannot_draw(tmp_path: Path) -> None:
    done = ferrule("cash", "--draw", "--today", TODAY, cwd=write(tmp_path, LAMP))
    assert done.returncode == 2
    assert "add [[loan]] with name, limit and interest" in done.stderr


def test_early_payment_discounts(tmp_path: Path) -> None:
    """300 due on 1 March, 2 % off within 3 days after shipment on 15 February: 294 on 18 February, in week 6.

    The trough comes a fortnight earlier and six higher: 800 - 40 - 200 - 294 = 266 in week 6.
    """
    old = '{ share = "rest", due = "shipment + 14 days" }'
    new = old.replace(" }", ', discount = "2 %", discount_within = "3 days" }')
    texts = LAMP | {"firms/all.toml": LAMP["firms/all.toml"].replace(old, new)}
    folder = write(tmp_path, texts)
    plain, taken = ask(folder, "cash"), ask(folder, "cash", "--take-discounts")
    assert (plain["trough"], plain["trough_week"], plain["profit_of_the_plan"]) == ("260", 8, "300")
    assert (taken["trough"], taken["trough_week"], taken["profit_of_the_plan"]) == ("266", 6, "306")
    assert moving(taken)[6] == ("0", "294", "266")
    assert 8 not in moving(taken)
    assert (taken["saved_by_discounts"], taken["trough_without_discounts"]) == ("6", "260")
    passed = ask(folder, "cash", "--take-discounts", "--today", "2027-02-19")
    assert passed["saved_by_discounts"] == "0"


def test_balances_side_by_side_with_differences(tmp_path: Path) -> None:
    """The yuan plan a week late: a week 10 without the 116,666.67."""
    done = ferrule(
        "cash", "--scenario", "as-agreed", "--scenario", "late", "--table", "balances", "--format", "csv",
        "--today", TODAY, cwd=write(tmp_path, YUAN),
    )  # fmt: skip
    rows = [line.split(",") for line in done.stdout.splitlines()]
    assert rows[0] == ["week", "monday", "balance_as_agreed", "balance_late", "change_late"]
    assert rows[11][2:] == ["82333.33", "199000", "116666.67"]
    assert rows[12][2:] == ["82333.33", "82333.33", "0"]


def test_the_picture_as_a_file(tmp_path: Path) -> None:
    """Two scenarios, the late one named at its line's end; what moves is told week by week for those who cannot see."""
    folder = write(tmp_path, YUAN)
    done = ferrule(
        "cash", "--scenario", "as-agreed", "--scenario", "late", "--svg", "cash.svg", "--today", TODAY, cwd=folder
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    root = ET.fromstring((folder / "cash.svg").read_text(encoding="utf-8"))  # noqa: S314  our own file
    written = [each.text for each in root.iter("{http://www.w3.org/2000/svg}text")]
    for words in ("as-agreed", "late", "trough 82,333.33 at week 10", "floor 0.00", "in", "out"):
        assert words in written
    said = (root.findtext("{http://www.w3.org/2000/svg}desc") or "").splitlines()
    assert "week 10: in 0.00, out 116,666.67, balance 82,333.33" in said
    assert next(line for line in said if line.startswith("late; ")).endswith(
        "week 11: 82,333.33; week 12: 82,333.33"
    )
