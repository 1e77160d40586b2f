"""Where a day lies on an axis of time, and which months are written along it."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

from msgspec import Struct

from ferrule.report.picture import Strips

__all__ = ["Axis", "axis_of"]

_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()


class Axis(Struct, frozen=True):
    """Days from the first to the last, both inclusive."""

    first: dt.date
    last: dt.date

    def at(self, day: dt.date) -> Fraction:
        """Return where a day begins: 0 at the first, 1 at the end of the last; days beyond lie at the ends."""
        days = Fraction((day - self.first).days, (self.last - self.first).days + 1)
        return min(Fraction(1), max(Fraction(0), days))

    def after(self, day: dt.date) -> Fraction:
        """Return where a day ends."""
        return self.at(day + dt.timedelta(days=1))

    def months(self) -> list[tuple[dt.date, str]]:
        """Return the first day of each month on the axis with its name, the year beside the first and January."""
        found: list[tuple[dt.date, str]] = []
        year, month = self.first.year, self.first.month
        while (day := dt.date(year, month, 1)) <= self.last:
            named = f"{_MONTHS[month - 1]} {year}" if month == 1 or not found else _MONTHS[month - 1]
            found.append((max(day, self.first), named))
            year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        return found


def axis_of(strips: Strips) -> Axis | None:
    """Return the axis that holds every stretch, mark and today; None where there is nothing to draw."""
    days = [day for row in strips.rows for each in row.stretches for day in (each.start, each.finish)]
    days += [row.tick for row in strips.rows if row.tick is not None]
    if not days:
        return None
    days += [strips.today] if strips.today is not None else []
    return Axis(min(days), max(days))
