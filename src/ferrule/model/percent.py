"""Percentages, written with their sign."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from ferrule.model.bad_value import BadValue, usable
from ferrule.model.exact import exact
from ferrule.model.number import digits, figures, plain, without_separators
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "Percent", "parse_percent"]

PATTERN = r"^[0-9]+(\.[0-9]+)? ?%$"
EXAMPLES = ("98.5 %", "30 %")
_WRITTEN = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?%")
_MOST = 1000


class Percent(Value):
    """A percentage; ``number`` is the figure before the sign."""

    number: Decimal

    @property
    def fraction(self) -> Decimal:
        """Return the share of one, exactly: 98.5 % is 0.985."""
        with exact():
            return self.number.scaleb(-2)

    @classmethod
    def of(cls, written: str) -> Percent:
        """Return the percentage written in code."""
        return parse_percent(written)

    def __str__(self) -> str:
        return f"{plain(self.number)} %"


def parse_percent(written: Any) -> Percent:
    """Return the percentage that is written, from 0 to 1,000; raises BadValue."""
    if not isinstance(written, str):
        raise BadValue(f"{quoted(written)} is not a percentage in quotes", _meant(written))
    found = _WRITTEN.fullmatch(written)
    if found is None:
        bare = digits(written)
        forms = usable(parse_percent, without_separators(written), EXAMPLES)
        raise BadValue(f"{quoted(written)} is not a percentage", forms if bare is None else _meant(bare))
    number = figures(found[1], EXAMPLES)
    if number > _MOST:
        raise BadValue(f"{quoted(written)} is over {_MOST} %", EXAMPLES)
    return Percent(number)


def _meant(number: Any) -> tuple[object, ...]:
    """Return a number with its sign, where that is a percentage."""
    if isinstance(number, bool) or not isinstance(number, int | Decimal) or not Decimal(number).is_finite():
        return EXAMPLES
    if not 0 <= number <= _MOST:
        return EXAMPLES
    written = [f"{plain(Decimal(number))} %"]
    if 0 < number <= 1:  # 0.985 is more often meant as 98.5 % than as less than one percent
        written.insert(0, f"{plain((Decimal(number) * 100).normalize())} %")
    return usable(parse_percent, written, EXAMPLES)
