"""Laws of walking in a calendar, and a walk day by day on a table of percentages that judges it."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ferrule.compute.calendars import (
    LegTime,
    NoSuchDay,
    WorkCalendar,
    calendar_of,
    leg_back,
    leg_forward,
    months_later,
    next_open_day,
    previous_open_day,
    walk_back,
    walk_forward,
    working_days_between,
)
from ferrule.model.duration import Duration, TimeUnit
from ferrule.model.percent import Percent
from ferrule.model.records.product import Calendar, Closure, Weekday

pytestmark = pytest.mark.property

DAY = dt.timedelta(days=1)
FIRST = dt.date(2026, 6, 1)
NAMES: tuple[Weekday, ...] = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SPAN = 400

days = st.integers(0, SPAN).map(lambda count: FIRST + dt.timedelta(days=count))
capacities = st.sampled_from(["0 %", "12.5 %", "40 %", "50 %", "99 %", "100 %"])


@st.composite
def closures(draw: st.DrawFn) -> Closure:
    first = draw(days)
    length = draw(st.integers(-2, 40))  # of none and turned round, too: they hold no day
    return Closure(
        name="closed",
        from_=first,
        to=first + dt.timedelta(days=length),
        capacity=Percent.of(draw(capacities)),
    )


@st.composite
def records(draw: st.DrawFn, *, partial: bool = True) -> Calendar:
    weekend = draw(st.sets(st.sampled_from(NAMES), max_size=6))
    made = draw(st.lists(closures(), max_size=4))
    whole = [Closure(name=one.name, from_=one.from_, to=one.to) for one in made]
    return Calendar(
        weekend=tuple(sorted(weekend)),
        holidays=tuple(draw(st.sets(days, max_size=20))),
        closures=tuple(made if partial else whole),
    )


calendars = records().map(calendar_of)
#: Days are full or closed.
plain_calendars = records(partial=False).map(calendar_of)
working = st.integers(0, 60).map(lambda count: Duration(Decimal(count), "working days"))
transit = st.builds(Duration, st.decimals(0, 90, places=1), st.just("weeks")) | st.builds(
    Duration, st.integers(0, 90).map(Decimal), st.just("days")
)
by_month = st.builds(
    Duration, st.decimals(0, 9, places=2), st.sampled_from(list[TimeUnit](["months", "years"]))
)
durations = working | transit | by_month


def percentages(record: Calendar) -> dict[dt.date, Decimal]:
    """Return what each day around the window gives, in percent, written out day by day.

    60 working days of one a week, and four closures of 41 days, are over within 600.
    """
    table = {}
    for count in range(-600, SPAN + 600):
        today = FIRST + count * DAY
        table[today] = Decimal(0 if NAMES[today.weekday()] in record.weekend else 100)
    for closed in record.closures:
        for today, percent in table.items():
            if closed.from_ <= today <= closed.to:
                table[today] = min(percent, closed.capacity.number)
    return table | dict.fromkeys(record.holidays, Decimal(0))


@settings(max_examples=150, deadline=None)
@given(records(), st.integers(1, 60), days)
def test_a_table_of_days_gives_the_same_walks(record: Calendar, count: int, asked: dt.date) -> None:
    table, calendar = percentages(record), calendar_of(record)
    length = Duration(Decimal(count), "working days")
    assert all(calendar.capacity(today) * 100 == Fraction(percent) for today, percent in table.items())

    finish = max(today for today, percent in table.items() if percent and today <= asked)
    start, got = finish, table[finish]
    while got < 100 * count:
        start -= DAY
        got += table[start]
    found = leg_back(calendar, length, asked)
    assert (found.start, found.finish, found.shifted) == (start, finish, (asked - finish).days)

    start = min(today for today, percent in table.items() if percent and today >= asked)
    finish, got = start, table[start]
    while got < 100 * count:
        finish += DAY
        got += table[finish]
    found = leg_forward(calendar, length, asked)
    assert (found.start, found.finish, found.shifted) == (start, finish, (start - asked).days)


@settings(max_examples=200, deadline=None)
@given(plain_calendars, working | transit, days)
def test_back_and_forward_are_the_same_days(calendar: WorkCalendar, length: Duration, asked: dt.date) -> None:
    """In full days; where a month lacks the day or days count in part, one way may be shorter."""
    there = leg_back(calendar, length, asked)
    again = leg_forward(calendar, length, there.start)
    if length.count or not there.shifted:
        assert (again.start, again.finish) == (there.start, there.finish)
    onward = leg_forward(calendar, length, asked)
    home = leg_back(calendar, length, onward.finish)
    assert (home.start, home.finish) == (onward.start, onward.finish)


@settings(max_examples=200, deadline=None)
@given(calendar=calendars, length=durations, due=days, open_days=st.booleans())
def test_what_starts_when_the_walk_back_says_is_in_time(
    calendar: WorkCalendar, length: Duration, due: dt.date, *, open_days: bool
) -> None:
    start = leg_back(calendar, length, due, open_days=open_days).start
    assert leg_forward(calendar, length, start, open_days=open_days).finish <= due


@settings(max_examples=200, deadline=None)
@given(calendar=calendars, length=working | transit, due=days, open_days=st.booleans())
def test_what_starts_a_day_later_is_late(
    calendar: WorkCalendar, length: Duration, due: dt.date, *, open_days: bool
) -> None:
    """The walk back gives the last start, not just a good one: the next day on which one can start is too late."""
    found = leg_back(calendar, length, due, open_days=open_days)
    if length.count:
        late = leg_forward(calendar, length, found.start + DAY, open_days=open_days)
        assert late.finish > due


@settings(max_examples=200, deadline=None)
@given(calendar=calendars, one=durations, other=durations, due=days, open_days=st.booleans())
def test_longer_never_starts_later(
    calendar: WorkCalendar, one: Duration, other: Duration, due: dt.date, *, open_days: bool
) -> None:
    if one.unit != other.unit:
        other = Duration(other.count.to_integral_value(), one.unit)
    short, long = sorted((one, other), key=lambda length: length.count)
    assert (
        leg_back(calendar, long, due, open_days=open_days).start
        <= leg_back(calendar, short, due, open_days=open_days).start
    )
    assert (
        leg_forward(calendar, long, due, open_days=open_days).finish
        >= leg_forward(calendar, short, due, open_days=open_days).finish
    )


@settings(max_examples=200, deadline=None)
@given(calendar=calendars, length=durations, one=days, other=days, open_days=st.booleans())
def test_later_never_gives_earlier(
    calendar: WorkCalendar, length: Duration, one: dt.date, other: dt.date, *, open_days: bool
) -> None:
    soon, late = sorted((one, other))
    first, second = (leg_back(calendar, length, due, open_days=open_days) for due in (soon, late))
    assert (first.start, first.finish) <= (second.start, second.finish)
    first, second = (leg_forward(calendar, length, start, open_days=open_days) for start in (soon, late))
    assert (first.start, first.finish) <= (second.start, second.finish)


@settings(max_examples=200, deadline=None)
@given(record=records(), more=closures(), length=durations, asked=days, open_days=st.booleans())
def test_one_more_closure_never_helps(
    record: Calendar, more: Closure, length: Duration, asked: dt.date, *, open_days: bool
) -> None:
    before = calendar_of(record)
    after = calendar_of(
        Calendar(weekend=record.weekend, holidays=record.holidays, closures=(*record.closures, more))
    )
    late, early = (leg_back(one, length, asked, open_days=open_days) for one in (before, after))
    assert early.start <= late.start
    soon, slow = (leg_forward(one, length, asked, open_days=open_days) for one in (before, after))
    assert slow.finish >= soon.finish
    if more.capacity.number == 100:
        assert (early, slow) == (late, soon)


@settings(max_examples=200, deadline=None)
@given(records(), durations, days)
def test_closures_ignored_are_no_closures(record: Calendar, length: Duration, due: dt.date) -> None:
    bare = calendar_of(Calendar(weekend=record.weekend))
    ignored = calendar_of(record, [due], closures=False)
    assert leg_back(ignored, length, due) == leg_back(bare, length, due)


@settings(max_examples=200, deadline=None)
@given(calendar=calendars, length=durations, asked=days, open_days=st.booleans(), forward=st.booleans())
def test_every_weekday_of_a_walk_is_worked_or_accounted_for(
    calendar: WorkCalendar, length: Duration, asked: dt.date, *, open_days: bool, forward: bool
) -> None:
    walk = leg_forward if forward else leg_back
    found = walk(calendar, length, asked, open_days=open_days)
    if not length.count:
        return
    first, last = min(found.start, asked), max(found.finish, asked)
    passed = [first + count * DAY for count in range((last - first).days + 1)]
    weekdays = sum(today.weekday() not in calendar.weekend for today in passed)
    worked = working_days_between(calendar, first - DAY, last)
    assert weekdays == worked + sum(crossing.lost for crossing in found.crossed) + len(found.holidays)
    assert list(found.holidays) == sorted(set(found.holidays) & calendar.holidays)
    assert all(crossing.lost > 0 for crossing in found.crossed)


@settings(max_examples=100, deadline=None)
@given(calendars, days, days, days)
def test_slack_adds_up(calendar: WorkCalendar, one: dt.date, other: dt.date, third: dt.date) -> None:
    to_other, onward = (
        working_days_between(calendar, one, other),
        working_days_between(calendar, other, third),
    )
    assert to_other + onward == working_days_between(calendar, one, third)


@settings(max_examples=100, deadline=None)
@given(plain_calendars, st.integers(1, 60), days)
def test_a_leg_of_working_days_has_so_many_open_days(
    calendar: WorkCalendar, count: int, due: dt.date
) -> None:
    found = leg_back(calendar, Duration(Decimal(count), "working days"), due)
    assert working_days_between(calendar, found.start - DAY, found.finish) == count
    assert calendar.is_open(found.start)
    assert calendar.is_open(found.finish)


@settings(max_examples=100, deadline=None)
@given(calendars, days)
def test_the_nearest_open_day_has_none_between(calendar: WorkCalendar, asked: dt.date) -> None:
    before, after = previous_open_day(calendar, asked), next_open_day(calendar, asked)
    assert before <= asked <= after
    assert calendar.is_open(before)
    assert calendar.is_open(after)
    between = [before + count * DAY for count in range(1, (after - before).days)]
    assert not any(calendar.is_open(today) for today in between if today != asked)
    assert calendar.is_open(asked) is (before == after)


legs = st.builds(
    LegTime,
    name=st.just("leg"),
    calendar=calendars,
    duration=durations | st.none(),
    open_days=st.booleans(),
    loops=st.integers(0, 3),
)


@settings(max_examples=150, deadline=None)
@given(st.lists(legs, max_size=5), days)
def test_a_chain_is_in_order_and_in_time(chain: list[LegTime], due: dt.date) -> None:
    found = walk_back(chain, due)
    assert [stretch.leg for stretch in found.stretches] == chain
    finish = due
    for stretch in reversed(found.stretches):
        if stretch.walked is not None:
            assert stretch.walked.finish == finish - stretch.walked.shifted * DAY
            finish = stretch.walked.start - DAY
    assert found.start == finish + DAY
    assert found.at_least is any(leg.duration is None for leg in chain)
    assert walk_forward(chain, found.start).finish <= due


@settings(max_examples=100, deadline=None)
@given(st.lists(legs, min_size=1, max_size=5), st.integers(0, 4), durations, days)
def test_an_unknown_leg_gives_a_true_bound(
    chain: list[LegTime], which: int, truth: Duration, due: dt.date
) -> None:
    which %= len(chain)
    leg = chain[which]

    def with_length(length: Duration | None) -> list[LegTime]:
        one = LegTime(name=leg.name, calendar=leg.calendar, duration=length, open_days=leg.open_days)
        return [*chain[:which], one, *chain[which + 1 :]]

    assert walk_back(with_length(truth), due).start <= walk_back(with_length(None), due).start
    assert walk_forward(with_length(truth), due).finish >= walk_forward(with_length(None), due).finish


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 30), min_size=1, max_size=6), days, calendars)
def test_legs_in_days_add_up(counts: list[int], due: dt.date, calendar: WorkCalendar) -> None:
    chain = [
        LegTime(name="leg", calendar=calendar, duration=Duration(Decimal(count), "days")) for count in counts
    ]
    assert walk_back(chain, due).start == due - (sum(counts) - 1) * DAY


@settings(max_examples=200, deadline=None)
@given(days, st.integers(-500, 500))
def test_months_later_is_the_same_day_or_the_last(today: dt.date, months: int) -> None:
    """Walked a day at a time: the month has changed so many times, and a later day of that month is too late."""
    there = months_later(today, months)
    assert (there.year - today.year) * 12 + there.month - today.month == months
    assert there.day == today.day or (there.day < today.day and (there + DAY).day == 1)


@settings(max_examples=50, deadline=None)
@given(days, st.sampled_from(["working days", "days"]), st.integers(1, 500))
def test_a_calendar_without_an_open_day_always_ends(asked: dt.date, unit: TimeUnit, count: int) -> None:
    never = calendar_of(Calendar(weekend=NAMES))
    for walk in (leg_back, leg_forward):
        with pytest.raises(NoSuchDay):
            walk(never, Duration(Decimal(count), unit), asked, open_days=True)
