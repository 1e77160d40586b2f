"""How often a fixed cost falls due, and what a plan spends whether or not it sells: counted on the calendar."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from pathlib import Path

import pytest

from cost_builders import line, part, tool, whole
from ferrule.compute.outlays import fixed_outlays, last_day, occurrences
from ferrule.compute.rates import rates_of
from ferrule.load.build import load_product
from ferrule.model.product import Product

F = Fraction
EXAMPLE = Path(__file__).parents[2] / "example-product"
PLAN = '[plan]\nid = "p"\nstart = 2026-11-30\nend = {}\n'


def planned(rows: str, end: str = '"week 60"', **files: str) -> Product:
    return whole(part("P", (1, "1")), line(1, "P"), plans_p=PLAN.format(end) + rows, **files)


def days(every: str, more: str = "", end: str = '"week 60"') -> list[dt.date]:
    rows = f'[[overhead]]\nname = "o"\namount = "1 EUR"\nevery = "{every}"\n{more}'
    plan = planned(rows, end).plans["p"]
    return list(occurrences(plan.plan, plan.overhead[0]))


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


@pytest.mark.parametrize(
    ("end", "last"),
    [
        ('"week 0"', "2026-12-06"),
        ('"week 60"', "2028-01-30"),
        ("2027-12-26", "2027-12-26"),
        ("2027-12-24", "2027-12-24"),
    ],
)
def test_a_week_ends_on_its_sunday_and_a_day_is_itself(end: str, last: str) -> None:
    assert last_day(planned("", end).plans["p"].plan) == day(last)


@pytest.mark.parametrize(
    ("more", "count", "first", "last"),
    [
        # Weeks 0 to 60, both ends included.
        ("", 61, "2026-11-30", "2028-01-24"),
        ('from = "week 24"\nto = "week 40"\n', 17, "2027-05-17", "2027-09-06"),
        ('from = "week 24"\nto = "week 24"\n', 1, "2027-05-17", "2027-05-17"),
        # A day as the end counts itself, the day before it does not.
        ("from = 2027-05-17\nto = 2027-05-31\n", 3, "2027-05-17", "2027-05-31"),
        ("from = 2027-05-17\nto = 2027-05-30\n", 2, "2027-05-17", "2027-05-24"),
        # In the middle of the week: every Thursday, the last in the week that ends it.
        ('from = 2027-05-20\nto = "week 25"\n', 2, "2027-05-20", "2027-05-27"),
        # A Sunday is the last day of its week.
        ('from = 2027-05-23\nto = "week 24"\n', 1, "2027-05-23", "2027-05-23"),
        # An end past the plan's is the plan's.
        ("to = 2030-01-01\n", 61, "2026-11-30", "2028-01-24"),
    ],
)
def test_every_week(more: str, count: int, first: str, last: str) -> None:
    found = days("week", more)
    assert (len(found), found[0], found[-1]) == (count, day(first), day(last))


def test_every_month_on_the_31st() -> None:
    # A month without a 31st pays on its last day, and the next one on the 31st again.
    found = [str(each) for each in days("month", "from = 2026-12-31\nto = 2027-07-31\n")]
    assert found == [
        "2026-12-31", "2027-01-31", "2027-02-28", "2027-03-31", "2027-04-30", "2027-05-31", "2027-06-30", "2027-07-31"
    ]  # fmt: skip


def test_a_leap_year_pays_on_the_29th() -> None:
    assert day("2028-02-29") in days("month", "from = 2027-12-31\n", end="2028-03-31")


def test_every_quarter() -> None:
    found = [str(each) for each in days("quarter", end="2027-11-30")]
    assert found == ["2026-11-30", "2027-02-28", "2027-05-30", "2027-08-30", "2027-11-30"]


def test_what_began_before_the_plan_keeps_its_rhythm_and_leaves_the_past_out() -> None:
    # The rent of the 15th since January: from the plan's start it falls due on 15 December first.
    found = [str(each) for each in days("month", "from = 2026-01-15\n", end="2027-02-28")]
    assert found == ["2026-12-15", "2027-01-15", "2027-02-15"]


def test_what_ends_before_it_begins_never_falls_due() -> None:
    assert days("week", 'from = "week 10"\nto = "week 9"\n') == []


def test_outlays_in_the_order_of_the_file_with_their_homes() -> None:
    rows = (
        '[[overhead]]\nname = "wages"\namount = "108 USD"\nevery = "month"\nto = 2027-01-31\nkind = "wages"\n'
        '[[one_off]]\nname = "test"\namount = 540\npayee = "lab"\n[[one_off]]\nname = "fair"\namount = "7 EUR"\n'
    )
    lab = (
        '[firm.lab]\nname = "Lab"\ncurrency = "USD"\n[[rate]]\nrate = "1 EUR = 1.08 USD"\ndate = 2026-11-20\n'
    )
    made = planned(
        rows, firms_lab=lab, tools_t=tool("T-2", "P", "48000 EUR", 10) + tool("T-1", "P", "1 JPY", 10)
    )
    found = fixed_outlays(made, rates_of(made), made.plans["p"])
    # Wages on 30 November, December and January: 3 x 100. The laboratory's 540 are dollars. Yen have no rate.
    assert [(each.name, each.kind, each.amount, each.times, each.home) for each in found] == [
        ("wages", "wages", F(300), 3, ("plan", "p", "overhead", 0)),
        ("test", "other", F(500), 1, ("plan", "p", "one_off", 0)),
        ("fair", "other", F(7), 1, ("plan", "p", "one_off", 1)),
        ("T-1", "mould", None, 1, ("tool", "T-1", "amount")),
        ("T-2", "mould", F(48000), 1, ("tool", "T-2", "amount")),
    ]


def test_the_examples_first_season() -> None:
    # 30 November 2026 to Sunday 2 January 2028 (week 56). Wages and rent on the 30th of 14 months, help in weeks 24 to
    # 40, three one-off costs; the tools are eleven quotes in dollars and one in euros.
    files = [EXAMPLE / "product.toml", *sorted(EXAMPLE.glob("[a-z]*/*.toml"))]
    made = load_product((file.relative_to(EXAMPLE).as_posix(), file.read_bytes()) for file in files).product
    found = fixed_outlays(made, rates_of(made), made.plans["first-season"])
    assert [(each.name, each.times, each.amount) for each in found[:6]] == [
        ("wages", 14, F(14 * 13500)),
        ("rent and services", 14, F(14 * 1650)),
        ("help at the packing table", 17, F(17 * 280)),
        ("launch at the bird fair", 1, F(4200)),
        ("visit to the factory for the first build", 1, F(3600)),
        ("battery take-back registration, three markets", 1, F(1850)),
    ]
    assert len(found) == 6 + len(made.tools)
    tools = {each.home[1]: each.amount for each in found[6:]}
    assert (tools["C-001"], tools["T-006"], tools["T-009"]) == (F(11800), F(3900) / F("1.08"), F(0))
