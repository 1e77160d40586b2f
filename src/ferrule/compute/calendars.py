"""Time walked in somebody's calendar: which days count, and where a leg starts or finishes.

Common practice counts a lead time in days and forgets that the seller, the port and the customer each have
other days off. Here every leg is walked in its own calendar, backward from a due date or forward from a start,
and says what it crossed on the way. Which calendar an owner has, which of best, likely and worst is taken and
what is late are decided above.

Conventions. A leg occupies whole days, start and finish inclusive, and the next leg starts the day after. A
leg of no length starts the day after it finishes, so that it moves nothing. A leg of n working days needs n
capacity-days: a day at 40 % gives two fifths of one, so with full days n is a plain count. It never finishes or
starts on a closed day: backward it moves to the last open day before, forward to the next one. A leg in days,
weeks, months or years runs on whatever day it is, and only where it says `open_days` does its finish move to
an open day. A day is open if any capacity is left.
"""

from __future__ import annotations

import datetime as dt
from calendar import monthrange
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import ceil
from typing import get_args

from msgspec import Struct

from ferrule.model.duration import Duration
from ferrule.model.exact import exact
from ferrule.model.records.product import Calendar, Closure, Weekday

__all__ = [
    "Chain",
    "Crossing",
    "LegTime",
    "NoSuchDay",
    "Reduction",
    "Stretch",
    "Walked",
    "WorkCalendar",
    "calendar_of",
    "leg_back",
    "leg_forward",
    "months_later",
    "next_open_day",
    "previous_open_day",
    "repeated",
    "walk_back",
    "walk_forward",
    "working_days_between",
]

_WEEK: tuple[str, ...] = get_args(Weekday)
_NONE, _FULL = Fraction(0), Fraction(1)
#: Closed days in a row after which a calendar counts as never open: more likely a slip than a plan.
_LONGEST_CLOSURE = 366
#: A part of a month counts in days of a thirtieth, as everywhere in these files.
_MONTH = 30


class NoSuchDay(ValueError):
    """No day answers: the calendar is closed for more than a year on end, or the years run out."""


class Reduction(Struct, frozen=True):
    """A closure with the capacity it leaves, as a share of a full day, at most 1."""

    closure: Closure
    capacity: Fraction

    def covers(self, day: dt.date) -> bool:
        """Return whether the day is one of the closure's; both its ends are."""
        return self.closure.from_ <= day <= self.closure.to


class WorkCalendar(Struct, frozen=True, kw_only=True):
    """Which days count. Weekdays are numbered from Monday, 0; ``holidays`` are closed altogether."""

    name: str | None
    weekend: frozenset[int]
    holidays: frozenset[dt.date]
    reductions: tuple[Reduction, ...]

    def capacity(self, day: dt.date) -> Fraction:
        """Return the share of a full day's work done that day, 0 to 1. A weekend in a closure stays 0."""
        if day.weekday() in self.weekend or day in self.holidays:
            return _NONE
        least = _FULL
        for cut in self.reductions:  # a plain loop: this is asked for every day of every leg
            if cut.covers(day) and cut.capacity < least:
                least = cut.capacity
        return least

    def is_open(self, day: dt.date) -> bool:
        """Return whether any work is done that day."""
        return self.capacity(day) > 0

    def taker(self, day: dt.date) -> Reduction | None:
        """Return the closure that takes capacity that day: of several the lowest, then the first written.

        None on a weekend, where there is nothing to take.
        """
        if day.weekday() in self.weekend:
            return None
        lowest = min(
            (cut for cut in self.reductions if cut.covers(day)), key=lambda cut: cut.capacity, default=None
        )
        return None if lowest is None or lowest.capacity == _FULL else lowest


class Crossing(Struct, frozen=True):
    """A closure a leg went through, with the capacity-days it took from the calendar meanwhile.

    Working days wait for them; a leg in calendar days does not, and whether its promise allowed for the
    closure is worth asking.
    """

    closure: Closure
    lost: Fraction


