"""The master cartons a SKU is shipped in."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.structure import known_quantity
from ferrule.diagnostics.rules._use import inside
from ferrule.model.product import Product
from ferrule.model.records.assembly import Line
from ferrule.model.records.part import Packing

__all__ = ["Carton", "carton_numbers", "master_cartons"]


class Carton(Struct, frozen=True):
    """The line of a master carton, and the units in a full one; None where that is not stated, or no whole number."""

    line: Line
    units: int | None


def carton_numbers(product: Product, sku: str) -> list[str]:
    """Return the numbers of the master cartons of a SKU, sorted: its own, else those anywhere inside it."""
    own = {carton.line.part for carton in master_cartons(product, sku)}
    return sorted(own or {part for part in inside(product, sku) if _packing(product, part) is not None})


def master_cartons(product: Product, sku: str) -> list[Carton]:
    """Return the master cartons on the lines of a SKU and of phantoms in it, in line order.

    Several stand side by side where a carton changed. Those of other assemblies inside hold other units.
    """
    found = []
    for line in _packed(product, sku, {sku}):
        packing = _packing(product, line.part)
        if packing is not None:
            found.append(Carton(line, packing.units or _by_line(product, line)))
    return found


def _packed(product: Product, assembly: str, seen: set[str]) -> Iterator[Line]:
    """Yield the lines that come along; a phantom's lines count as the parent's."""
    for line in product.lines.get(assembly, ()):
        if not (line.fitted or line.kitted):
            continue
        yield line
        below = product.assemblies.get(line.part)
        if below is not None and below.phantom and line.part not in seen:
            yield from _packed(product, line.part, seen | {line.part})


def _packing(product: Product, number: str) -> Packing | None:
    item = product.item(number)
    packing = item.packing if item is not None else None
    return packing if packing is not None and packing.role == "master carton" else None


def _by_line(product: Product, line: Line) -> int | None:
    share = known_quantity(product, line)
    units = 1 / Fraction(share) if share else None
    return int(units) if units is not None and units.denominator == 1 else None
