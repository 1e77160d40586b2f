"""Units by week worked by hand, what is missing named, and no unit lost whatever the plan says."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import product
from ferrule.compute.calendars import calendar_of
from ferrule.compute.selling import Weekly, sold_by_week, usual_weeks, week_reached, weekly_units
from ferrule.load.build import load_product
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.records.plan import Build, Plan, PlanFile, Sales, WeekSales
from ferrule.model.records.product import Calendar
from ferrule.model.when import When

#: A Monday; week 10 begins on 2027-02-08 and is the last.
START = dt.date(2026, 11, 30)
BUILD = '[[build]]\nname = "spring"\nsku = "SKU"\nqty = 1000\n'
#: A Friday, in the week of Monday 2027-01-04 (week 5).
ARRIVAL = {"spring": dt.date(2027, 1, 8)}


def plan(text: str, end: str = '"week 10"') -> PlanFile:
    head = f'[plan]\nid = "p"\nstart = 2026-11-30\nend = {end}\n'
    return product({"plans/p.toml": head + BUILD + text}).plans["p"]


def sale(text: str) -> str:
    return f'[[sales]]\nsku = "SKU"\nchannel = "web"\n{text}\n'


def numbers(weekly: Weekly, index: int = 0) -> dict[int, int]:
    """Return an entry's units by plan week."""
    return {(week - START).days // 7: units for week, units in weekly.sales[index].weeks.items()}


def test_evenly_in_whole_units_the_remainder_first() -> None:
    """10 over 4 weeks: 2 each and 2 left, one for each of the first two weeks."""
    found = weekly_units(plan(sale('qty = 10\nfrom = "week 3"\nover_weeks = 4')), {})
    assert numbers(found) == {3: 3, 4: 3, 5: 2, 6: 2}
    assert next(iter(found.sales[0].weeks)) == dt.date(2026, 12, 21)
    assert (found.sales[0].units, found.unknown) == (10, ())


def test_fewer_units_than_weeks_leave_weeks_without_a_sale() -> None:
    assert numbers(weekly_units(plan(sale('qty = 2\nfrom = "week 0"\nover_weeks = 5')), {})) == {0: 1, 1: 1}


@pytest.mark.parametrize(
    ("when", "first"),
    [
        ("", 5),  # Friday 8 January: the week of 4 January
        ('lag = "0 days"', 5),
        ('lag = "2 days"', 5),  # Sunday 10 January
        ('lag = "3 days"', 6),  # Monday 11 January
        ('lag = "1 week"', 6),
        ('lag = "1.3 weeks"', 7),  # 9.1 days, so ten: Monday 18 January; nine would be the Sunday before
        ('lag = "1 month"', 10),  # Monday 8 February
        ('lag = "1 working day"', 6),  # the Friday itself; open again on Monday
        ('from = "week 2"', 2),
        ("from = 2026-12-17", 2),  # Thursday of the week of 14 December
        ('from = "week 2"\nlag = "2 weeks"', 2),  # a lag runs from the arrival
    ],
)
def test_the_first_week(when: str, first: int) -> None:
    found = weekly_units(plan(sale(f'build = "spring"\nqty = 1\nover_weeks = 1\n{when}')), ARRIVAL)
    assert numbers(found) == {first: 1}


def test_working_days_of_a_lag_count_in_the_calendar_given() -> None:
    """One working day after Friday 8 January is Monday 11; with that week off it is Monday 18 January."""
    off = calendar_of(Calendar(holidays=tuple(dt.date(2027, 1, day) for day in range(11, 16))))
    text = sale('build = "spring"\nqty = 1\nover_weeks = 1\nlag = "1 working day"')
    assert numbers(weekly_units(plan(text), ARRIVAL, calendar=off)) == {7: 1}


def test_a_curve_is_taken_as_it_stands() -> None:
    text = sale(
        'curve = [{ week = "week 4", qty = 30 }, { week = 2026-12-10, qty = 4 }, { week = "week 4", qty = 1 }]'
    )
    found = weekly_units(plan(text), {})
    assert numbers(found) == {1: 4, 4: 31}
    assert list(found.sales[0].weeks) == sorted(found.sales[0].weeks)
    assert found.sales[0].units == 35


def test_shares_of_a_build_round_down_and_the_last_gets_the_rest() -> None:
    """Of 1,000: 333.5, 333.5 and 333 are 333, 333 and 1,000 - 666 = 334; 333.5 twice are 333 and 667 - 333."""
    text = sale('build = "spring"\nshare = "{}"\nfrom = "week 0"\nover_weeks = 1')
    three = "".join(text.format(share) for share in ("33.35 %", "33.35 %", "33.30 %"))
    assert [entry.units for entry in weekly_units(plan(three), {}).sales] == [333, 333, 334]
    two = "".join(text.format(share) for share in ("33.35 %", "33.35 %"))
    assert [entry.units for entry in weekly_units(plan(two), {}).sales] == [333, 334]


def test_the_end_is_inclusive_and_what_is_beyond_it_is_counted_apart() -> None:
    """10 over 4 weeks from week 9: 3 and 3 in weeks 9 and 10, then 2 and 2."""
    text = sale('qty = 10\nfrom = "week 9"\nover_weeks = 4')
    for end in ('"week 10"', "2027-02-08", "2027-02-14"):
        found = weekly_units(plan(text, end), {})
        assert numbers(found) == {9: 3, 10: 3}
        assert (found.beyond, found.before) == (4, 0)
    assert weekly_units(plan(text, "2027-02-07"), {}).beyond == 7


def test_what_is_sold_before_the_start_is_counted_apart() -> None:
    found = weekly_units(plan(sale("qty = 10\nfrom = 2026-11-22\nover_weeks = 4")), {})
    assert numbers(found) == {0: 2, 1: 2}
    assert (found.before, found.beyond) == (6, 0)


def test_a_sale_over_more_weeks_than_there_are_days_stays_countable() -> None:
    found = weekly_units(plan(sale('qty = 1000000000\nfrom = "week 0"\nover_weeks = 1000000000')), {})
    assert numbers(found) == dict.fromkeys(range(11), 1)
    assert found.beyond == 999_999_989


MISSING = [
    ("qty = 5\nover_weeks = 2", "SKU in web: when the sale begins"),
    ('build = "spring"\nqty = 5\nover_weeks = 2', "SKU in web from spring: when it arrives"),
    ('qty = 5\nfrom = "week 1"', "SKU in web: over how many weeks they sell"),
    ('qty = 5\nfrom = "week 1"\nover_weeks = 0', "SKU in web: over how many weeks they sell"),
    ('from = "week 1"\nover_weeks = 3', "SKU in web: how many are sold"),
    ('share = "10 %"\nfrom = "week 1"\nover_weeks = 3', "SKU in web: how many are sold"),
    ('build = "autumn"\nshare = "10 %"\nfrom = "week 1"\nover_weeks = 3', "SKU in web from autumn: how many are sold"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), MISSING)
def test_what_is_missing_is_named_and_nothing_is_sold(text: str, words: str) -> None:
    found = weekly_units(plan(sale(text)), {})
    assert found.unknown == (words,)
    assert (found.sales[0].weeks, found.before, found.beyond) == ({}, 0, 0)
    assert sold_by_week(found)[-1] == (dt.date(2027, 2, 8), 0)


def test_a_lag_beyond_all_years_is_named() -> None:
    text = sale('build = "spring"\nqty = 5\nover_weeks = 2\nlag = "9000 years"')
    found = weekly_units(plan(text), ARRIVAL)
    assert found.unknown == ("SKU in web from spring: which day is 9000 years after 2027-01-08",)


def test_part_of_a_unit_is_not_sold_and_is_named() -> None:
    found = weekly_units(plan(sale('qty = 10.5\nfrom = "week 0"\nover_weeks = 1')), {})
    assert (numbers(found), found.sales[0].units) == ({0: 10}, 10)
    assert found.unknown == ("SKU in web: how 10.5 units are sold; the whole ones count",)


def test_units_stated_twice_and_not_alike_are_named() -> None:
    text = 'build = "spring"\nshare = "50 %"\nqty = {}\ncurve = [{{ week = "week 4", qty = 500 }}]'
    assert weekly_units(plan(sale(text.format(500))), {}).unknown == ()
    found = weekly_units(plan(sale(text.format(480))), {})
    words = "whether 500 (curve) or 480 (quantity) or 500 (share) are sold; the first counts"
    assert found.unknown == (f"SKU in web from spring: {words}",)
    assert numbers(found) == {4: 500}


def test_the_usual_weeks_fill_in_where_the_plan_is_silent() -> None:
    text = sale('qty = 6\nfrom = "week 0"') + sale('qty = 6\nfrom = "week 0"\nover_weeks = 2')
    found = weekly_units(plan(text), {}, usual={("SKU", "web"): 3, ("SKU", "shops"): 9})
    assert (numbers(found, 0), numbers(found, 1)) == ({0: 2, 1: 2, 2: 2}, {0: 3, 1: 3})


def test_entries_of_one_sku_channel_and_build_add_up() -> None:
    text = sale('qty = 6\nfrom = "week 1"\nover_weeks = 2') + sale('qty = 4\nfrom = "week 0"\nover_weeks = 2')
    found = weekly_units(plan(text), {})
    mondays = [START + dt.timedelta(weeks=number) for number in range(3)]
    assert list(found.weeks) == [("SKU", "web", None)]
    assert list(found.weeks["SKU", "web", None].items()) == list(zip(mondays, (2, 5, 3), strict=True))
    assert [units for _, units in sold_by_week(found)] == [2, 7] + [10] * 9


def test_the_week_in_which_a_quantity_is_reached() -> None:
    """3, 3, 2, 2 from week 3: 3, 6, 8, 10 by the end of weeks 3, 4, 5 and 6."""
    found = weekly_units(plan(sale('qty = 10\nfrom = "week 3"\nover_weeks = 4')), {})
    weeks = [START + dt.timedelta(weeks=number) for number in range(7)]
    assert [week_reached(found, units) for units in (1, 3, 4, 8, 10)] == [weeks[n] for n in (3, 3, 4, 5, 6)]
    assert week_reached(found, 11) is None
    assert week_reached(found, 0) == START


def test_the_first_season_of_the_example_product(checkout: Path) -> None:
    """Arrivals on Fridays 28 May and 15 October 2027; the plan's last week, 56, begins on 27 December 2027.

    Web, spring: 720 over 16 weeks from 4 June (week of 31 May): 45 each.
    Larkfield, spring: 40 % of 1,200 = 480 over 4 weeks from the week of 24 May: 120 each. Sets: 120, 30 each.
    Web, summer: 65 % of 1,440 = 936 over 20 weeks from 22 October (week of 18 October): 46 and 16 times one
    more. Eleven weeks to 27 December are 517; 419 are beyond. Larkfield, summer: 300 and 204 in weeks 46, 49.
    """
    folder = checkout / "example-product"
    files = ((str(path.relative_to(folder)), path.read_bytes()) for path in sorted(folder.rglob("*.toml")))
    held = load_product(files).product
    friday, autumn = dt.date(2027, 5, 28), dt.date(2027, 10, 15)
    arrivals = {"spring": friday, "spring-sets": friday, "summer": autumn}
    found = weekly_units(held.plans["first-season"], arrivals, usual=usual_weeks(held))
    assert found.unknown == ()
    assert numbers(found, 0) == dict.fromkeys(range(26, 42), 45)
    assert numbers(found, 1) == dict.fromkeys(range(25, 29), 120)
    assert numbers(found, 2) == dict.fromkeys(range(25, 29), 30)
    assert numbers(found, 3) == dict.fromkeys(range(46, 57), 47)
    assert numbers(found, 4) == {46: 300, 49: 204}
    assert (found.sales[3].units, found.beyond, found.before) == (936, 419, 0)
    # Weeks 25 to 28: 150, then 195 three times: 150, 345, 540, 735; then 45 a week.
    assert week_reached(found, 735) == dt.date(2027, 6, 14)
    assert week_reached(found, 736) == dt.date(2027, 6, 21)
    assert usual_weeks(held) == {
        ("W20-SINGLE", "web"): 16, ("W20-SINGLE", "larkfield"): 14, ("W20-SET3", "larkfield"): 14,
    }  # fmt: skip


def whens(most: int) -> st.SearchStrategy[When]:
    days = st.dates(START - dt.timedelta(weeks=5), START + dt.timedelta(weeks=most))
    return st.builds(When, day=days) | st.builds(When, week=st.integers(0, most))


counts = st.integers(0, 300).map(Count)
one_sale = st.builds(
    Sales,
    sku=st.just("SKU"),
    channel=st.sampled_from(["web", "shops"]),
    build=st.none() | st.just("spring"),
    qty=st.none() | counts,
    share=st.none() | st.builds(Percent, st.decimals(0, 100, places=1)),
    from_=st.none() | whens(30),
    over_weeks=st.none() | st.integers(1, 30),
    curve=st.lists(st.builds(WeekSales, week=whens(30), qty=counts), max_size=3).map(tuple),
)
sales = st.lists(one_sale, max_size=5)


def planned(entries: list[Sales], made: int = 100, start: dt.date = START) -> PlanFile:
    return PlanFile(
        plan=Plan(id="p", start=start, end=When(week=12)),
        build=(Build(name="spring", sku="SKU", qty=Count(made)),),
        sales=tuple(entries),
    )


@pytest.mark.property
@given(sales, st.integers(0, 500))
def test_every_unit_is_in_a_week_before_or_beyond_unless_something_is_named(
    entries: list[Sales], made: int
) -> None:
    found = weekly_units(planned(entries, made), ARRIVAL)
    for entry in found.sales:
        counted = sum(entry.weeks.values()) + entry.before + entry.beyond
        assert counted == (entry.units or 0) or (counted == 0 and found.unknown)
        assert all(found.start <= week <= found.end and week.weekday() == 0 for week in entry.weeks)
    assert sold_by_week(found)[-1][1] == sum(sum(weeks.values()) for weeks in found.weeks.values())


@pytest.mark.property
@given(st.integers(0, 300), st.integers(1, 40), st.integers(0, 30))
def test_even_weeks_are_those_of_units_dealt_out_one_by_one(units: int, over: int, first: int) -> None:
    dealt: dict[int, int] = {}
    for unit in range(units):
        dealt[first + unit % over] = dealt.get(first + unit % over, 0) + 1
    entry = Sales(sku="SKU", channel="web", qty=Count(units), from_=When(week=first), over_weeks=over)
    found = weekly_units(planned([entry]), {})
    assert numbers(found) == {week: sold for week, sold in dealt.items() if week <= 12}
    assert found.beyond == sum(sold for week, sold in dealt.items() if week > 12)


@pytest.mark.property
@given(st.integers(0, 5000), st.lists(st.integers(0, 1000), min_size=1, max_size=6))
def test_shares_that_make_a_whole_sell_the_whole_build(made: int, weights: list[int]) -> None:
    """The last share is what the others leave to 100 %, in tenths of a percent."""
    tenths = [weight * 1000 // max(1, sum(weights) + 1) for weight in weights]
    tenths.append(1000 - sum(tenths))
    entries = [
        Sales(sku="SKU", channel="web", build="spring", share=Percent(Decimal(tenth) / 10))
        for tenth in tenths
    ]
    units = [entry.units for entry in weekly_units(planned(entries, made), {}).sales]
    assert sum(one or 0 for one in units) == made
    for tenth, sold in zip(tenths, units, strict=True):
        assert sold is not None
        assert -1 < sold - Fraction(made * tenth, 1000) < len(tenths)


@pytest.mark.property
@given(sales, st.integers(1, 100))
def test_moving_the_start_and_every_day_moves_every_week(entries: list[Sales], weeks: int) -> None:
    move = dt.timedelta(weeks=weeks)

    def moved(when: When | None) -> When | None:
        return when if when is None or when.day is None else When(day=when.day + move)

    others = [
        Sales(
            sku=entry.sku,
            channel=entry.channel,
            build=entry.build,
            qty=entry.qty,
            share=entry.share,
            from_=moved(entry.from_),
            over_weeks=entry.over_weeks,
            curve=tuple(WeekSales(week=moved(week.week) or week.week, qty=week.qty) for week in entry.curve),
        )
        for entry in entries
    ]
    before = weekly_units(planned(entries), ARRIVAL)
    arrivals = {name: day + move for name, day in ARRIVAL.items()}
    after = weekly_units(planned(others, start=START + move), arrivals)
    assert [(week + move, units) for week, units in sold_by_week(before)] == list(sold_by_week(after))
    assert before.unknown == after.unknown
