"""The master cartons a SKU is shipped in."""

from __future__ import annotations

from msgspec import Struct

from ferrule.compute.packing import master_cartons as packing_lines
from ferrule.compute.packing import units_in_carton
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
    """Return the master cartons on the lines of a SKU and of phantoms in it, in line order."""
    return [
        Carton(line, units_in_carton(product, line, packing))
        for line, _, packing in packing_lines(product, sku)
    ]


def _packing(product: Product, number: str) -> Packing | None:
    item = product.item(number)
    packing = item.packing if item is not None else None
    return packing if packing is not None and packing.role == "master carton" else None
