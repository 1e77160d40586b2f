"""Quantities: an exact number with a unit."""

from __future__ import annotations

import re
from decimal import Decimal, Inexact
from fractions import Fraction
from typing import Any

from ferrule.model.bad_value import BadValue, usable
from ferrule.model.exact import exact
from ferrule.model.number import digits, figures, parse_count, plain, without_separators
from ferrule.model.text import nearest, quoted
from ferrule.model.units import MEANT, UNITS
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "Quantity", "UnitMismatch", "convert", "parse_quantity"]

PATTERN = r"^[0-9]+(\.[0-9]+)? ?[A-Za-z]+[23]?$"
EXAMPLES: tuple[Any, ...] = (14, "0.35 m", "400 mg")
_WRITTEN = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?([A-Za-z]+[23]?)")


#: How like a unit a misspelt one must be: "sheet" must not be taken for a set.
_LIKENESS = 0.8


class UnitMismatch(ValueError):
    """A quantity cannot be expressed in another unit; the message names both."""


class Quantity(Value):
    """How much. ``unit`` is a key of UNITS, or empty: the unit of the part it speaks of."""

    number: Decimal
    unit: str = ""

    def __str__(self) -> str:
        return f"{plain(self.number)} {self.unit}".rstrip()


def parse_quantity(written: Any) -> Quantity:
    """Return the quantity that is written, not negative; raises BadValue."""
    if not isinstance(written, str):
        return Quantity(Decimal(parse_count(written)))
    found = _WRITTEN.fullmatch(written)
    if found is None:
        bare = digits(written)
        if bare is not None and bare >= 0:
            raise BadValue(f"{quoted(written)} is not a quantity", (bare, *EXAMPLES[1:]))
        forms = usable(parse_quantity, without_separators(written), EXAMPLES)
        raise BadValue(f"{quoted(written)} is not a quantity", forms)
    if found[2] not in UNITS:
        best = MEANT.get(found[2].casefold()) or nearest(found[2], UNITS, likeness=_LIKENESS)
        forms = usable(parse_quantity, [f"{found[1]} {best}"] if best else [], EXAMPLES)
        raise BadValue(f"{quoted(found[2])} is no unit; known are {', '.join(UNITS)}", forms)
    return Quantity(figures(found[1], EXAMPLES), found[2])


def convert(quantity: Quantity, unit: str) -> Quantity:
    """Return the same quantity in another unit, exactly; raises UnitMismatch.

    A result with no finite decimal form (feet of a metre, say) raises too: nothing is rounded here.
    """
    if quantity.unit == unit:
        return quantity
    have, want = UNITS.get(quantity.unit), UNITS.get(unit)
    if have is None or want is None or have.dimension != want.dimension:
        raise UnitMismatch(f"{quantity} cannot be counted in {unit}")
    ratio = Fraction(have.factor) / Fraction(want.factor)
    try:
        with exact():
            return Quantity(quantity.number * ratio.numerator / ratio.denominator, unit)
    except Inexact:
        raise UnitMismatch(f"{quantity} has no exact form in {unit}") from None
