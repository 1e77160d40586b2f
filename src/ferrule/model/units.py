"""The units a quantity can have, with exact factors.

Codes and factors are those of UN/ECE Recommendation 20, revision 17 (2021); the ounce, which it rounds, is a
sixteenth of a pound exactly. Package words (reel, roll, box, sheet) are
no units there: how much is in a package is a fact of the source.
"""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

__all__ = ["MEANT", "UNITS", "Unit"]


class Unit(Struct, frozen=True):
    """A unit: its code, what it measures, and how many base units of that dimension it is."""

    code: str
    dimension: str
    factor: Decimal


def _unit(code: str, dimension: str, factor: str) -> Unit:
    return Unit(code, dimension, Decimal(factor))


#: Base units: each, m, m2, m3, kg, s.
UNITS: dict[str, Unit] = {
    "each": _unit("EA", "count", "1"),
    "pair": _unit("PR", "count", "2"),
    "dozen": _unit("DZN", "count", "12"),
    "hundred": _unit("CEN", "count", "100"),
    "set": _unit("SET", "sets", "1"),
    "kit": _unit("KT", "kits", "1"),
    "m": _unit("MTR", "length", "1"),
    "dm": _unit("DMT", "length", "0.1"),
    "cm": _unit("CMT", "length", "0.01"),
    "mm": _unit("MMT", "length", "0.001"),
    "in": _unit("INH", "length", "0.0254"),
    "ft": _unit("FOT", "length", "0.3048"),
    "yd": _unit("YRD", "length", "0.9144"),
    "m2": _unit("MTK", "area", "1"),
    "dm2": _unit("DMK", "area", "0.01"),
    "cm2": _unit("CMK", "area", "0.0001"),
    "mm2": _unit("MMK", "area", "0.000001"),
    "m3": _unit("MTQ", "volume", "1"),
    "cm3": _unit("CMQ", "volume", "0.000001"),
    "mm3": _unit("MMQ", "volume", "0.000000001"),
    "l": _unit("LTR", "volume", "0.001"),
    "dl": _unit("DLT", "volume", "0.0001"),
    "cl": _unit("CLT", "volume", "0.00001"),
    "ml": _unit("MLT", "volume", "0.000001"),
    "t": _unit("TNE", "mass", "1000"),
    "kg": _unit("KGM", "mass", "1"),
    "g": _unit("GRM", "mass", "0.001"),
    "mg": _unit("MGM", "mass", "0.000001"),
    "lb": _unit("LBR", "mass", "0.45359237"),
    "oz": _unit("ONZ", "mass", "0.028349523125"),
    "s": _unit("SEC", "time", "1"),
    "min": _unit("MIN", "time", "60"),
    "h": _unit("HUR", "time", "3600"),
}

#: Words people write → the unit that is meant, for hints.
MEANT: dict[str, str] = {
    "pc": "each", "pcs": "each", "piece": "each", "pieces": "each", "ea": "each", "unit": "each", "units": "each",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "millimetre": "mm", "centimetre": "cm", "inch": "in",
    "inches": "in", "feet": "ft", "foot": "ft", "gram": "g", "grams": "g", "gr": "g", "kilo": "kg", "kilogram": "kg",
    "litre": "l", "litres": "l", "liter": "l", "liters": "l", "millilitre": "ml", "pairs": "pair", "sets": "set",
}  # fmt: skip
