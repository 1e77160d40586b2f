"""How a working is written: every figure with its unit, so that a reader can follow it without the records."""

from __future__ import annotations

from ferrule.model.exact import Exact, shown_amount

__all__ = ["a_unit", "figure_of", "measured", "per_unit", "units_of"]


def figure_of(number: Exact) -> str:
    """Return a number to six places at most, without zeros at the end."""
    text = shown_amount(number, 6)
    return text.rstrip("0").rstrip(".")


def measured(number: Exact, unit: str) -> str:
    """Return a quantity with its unit: ``1.3 m``."""
    return f"{figure_of(number)} {unit}"


def units_of(number: Exact) -> str:
    """Return a quantity of units of an assembly: ``1 unit``, ``1.016658 units``."""
    return measured(number, "unit" if number == 1 else "units")


def a_unit(unit: str) -> str:
    """Return the words after a price of one: ``each``, or ``per m``."""
    return "each" if unit == "each" else f"per {unit}"


def per_unit(number: Exact, currency: str, unit: str = "each") -> str:
    """Return the price of one: ``5.185185 EUR each``, ``0.34 EUR per m``."""
    return f"{measured(number, currency)} {a_unit(unit)}"
