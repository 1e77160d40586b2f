"""Where a day lies on an axis of time, and which months, weeks and plan weeks are written along it."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.model.when import iso_week
from ferrule.report.picture import Strips

__all__ = ["Axis", "Columns", "Mark", "axis_of", "calendar_marks", "columns_of", "plan_marks", "that_fit"]

_DAY = dt.timedelta(days=1)
_WEEK = dt.timedelta(weeks=1)
_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
#: Up to this many weeks an axis names weeks, beyond it months.
_SHORT = 26
_STEPS = (1, 2, 4, 8, 13, 26, 52)
#: Columns of a day at most, where there is room for more.
_WIDEST = 3

#: A day on the axis and what is written at it.
Mark = tuple[dt.date, str]


class Axis(Struct, frozen=True):
    """Days from the first to the last, both inclusive."""

    first: dt.date
    last: dt.date

    @property
    def days(self) -> int:
        """Return how many days it has."""
        return (self.last - self.first).days + 1

    def at(self, day: dt.date) -> Fraction:
        """Return where a day begins: 0 at the first, 1 at the end of the last; days beyond lie at the ends."""
        return min(Fraction(1), max(Fraction(0), Fraction((day - self.first).days, self.days)))

    def after(self, day: dt.date) -> Fraction:
        """Return where a day ends."""
        return min(Fraction(1), max(Fraction(0), Fraction((day - self.first).days + 1, self.days)))

    def holds(self, start: dt.date, finish: dt.date) -> bool:
        """Return whether some of the days from start to finish are on the axis."""
        return start <= finish and start <= self.last and finish >= self.first


def axis_of(strips: Strips) -> Axis | None:
    """Return the axis of strips; None where there is nothing to draw."""
    return Axis(strips.start, strips.end) if strips.rows and strips.start <= strips.end else None


def calendar_marks(axis: Axis) -> Iterator[list[Mark]]:
    """Yield names for ISO weeks, or months on a longer axis, from all of them to ever fewer; years where they begin."""
    if axis.days <= _SHORT * 7:
        mondays = _mondays(axis)
        for step in _STEPS:
            yield _with_years((day, iso_week(day)) for day in mondays if day.isocalendar()[1] % step == 0)
    firsts = _firsts(axis)
    for step in (1, 2, 3, 6):
        yield _with_years((day, _month(day)) for day in firsts if (day.month - 1) % step == 0)
    years = [day for day in firsts if day.month == 1]
    for step in (1, 2, 5, 10, 100, 1000):
        yield [(day, str(day.year)) for day in years if day.year % step == 0]


def plan_marks(axis: Axis, zero: dt.date) -> Iterator[list[Mark]]:
    """Yield the numbers of plan weeks, from all of them to ever fewer; the first says what it counts."""
    low = max(0, -((zero - axis.first).days // 7))
    weeks = range(low, max(low, (axis.last - zero).days // 7 + 1))
    for step in (*_STEPS, 520, 5200):
        numbers = [week for week in weeks if week % step == 0]
        yield [(zero + week * _WEEK, f"week {week}" if week == numbers[0] else str(week)) for week in numbers]


def _mondays(axis: Axis) -> list[dt.date]:
    first = -axis.first.weekday() % 7
    return [axis.first + dt.timedelta(days=day) for day in range(first, axis.days, 7)]


def _firsts(axis: Axis) -> list[dt.date]:
    """Return the first days of months on the axis."""
    months = range(axis.first.year * 12 + axis.first.month - 1, axis.last.year * 12 + axis.last.month)
    days = [dt.date(month // 12, month % 12 + 1, 1) for month in months]
    return [day for day in days if day >= axis.first]


def _month(day: dt.date) -> str:
    return f"{day.year:04}-{_MONTHS[day.month - 1]}"


def _with_years(marks: Iterable[Mark]) -> list[Mark]:
    """Return names such as "2027-W05" or "2027-Feb" as they are written: the year where it is new, else without."""
    written, before = list[Mark](), ""
    for day, name in marks:
        year, short = name.split("-")
        whole = name if short.startswith("W") else f"{short} {year}"
        written.append((day, short if year == before else whole))
        before = year
    return written


def that_fit(
    candidates: Iterable[Sequence[Mark]],
    place: Callable[[dt.date], Fraction],
    long: Callable[[str], Fraction],
    end: Fraction,
) -> list[tuple[Fraction, str]]:
    """Return the first marks of which none meets the next, as places and texts; what would pass the end is left off.

    ``long`` is the room a text takes with the gap after it.
    """
    for marks in candidates:
        placed = [(place(day), text) for day, text in marks]
        meeting = any(at + long(text) > after for (at, text), (after, _) in itertools.pairwise(placed))
        if placed and not meeting:
            return [(at, text) for at, text in placed if at + long(text) <= end]
    return []


class Columns(Struct, frozen=True):
    """Columns of characters, the first from a Monday on. ``days`` is how many of them a column stands for."""

    first: dt.date
    days: Fraction
    count: int

    def column(self, day: dt.date) -> int:
        """Return the column a day begins in; it may lie beyond them."""
        return math.floor((day - self.first).days / self.days)

    def covered(self, start: dt.date, finish: dt.date) -> Iterator[tuple[int, Fraction]]:
        """Yield the columns that hold some of the days from start to finish, and how many days each holds."""
        low, high = Fraction((start - self.first).days), Fraction((finish - self.first).days + 1)
        first, last = max(0, math.floor(low / self.days)), min(self.count, math.ceil(high / self.days))
        for column in range(first, last):
            yield column, min(high, (column + 1) * self.days) - max(low, column * self.days)

    @property
    def said(self) -> str:
        """Return what a column stands for, in words."""
        if self.days >= 7:
            return "a column is a week" if self.days == 7 else f"a column is {self.days // 7} weeks"
        if self.days <= 1:
            return "a column is a day" if self.days == 1 else f"{1 / self.days} columns are a day"
        return f"{7 / self.days} columns are a week"


def columns_of(axis: Axis, room: int) -> Columns:
    """Return the columns for an axis: whole ones for a day or a week if there is room, else weeks for a column."""
    first = axis.first - axis.first.weekday() * _DAY
    length = (axis.last - first).days + 1
    weeks = math.ceil(Fraction(length, 7))
    if length <= room:
        days = Fraction(1, min(room // length, _WIDEST))
    elif weeks <= room:
        days = Fraction(7, room // weeks)
    else:
        days = Fraction(7 * math.ceil(Fraction(weeks, room)))
    return Columns(first, days, math.ceil(length / days))