class Walked(Struct, frozen=True, kw_only=True):
    """Where a leg lies: first and last day, both inclusive; a leg of no length starts after it finishes.

    ``shifted`` counts the calendar days by which a closed day moved it, in the direction of the walk; what it
    was moved across is in ``crossed`` and ``holidays`` too. ``holidays`` are days off that are no weekend and
    that no closure had emptied already.
    """

    start: dt.date
    finish: dt.date
    shifted: int = 0
    crossed: tuple[Crossing, ...] = ()
    holidays: tuple[dt.date, ...] = ()


class LegTime(Struct, frozen=True, kw_only=True):
    """A leg to walk: its name, its calendar, how long one run takes (None: unknown) and how many runs."""

    name: str
    calendar: WorkCalendar
    duration: Duration | None
    open_days: bool = False
    loops: int = 1


class Stretch(Struct, frozen=True):
    """A leg of a chain with its dates, None where its own length is unknown.

    ``at_least`` marks dates that lie beyond an unknown leg: backward they are the latest possible, forward the
    earliest.
    """

    leg: LegTime
    walked: Walked | None
    at_least: bool


class Chain(Struct, frozen=True, kw_only=True):
    """Legs one after the other, first leg first. A chain of no length starts after it finishes.

    ``at_least`` says that a leg is unknown, so that the far end is only a bound: a start no later, a finish no
    earlier than given.
    """

    start: dt.date
    finish: dt.date
    stretches: tuple[Stretch, ...]
    at_least: bool


def calendar_of(
    record: Calendar | None, public: Iterable[dt.date] = (), *, closures: bool = True
) -> WorkCalendar:
    """Return the calendar of a record and of public holidays looked up for it; without a record, weekends only.

    ``closures=False`` leaves out closures and all holidays and keeps the weekends: the count on paper, against
    which a result shows what closures cost. More than 100 % counts as 100 %, for a closure only takes away.
    """
    record = Calendar() if record is None else record
    return WorkCalendar(
        name=record.name,
        weekend=frozenset(_WEEK.index(day) for day in record.weekend),
        holidays=frozenset(record.holidays).union(public) if closures else frozenset(),
        reductions=tuple(map(_reduction, record.closures)) if closures else (),
    )


def _reduction(closure: Closure) -> Reduction:
    return Reduction(closure, min(Fraction(closure.capacity.number) / 100, _FULL))


def previous_open_day(calendar: WorkCalendar, day: dt.date) -> dt.date:
    """Return the last open day up to and including ``day``. Raises NoSuchDay."""
    return next(_open_days(calendar, day, -1))[0]


def next_open_day(calendar: WorkCalendar, day: dt.date) -> dt.date:
    """Return the first open day from ``day`` on, itself included. Raises NoSuchDay."""
    return next(_open_days(calendar, day, 1))[0]


def working_days_between(calendar: WorkCalendar, one: dt.date, other: dt.date) -> Fraction:
    """Return the capacity-days after ``one`` up to and including ``other``; negative if ``other`` is before.

    This is slack: what finishes on ``one`` and is due on ``other`` could take so many working days more.
    """
    if other < one:
        return -working_days_between(calendar, other, one)
    days = range(one.toordinal() + 1, other.toordinal() + 1)
    return sum((calendar.capacity(dt.date.fromordinal(day)) for day in days), _NONE)


