"""One recognised line as the fields of a line of ours, and the unit of its part."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from ferrule.exchange.recognised import Doubt, Line
from ferrule.exchange.words import UNIT_WORDS, folded
from ferrule.model.bad_value import BadValue
from ferrule.model.designators import compact, parse_designators
from ferrule.model.text import quoted
from ferrule.model.units import UNITS

__all__ = ["line_fields", "number_value", "unit_of"]

_MOST_SHOWN = 200


def unit_of(line: Line) -> str:
    """Return the unit a line counts its part in: that of the cell, else of the unit column, else each."""
    written = line.quantity.unit or UNIT_WORDS.get(folded(line.unit), "")
    return written if written in UNITS else "each"


def number_value(number: Decimal) -> int | Decimal:
    """Return a number as a file should have it: whole ones without a point."""
    whole = number.to_integral_value()
    return int(whole) if whole == number and number.is_finite() else number


def line_fields(line: Line, part_unit: str) -> tuple[dict[str, Any], list[Doubt]]:
    """Return quantity, designators, whether fitted and note; what cannot be read is left out and doubted.

    ``part_unit`` is the unit its part is counted in; another one is written beside the number.
    """
    fields: dict[str, Any] = {}
    doubts: list[Doubt] = []
    number, unit = line.quantity.number, unit_of(line)
    if number is not None and number > 0:
        value = number_value(number)
        fields["qty"] = value if unit == part_unit else f"{value} {unit}"
    elif line.quantity.written and not line.quantity.as_needed and not line.quantity.not_fitted:
        what = f"{quoted(line.quantity.written)} is no quantity; the line is written without one"
        doubts.append(Doubt(what=what, place=line.place, about="quantity"))
    places = _places(line, doubts)
    if places:
        fields["designators"] = places
    if line.fitted is False or line.quantity.not_fitted:
        fields["fitted"] = False
    note = _note(line, written=bool(places))
    if note:
        fields["note"] = note
    return fields, doubts


def _places(line: Line, doubts: list[Doubt]) -> str:
    if not line.designators.names:
        return ""
    try:
        parse_designators(", ".join(line.designators.names))
    except BadValue as error:
        doubts.append(
            Doubt(
                what=f"{error.message}; the places stand in the line's note",
                place=line.place,
                about="designators",
            )
        )
        return ""
    if len(set(line.designators.names)) == len(line.designators.names):
        return compact(line.designators.names)
    return ", ".join(line.designators.names)


def _note(line: Line, *, written: bool) -> str:
    """Return the sheet's note, and what of the line has no field: odd designators, section, alternates."""
    said = [line.note]
    if line.designators.written and not written:
        said.append(f"designators: {line.designators.written[:_MOST_SHOWN]}")
    if line.section:
        said.append(f"under {quoted(line.section)}")
    if line.alternates:
        said.append(f"or {', '.join(line.alternates)}")
    return "; ".join(" ".join(text.split()) for text in said if text)
