"""Lengths of time as people state them. Working days count in a calendar, the rest as they are."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any, Literal

from ferrule.model.bad_value import BadValue, usable
from ferrule.model.exact import exact
from ferrule.model.number import figures, plain, without_separators
from ferrule.model.text import nearest, quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "Duration", "TimeUnit", "parse_duration"]

TimeUnit = Literal["days", "working days", "weeks", "months", "years"]
PATTERN = r"^[0-9]+(\.[0-9]+)? (working )?(day|week|month|year)s?$"
EXAMPLES = ("12 weeks", "30 days", "15 working days")
_WRITTEN = re.compile(r"([0-9]+(?:\.[0-9]+)?) ((?:working )?[a-z]+)")
_UNITS: dict[str, TimeUnit] = {
    word: unit
    for unit in ("days", "working days", "weeks", "months", "years")
    for word in (unit, unit.removesuffix("s"))
}
_DAYS: dict[str, int] = {"days": 1, "weeks": 7}
_MOST = 100_000
#: How like a unit a misspelt one must be: "minutes" must not be taken for months.
_LIKENESS = 0.7


class Duration(Value):
    """A length of time: how many of which unit."""

    count: Decimal
    unit: TimeUnit

    @property
    def in_days(self) -> Decimal | None:
        """Return the calendar days of days and weeks; None for what a calendar has to tell."""
        factor = _DAYS.get(self.unit)
        if factor == 1:
            return self.count
        with exact():
            return None if factor is None else self.count * factor

    @classmethod
    def of(cls, written: str) -> Duration:
        """Return the duration written in code."""
        return parse_duration(written)

    def __str__(self) -> str:
        return f"{plain(self.count)} {self.unit.removesuffix('s') if self.count == 1 else self.unit}"


def parse_duration(written: Any) -> Duration:
    """Return the duration that is written; days and working days are whole. Raises BadValue."""
    found = _WRITTEN.fullmatch(written) if isinstance(written, str) else None
    if found is None:
        tries = without_separators(written) if isinstance(written, str) else []
        raise BadValue(f"{quoted(written)} is not a length of time", usable(parse_duration, tries, EXAMPLES))
    unit = _UNITS.get(found[2])
    if unit is None:
        best = nearest(found[2], _UNITS, likeness=_LIKENESS)
        tries = [f"{found[1]} {best}"] if best else []
        raise BadValue(f"{quoted(found[2])} is no unit of time here", usable(parse_duration, tries, EXAMPLES))
    count = figures(found[1], EXAMPLES)
    if count > _MOST:
        raise BadValue(f"{quoted(written)} is longer than any plan", EXAMPLES)
    if unit in ("days", "working days") and count % 1:
        raise BadValue(f"{quoted(written)} is not a whole number of days", EXAMPLES)
    return Duration(count, unit)