def months_later(day: dt.date, months: int) -> dt.date:
    """Return the same day of the month so many months later (earlier if negative), or the month's last day.

    Raises NoSuchDay beyond the years 1 to 9999.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not dt.MINYEAR <= year <= dt.MAXYEAR:
        raise NoSuchDay(f"{months} months from {day} is beyond the years a date can have")
    return dt.date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def repeated(duration: Duration, loops: int) -> Duration:
    """Return the length of so many runs. Raises ValueError if they are fewer than none."""
    if loops < 0:
        raise ValueError(f"{loops} runs of {duration}")
    if loops == 1:
        return duration
    with exact():
        return Duration(duration.count * loops, duration.unit)


def leg_back(
    calendar: WorkCalendar, duration: Duration, finish: dt.date, *, open_days: bool = False
) -> Walked:
    """Return the leg that is finished by ``finish``, as late as it can start. Raises NoSuchDay.

    Working days and `open_days` take a finish on a closed day to the last open day before. A leg of working
    days starts on the day on which capacity, summed backward from the finish, first reaches its length.
    Months and years are taken from the day after the finish, so that a month to 28 February starts on the 1st.
    Fractions of a day count as whole days. Example: 15 working days to 26 February 2027 start on 8 February.
    """
    works = _works(duration)
    last = previous_open_day(calendar, finish) if works or open_days else finish
    first = _reached(calendar, duration, last, -1) if works else _earlier(_days_later(last, 1), duration)
    return _walked(calendar, (first, last), (first, finish), shifted=(finish - last).days)


def leg_forward(
    calendar: WorkCalendar, duration: Duration, start: dt.date, *, open_days: bool = False
) -> Walked:
    """Return the leg that begins on ``start`` or later, as early as it can finish. Raises NoSuchDay.

    Working days wait for an open day to start. `open_days` takes a finish on a closed day to the next open
    one; the start stays. Otherwise as `leg_back`.
    """
    if _works(duration):
        first = next_open_day(calendar, start)
        last = _reached(calendar, duration, first, 1)
        return _walked(calendar, (first, last), (start, last), shifted=(first - start).days)
    planned = _days_later(_later(start, duration), -1)
    last = next_open_day(calendar, planned) if open_days else planned
    first = start if duration.count else _days_later(last, 1)
    over = min(start, planned) if last > planned else start
    return _walked(calendar, (first, last), (over, last), shifted=(last - planned).days)


def walk_back(legs: Sequence[LegTime], due: dt.date) -> Chain:
    """Return the legs, given first to last, so that the last is finished by ``due``. Raises NoSuchDay.

    A leg of unknown length is walked as none, and all before it is marked as a bound.
    """
    stretches: list[Stretch] = []
    finish, at_least = due, False
    for leg in reversed(legs):
        whole = None if leg.duration is None else repeated(leg.duration, leg.loops)
        walked = None if whole is None else leg_back(leg.calendar, whole, finish, open_days=leg.open_days)
        stretches.append(Stretch(leg, walked, at_least))
        finish = finish if walked is None else _days_later(walked.start, -1)
        at_least = at_least or walked is None
    stretches.reverse()
    last = stretches[-1].walked if stretches else None
    return Chain(
        start=_days_later(finish, 1),
        finish=last.finish if last else due,
        stretches=tuple(stretches),
        at_least=at_least,
    )


def walk_forward(legs: Sequence[LegTime], start: dt.date) -> Chain:
    """Return the legs, given first to last, so that the first begins on ``start`` or later. Raises NoSuchDay.

    A leg of unknown length is walked as none, and all after it is marked as a bound.
    """
    stretches: list[Stretch] = []
    begin, at_least = start, False
    for leg in legs:
        whole = None if leg.duration is None else repeated(leg.duration, leg.loops)
        walked = None if whole is None else leg_forward(leg.calendar, whole, begin, open_days=leg.open_days)
        stretches.append(Stretch(leg, walked, at_least))
        begin = begin if walked is None else _days_later(walked.finish, 1)
        at_least = at_least or walked is None
    first = stretches[0].walked if stretches else None
    return Chain(
        start=first.start if first else start,
        finish=_days_later(begin, -1),
        stretches=tuple(stretches),
        at_least=at_least,
    )


def _works(duration: Duration) -> bool:
    """Return whether the leg needs capacity: a leg of no working days needs none."""
    return duration.unit == "working days" and duration.count > 0


def _open_days(calendar: WorkCalendar, day: dt.date, step: int) -> Iterator[tuple[dt.date, Fraction]]:
    """Yield open days and their capacity, from ``day`` on in one direction. Raises NoSuchDay."""
    weekend, holidays, cuts = calendar.weekend, calendar.holidays, calendar.reductions
    closed, move = 0, dt.timedelta(days=step)
    try:
        while True:
            off = day.weekday() in weekend or day in holidays
            capacity = _NONE if off else calendar.capacity(day) if cuts else _FULL
            if capacity:
                closed = 0
                yield day, capacity
            else:
                closed += 1
                if closed > _LONGEST_CLOSURE:
                    break
            day += move
    except OverflowError:
        raise NoSuchDay(f"{step} days from {day} is beyond the years a date can have") from None
    first, last = sorted((day, _days_later(day, (1 - closed) * step)))
    raise NoSuchDay(f"{calendar.name or 'the calendar'} has no open day from {first} to {last}")


def _reached(calendar: WorkCalendar, duration: Duration, day: dt.date, step: int) -> dt.date:
    """Return the day on which capacity, summed from ``day`` on in one direction, first reaches the length."""
    full, part = divmod(Fraction(duration.count), 1)
    need: Fraction | int = full + part if part else full  # whole days are counted as whole numbers
    for open_day, capacity in _open_days(calendar, day, step):
        need -= 1 if capacity is _FULL else capacity
        if need <= 0:
            return open_day
    return day


def _later(day: dt.date, duration: Duration) -> dt.date:
    """Return the day a length without working days later: whole months first, then the days over them."""
    if duration.in_days is not None:
        return _days_later(day, ceil(duration.in_days))
    whole, rest = _months(duration)
    return min(_days_later(months_later(day, whole), rest), months_later(day, whole + 1))


def _earlier(day: dt.date, duration: Duration) -> dt.date:
    """Return the day a length without working days earlier: `_later` of it is never after ``day``."""
    if duration.in_days is not None:
        return _days_later(day, -ceil(duration.in_days))
    whole, rest = _months(duration)
    return max(months_later(_days_later(day, -rest), -whole), months_later(day, -whole - 1))


def _months(duration: Duration) -> tuple[int, int]:
    """Return whole months and the days over them.

    In February the days over can be more than a month has; whoever adds them stops at the next whole month,
    so that 0.99 months are no longer than one.
    """
    whole, part = divmod(Fraction(duration.count) * (12 if duration.unit == "years" else 1), 1)
    return whole, ceil(part * _MONTH)


def _days_later(day: dt.date, days: int) -> dt.date:
    try:
        return day + dt.timedelta(days=days)
    except OverflowError:
        raise NoSuchDay(f"{days} days from {day} is beyond the years a date can have") from None


def _walked(
    calendar: WorkCalendar, lies: tuple[dt.date, dt.date], over: tuple[dt.date, dt.date], *, shifted: int
) -> Walked:
    """Return the leg as it lies, with what there is over the days it used or was moved across."""
    first, last = over
    return Walked(
        start=lies[0],
        finish=lies[1],
        shifted=shifted,
        crossed=tuple(_crossed(calendar, first, last)),
        holidays=tuple(
            sorted(day for day in calendar.holidays if first <= day <= last and _off(calendar, day))
        ),
    )


def _crossed(calendar: WorkCalendar, first: dt.date, last: dt.date) -> Iterator[Crossing]:
    """Yield the closures that take something from the days first to last, in the order they are written."""
    for cut in calendar.reductions:
        begin, end = max(first, cut.closure.from_), min(last, cut.closure.to)
        if begin > end:
            continue
        days = map(dt.date.fromordinal, range(begin.toordinal(), end.toordinal() + 1))
        taken = sum(1 for day in days if calendar.taker(day) is cut and not _off(calendar, day))
        if taken:
            yield Crossing(cut.closure, taken * (_FULL - cut.capacity))


def _off(calendar: WorkCalendar, day: dt.date) -> bool:
    """Return whether a day is off as a holiday, and neither a weekend nor empty already for a closure."""
    if day not in calendar.holidays or day.weekday() in calendar.weekend:
        return False
    cut = calendar.taker(day)
    return cut is None or cut.capacity > 0
