"""What a written value means, apart from how it is written.

1.50 is 1.5, 1000 mm is 1 m, two weeks are fourteen days, C1-C3 is C3, C2, C1. Units count as the same only
where they convert exactly; working days are no days; texts must be equal to the letter.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable
from fractions import Fraction
from typing import Any

from msgspec import Struct

from ferrule.model.designators import Designators
from ferrule.model.duration import Duration
from ferrule.model.exchange import Exchange
from ferrule.model.money import Money
from ferrule.model.quantity import Quantity
from ferrule.model.records.about import Record
from ferrule.model.records.part import Item
from ferrule.model.units import UNITS
from ferrule.model.value import Value

__all__ = ["IN_ORDER", "NOTHING", "Within", "deeper", "meaning", "same"]

#: Lists whose order says something; every other list is a heap.
IN_ORDER = frozenset({"steps", "alternates", "leg", "pack", "size", "outer", "measured"})
_LENGTHS = {"days": ("days", 1), "weeks": ("days", 7), "months": ("months", 1), "years": ("months", 12)}


class Within(Struct, frozen=True):
    """What a bare number leans on: the unit of its part and the currency of its record, empty if unknown."""

    unit: str = ""
    currency: str = ""


NOTHING = Within()


def deeper(within: Within, record: Record) -> Within:
    """Return what bare numbers inside a record lean on: its own unit and currency before those around it."""
    currency = getattr(record, "currency", None) or within.currency
    unit = record.unit if isinstance(record, Item) else within.unit
    return within if (unit, currency) == (within.unit, within.currency) else Within(unit, currency)


def meaning(value: Any, within: Within = NOTHING, name: str = "") -> Hashable:
    """Return what a value of the field ``name`` means: equal for equal meanings, however they are written."""
    if isinstance(value, Value):
        return _of_value(value, within)
    if isinstance(value, Record):
        inner = deeper(within, value)
        fields = value.__struct_fields__
        return type(value), tuple(meaning(getattr(value, field), inner, field) for field in fields)
    if isinstance(value, tuple | list):
        entries = [meaning(entry, within) for entry in value]
        return tuple(entries) if name in IN_ORDER or isinstance(value, list) else _heap(entries)
    if isinstance(value, dict):
        return frozenset((key, meaning(entry, within)) for key, entry in value.items())
    # Python takes True for 1; a setting does not.
    found: Hashable = ("yes or no", value) if isinstance(value, bool) else value
    return found


def _heap(entries: list[Hashable]) -> frozenset[tuple[Hashable, int]]:
    return frozenset(Counter(entries).items())


def _of_value(value: Value, within: Within) -> Hashable:
    if isinstance(value, Quantity):
        return _amount(value, within)
    if isinstance(value, Money):
        return "money", value.number, value.currency or within.currency
    if isinstance(value, Duration):
        unit, factor = _LENGTHS.get(value.unit, (value.unit, 1))
        return "time", unit, Fraction(value.count) * factor
    if isinstance(value, Exchange):
        return "rate", value.base, value.quote, Fraction(value.buys) / Fraction(value.of)
    if isinstance(value, Designators):
        return "designators", tuple(sorted(value.names))
    return type(value).__name__, tuple(meaning(getattr(value, field), within) for field in value._fields)


def _amount(value: Quantity, within: Within) -> Hashable:
    unit = UNITS.get(value.unit or within.unit)
    if unit is None:
        return "quantity", value.unit or within.unit, Fraction(value.number)
    return "quantity", unit.dimension, Fraction(value.number) * Fraction(unit.factor)


def same(before: Any, after: Any, around: tuple[Within, Within], name: str = "") -> bool:
    """Return whether two values mean the same; ``around`` is what bare numbers lean on, before and after.

    What is written alike is the same, whatever it leans on: the unit or currency is a field of its own, and
    its change is told there, once.
    """
    if before is after:
        return True
    # Records and tables are not asked for equality: settings inside them may hold True beside 1.
    if type(before) is type(after) and not isinstance(before, Record | dict) and before == after:
        return True
    return meaning(before, around[0], name) == meaning(after, around[1], name)
