"""How old a fact may be."""

from __future__ import annotations

import datetime as dt

from ferrule.model.duration import Duration

__all__ = ["is_older", "oldest_good"]

_FRIDAY = 4


def is_older(day: dt.date, age: Duration, today: dt.date) -> bool:
    """Return whether a fact of ``day`` is older than ``age``; one of exactly that age still counts."""
    return day < oldest_good(age, today)


def oldest_good(age: Duration, today: dt.date) -> dt.date:
    """Return the first day that is not older than ``age``.

    Months and years go by the calendar, a missing day by the month's last; working days are Monday to
    Friday, for an age has no calendar of its own. Parts of a month count in days of a thirtieth.
    """
    try:
        if age.in_days is not None:
            return today - dt.timedelta(days=int(age.in_days))
        if age.unit == "working days":
            return _working_days_before(today, int(age.count))
        months = age.count * 12 if age.unit == "years" else age.count
        return _months_before(today, int(months)) - dt.timedelta(days=int(months % 1 * 30))
    except (OverflowError, ValueError):  # before the first year there is: nothing is that old
        return dt.date.min


def _months_before(day: dt.date, months: int) -> dt.date:
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    first = dt.date(year, month + 1, 1)
    after = dt.date(year + month // 11, (month + 1) % 12 + 1, 1)
    return min(first + dt.timedelta(days=day.day - 1), after - dt.timedelta(days=1))


def _working_days_before(day: dt.date, count: int) -> dt.date:
    weeks, rest = divmod(count, 5)
    day -= dt.timedelta(weeks=weeks)
    while rest:
        day -= dt.timedelta(days=1)
        rest -= day.weekday() <= _FRIDAY
    return day
