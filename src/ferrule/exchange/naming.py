"""Part numbers for lines that have none: from what tells the part apart, so that the next reading gives the same."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container

from ferrule.exchange.recognised import Line
from ferrule.exchange.words import folded
from ferrule.model.component_value import component_value
from ferrule.model.designators import class_of

__all__ = ["identity_of", "number_for", "number_of"]

_MOST = 64
_ODD = re.compile(r"[^A-Za-z0-9._+]+")
#: Signs whose loss would make one part of two (1 µF is no F), after compatibility forms are made plain.
_SPELT = str.maketrans({"\u03bc": "u", "\u03a9": "R", "±": "+-", "°": "deg", "×": "x", "%": "pct"})  # noqa: RUF001


def identity_of(line: Line) -> tuple[str, ...]:
    """Return what tells the part of a line apart, first word saying by what; lines that agree are one part.

    Its own part number, else maker and maker's number, else seller and the seller's, else value with footprint
    and kind of designator, else its name. A line with none of these stands alone by its place.
    """
    if line.part:
        return ("part", folded(line.part))
    for supply in line.supplies:
        if supply.maker_part:
            return ("maker", folded(supply.maker), folded(supply.maker_part))
    for supply in line.supplies:
        if supply.seller_part:
            return ("seller", folded(supply.seller), folded(supply.seller_part))
    if line.value:
        return ("value", _letters(line), _same_value(line), folded(line.footprint), folded(line.name))
    if line.name:
        return ("name", folded(line.name), folded(line.footprint))
    return ("place", str(line.place))


def number_of(line: Line) -> str:
    """Return the words a part number of a line is made of, before they are made safe."""
    if line.part:
        return line.part
    for supply in line.supplies:
        if supply.maker_part:
            return supply.maker_part
    for supply in line.supplies:
        if supply.seller_part:
            return supply.seller_part
    if line.value:
        return "-".join(word for word in (_letters(line), line.value, _package(line.footprint)) if word)
    return line.name or f"row-{line.place.row}"


def number_for(words: str, taken: Container[str]) -> str:
    """Return an identifier made of words that is not in ``taken`` (folded ones), numbered from 2 if it has to be."""
    spelt = unicodedata.normalize("NFKD", words).translate(_SPELT).encode("ascii", "ignore").decode()
    safe = _ODD.sub("-", spelt).strip("-._+")[:_MOST].rstrip("-._+") or "part"
    number, found = 1, safe
    while found.casefold() in taken:
        number += 1
        ending = f"-{number}"
        found = safe[: _MOST - len(ending)] + ending
    return found


def _same_value(line: Line) -> str:
    """Return a value so that two ways of writing it (4k7, 4.7 kOhm) are the same, where a designator says what it is."""
    number = component_value(line.value) if _letters(line) in {"R", "C", "L"} else None
    return folded(line.value) if number is None else str(number)


def _letters(line: Line) -> str:
    classes = {class_of(name) for name in line.designators.names} - {""}
    return classes.pop() if len(classes) == 1 else ""


def _package(footprint: str) -> str:
    """Return the size of a chip package that a footprint names (0603), else nothing."""
    found = re.search(r"(?<![0-9])(01005|0201|0402|0603|0805|1206|1210|1812|2010|2512)(?![0-9])", footprint)
    return found[1] if found else ""
