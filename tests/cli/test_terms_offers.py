"""`terms`: offers from arguments with their published and hand-worked answers, and the discounts of a plan by hand."""

from __future__ import annotations

import json
import shlex
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from answers import answer, golden, small
from ferrule.cli import main

#: Opening 100. A bill of 50 on week 0 is due in week 6, or 49 in week 1; one of 40 in week 8 has no discount.
#: The grant of 60 comes in week 3. As agreed 100, 160 from week 3, 110 from week 6, 70 from week 8. Paid early: 51
#: in week 1 is the lowest.
PLAN = """\
[plan]
id = "p"
start = 2027-01-04
end = "week 9"
opening = 100
floor = 55

[[one_off]]
name = "moulds"
amount = 50
when = "week 0"
payee = "m"
payment = [{ share = "100 %", due = "invoice + 42 days", discount = "2 %", discount_within = "7 days" }]

[[one_off]]
name = "other"
amount = 40
when = "week 8"

[[funding]]
name = "grant"
amount = 60
when = "week 3"
signed = true
kind = "grant"

[[loan]]
name = "line"
limit = 30
interest = "12 %"

[lever.later]
set = { "one_off.other.when" = "week 20" }
"""
FIRMS = '[firm.m]\nname = "M"\nroles = ["seller"]\n\n[firm.n]\nname = "N"\nroles = ["seller"]\n'


Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command in this process, in a folder of its own: its code, and what it printed on both streams."""
    monkeypatch.chdir(tmp_path)

    def here(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["ferrule", "terms", *arguments])
        return main._run(), *capsys.readouterr()

    return here


def ask(run: Run, *arguments: str) -> dict[str, Any]:
    code, printed, said = run(*arguments, "--format", "json")
    assert (code, said) == (0, "")
    found: dict[str, Any] = json.loads(printed)
    return found


def rounded(number: str) -> str:
    return f"{Decimal(number):.2f}"


@pytest.mark.parametrize(
    ("arguments", "simple", "compounded", "said"),
    [
        # The published rates of 2/10 net 30, 2/10 net 45 and 2/20 net 40 paid on day 30, simple and compounded.
        (("discount", "2%", "--within", "10", "--net", "30"), "37.24", "44.59", "take it if money costs you less than 37.24 % a year"),
        (("discount", "2 %", "--within", "10 days", "--net", "45 days"), "21.28", "23.45", "take it if money costs you less than 21.28 % a year"),
        (("discount", "2%", "--within", "20", "--net", "30"), "74.49", "109.05", "take it if money costs you less than 74.49 % a year"),
        (("discount", "2%", "--within", "10", "--net", "30", "--year", "360"), "36.73", "43.86", "take it if money costs you less than 36.73 % a year"),
        (("premium", "3%", "--for", "8 weeks", "--rate", "15%"), "19.50", "21.18", "leave it: taking it loses 6.92"),
        (("premium", "2.47%", "--for", "60", "--rate", "15%", "--amount", "10000 EUR"), "15.03", "16.00", "leave it: taking it loses 0.42 EUR"),
        (("early", "2%", "--within", "14", "--net", "60", "--rate", "18%", "--amount", "24000"), "16.19", "17.39", "take it: gains 53.55"),
        (("factoring", "3%", "--advance", "80%", "--for", "45", "--rate", "40%", "--amount", "10000"), "30.42", "34.80", "take it: gains 94.52"),
    ],
)  # fmt: skip
def test_offers(run: Run, arguments: tuple[str, ...], simple: str, compounded: str, said: str) -> None:
    """No product is needed. Gains: 23,520 x 18 % x 46 / 365 - 480; 8,000 x 40 % x 45 / 365 - 300."""
    found = ask(run, *arguments)
    assert (rounded(found["percent_a_year_simple"]), rounded(found["percent_a_year_compounded"])) == (
        simple,
        compounded,
    )
    assert found["answer"] == said


def test_when_cash_binds(run: Run) -> None:
    """A discount worth taking at 15 % is left where the next best source of cash costs 50 %."""
    found = ask(
        run, "discount", "2%", "--within", "10", "--net", "30", "--amount", "10000", "--rate", "15%", "--cash-binds", "50%"
    )  # fmt: skip
    assert [(row["price"], rounded(row["gain"]), row["answer"]) for row in found["verdicts"]] == [
        ("money costs", "119.45", "take"),
        ("cash binds", "-68.49", "leave"),
    ]
    assert any("changes from take to leave" in note for note in found["notes"])


def test_paid_late(run: Run) -> None:
    """2 / 98 x 365 / 50 = 14.90 %."""
    found = ask(run, "discount", "2%", "--within", "10", "--net", "30", "--late", "30")
    assert any("50 days after the discount's day it costs 14.90 % a year" in note for note in found["notes"])


def test_answers_without_an_offer(run: Run) -> None:
    """Carrying of 1,530; a deposit asked for (worked by hand); a published payback; a published cash cycle."""
    carried = ask(run, "carrying", "1530", "--for", "13 weeks", "--rate", "18%")
    assert [row["cost"] for row in carried["carrying"]] == ["68.85"]
    swapped = ask(
        run, "swap", "--price", "10000 EUR", "--balance", "60", "--asked-deposit", "30%", "--rate", "12%", "--year", "360"
    )  # fmt: skip
    (row,) = swapped["in_return"]
    assert [rounded(row[key]) for key in ("worse", "price_then", "lag", "deposit")] == [
        "58.82",
        "9940.36",
        "86.46",
        "0.00",
    ]
    back = ask(run, "payback", "--spend", "95000", "--back", "20000,25000,30000,35000,40000", "--rate", "12%")
    assert f"{Decimal(back['years_until_the_money_is_back']):.3f}" == "3.571"
    assert rounded(back["percent_a_year_simple"]) == "15.36"
    assert [rounded(row["value"]) for row in back["worth"]] == ["9080.60"]
    cycle = ask(
        run, "cycle", "--stock", "2050", "--receivables", "660", "--payables", "1200", "--sales", "12000", "--cost-of-goods", "4000"
    )  # fmt: skip
    assert Decimal(cycle["days_under_way"]) == Decimal("97.6375")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ("discount 2% --within 30 --net 10", "the discount's day is not before the due day"),
        ("discount 0% --within 3 --net 10", "without a discount there is nothing to weigh"),
        ("discount 100% --within 3 --net 10", "nothing would be left to pay"),
        ("discount 2 --within 3 --net 10", '"2" is not a percentage; write it as 2%'),
        ("discount 2% --within 3 --net 10 --amount 0", "an amount of 0 is not above zero"),
        ("discount 2% --within 3 --net 10 --amount 5x", "write it as 10000 or 10000 EUR"),
        ("discount 2% --within 1weeks --net 10", "write it as 30, 30 days or 8 weeks"),
        ("discount 2% --within '1 weeks' --net '4 weeks' --year 360", "--year counts days"),
        ("premium 3% --for 0", "over no time nothing is gained or lost"),
        ("premium 3% --for '2 months'", "has no fixed number of days"),
        ("premium 3% --for 9999", "longer than ten years"),
        ("factoring 30% --advance 80% --for 3", "advance and fee do not fit into the invoice"),
        ("factoring 30% --advance 20% --for 3 --fee-first", "advance and fee do not fit into the invoice"),
        ("carrying 10 --for 3 --discount 100%", "nothing would be left to pay"),
        ("swap --price 10 --balance 3", "the asked terms are the agreed ones"),
        ("swap --price '10 EUR' --balance 3 --asked-price '11 USD'", "are in two currencies"),
        ("swap --price 10 --balance 3 --asked-deposit 101%", "a deposit is above the price"),
        ("payback --spend 10 --back 1,2,x", "write them as 20000,25000,-3000"),
        ("payback --spend -10 --back 1", "is not above zero"),
        ("cycle --stock 1 --receivables 1 --payables 1 --sales 0 --cost-of-goods 1", "is not above zero"),
        ("plan p --with q", "there is no firm, channel, part or tool called q"),
        ("plan p --with n", "no payment of n in plan p has a discount for paying early"),
        ("plan p --year 360", "a plan's year is stated by its product"),
        ("discount 2% --within 3 --net 10 --plan q", "there is no plan called q"),
        ("prmium", "no such command 'prmium'"),
    ],
)
def test_refusals(run: Run, tmp_path: Path, arguments: str, words: str) -> None:
    small(tmp_path, {"plans/p.toml": PLAN, "firms/f.toml": FIRMS})
    code, printed, said = run(*shlex.split(arguments))
    assert (code, printed) == (2, "")
    assert words in said


def test_a_plan_by_hand(run: Run, tmp_path: Path) -> None:
    """1 saved on 49 paid 35 days early is 1 / 49 x 365 / 35 = 21.28 %: right at 12 %, but the floor is 55.

    At the 12 % of the line 49 cost 0.5638 for 35 days, so that 0.4362 are gained. The lever frees 0: the trough
    as agreed is 70 in week 8, and without the 40 the lowest is the first 100; so it frees 30, for the 40 it
    leaves out in the plan's weeks but not in its profit: nothing a thousand.
    """
    small(tmp_path, {"plans/p.toml": PLAN, "firms/f.toml": FIRMS})
    found = ask(run, "plan", "--today", "2027-01-01")
    (row,) = found["discounts"]
    assert (row["party"], row["early"], row["saved"], row["days"]) == ("m", "49", "1", "35")
    assert (rounded(row["simple"]), row["trough"], row["week"]) == ("21.28", "51", 1)
    assert row["answer"] == "leave: cash binds"
    assert (found["trough_as_agreed"], found["in_week"]) == ("70", 8)
    prices = {row["price"]: (rounded(row["gain"]), row["answer"]) for row in found["prices"]}
    assert prices == {"cash binds, line": ("0.44", "take"), "cash binds, lever later": ("1.00", "take")}
    assert (
        "with all of m's taken the balance falls to 51.00 EUR in week 1, 4.00 below the floor"
        in found["notes"]
    )


def test_a_plan_prices_an_offer_of_arguments(run: Run, tmp_path: Path) -> None:
    """The policy's rate, then the plan's sources of cash, the cheapest first."""
    head = 'currency = "EUR"\nstage = "prototype"\n'
    small(
        tmp_path,
        {
            "plans/p.toml": PLAN,
            "firms/f.toml": FIRMS,
            "product.toml": f'[product]\nid = "T"\nname = "T"\n{head}[policy]\ncapital_rate = "10 %"\n',
        },
    )
    found = ask(
        run,
        "premium",
        "1%",
        "--for",
        "30",
        "--plan",
        "p",
        "--today",
        "2027-01-01",
        "--cash-binds",
        "20%",
    )
    assert [(row["price"], row["rate"]) for row in found["verdicts"]] == [
        ("money costs, by policy.capital_rate", "10"),
        ("cash binds, lever later", "0"),
        ("cash binds, line", "12"),
        ("cash binds", "20"),
    ]


@pytest.mark.parametrize("columns", [80, 120])
def test_screens(columns: int, *, update: bool) -> None:
    """What the example's plan offers, and one offer priced by it, as a terminal of that width shows them."""
    golden(f"terms-plan-{columns}.txt", answer(columns, "terms", "plan", "first-season"), update=update)
    offer = ("terms", "discount", "2%", "--within", "10", "--net", "30", "--amount", "12400 EUR")
    golden(f"terms-discount-{columns}.txt", answer(columns, *offer, "--plan", "first-season"), update=update)


def test_help_names_every_offer(run: Run) -> None:
    code, shown, _ = run()
    assert code == 0
    for name in ("carrying", "cycle", "discount", "early", "factoring", "payback", "plan", "premium", "swap"):
        assert f"\n  {name} " in shown
