"""Days and plan weeks. ISO 8601 weeks start on Monday; plan weeks count from 0."""

from __future__ import annotations

import contextlib
import datetime as dt
import re
from typing import Any

from ferrule.model.bad_value import BadValue
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "When", "iso_week", "monday", "parse_when"]

PATTERN = r"^week [0-9]{1,4}$"
EXAMPLES: tuple[Any, ...] = ("week 12", "2027-01-31")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_WEEK = re.compile(r"week ([0-9]{1,4})")
_ISO_WEEK = re.compile(r"([0-9]{4})-W([0-9]{2})")


class When(Value):
    """A day, or a week of the plan; exactly one of the two is set."""

    day: dt.date | None = None
    week: int | None = None

    def on(self, start: dt.date) -> dt.date:
        """Return the day: for a week its Monday, weeks counted from the plan's start.

        A week beyond the years a date can have counts as the last day there is (`is_beyond`).
        """
        if self.day is not None:
            return self.day
        return dt.date.max if self.is_beyond(start) else start + dt.timedelta(weeks=self.week or 0)

    def is_beyond(self, start: dt.date) -> bool:
        """Return whether it is a week that begins after the last day a date can have."""
        return (self.week or 0) * 7 > dt.date.max.toordinal() - start.toordinal()

    def __str__(self) -> str:
        return self.day.isoformat() if self.day is not None else f"week {self.week}"


def parse_when(written: Any) -> When:
    """Return the day or week that is written; raises BadValue."""
    if isinstance(written, dt.date) and not isinstance(written, dt.datetime):
        return When(day=written)
    if isinstance(written, str):
        found = _WEEK.fullmatch(written)
        if found is not None:
            return When(week=int(found[1]))
        if _DAY.fullmatch(written):
            with contextlib.suppress(ValueError):
                return When(day=dt.date.fromisoformat(written))
    raise BadValue(f"{quoted(written)} is neither a day nor a plan week", EXAMPLES)


def iso_week(day: dt.date) -> str:
    """Return the ISO 8601 week of a day: 2026-12-30 is 2026-W53."""
    year, week, _ = day.isocalendar()
    return f"{year:04}-W{week:02}"


def monday(week: str) -> dt.date:
    """Return the first day of an ISO 8601 week: 2026-W53 starts on 2026-12-28. Raises BadValue."""
    found = _ISO_WEEK.fullmatch(week)
    if found is not None:
        with contextlib.suppress(ValueError):
            return dt.date.fromisocalendar(int(found[1]), int(found[2]), 1)
    raise BadValue(f"{quoted(week)} is no week of ISO 8601", ("2026-W53",))
