"""Where lines stand, as several rules ask for it."""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Key, Place
from ferrule.diagnostics.rule import place_of
from ferrule.model.product import Product
from ferrule.model.records.assembly import Effectivity, Line

__all__ = ["each_line", "line_place", "overlap"]


def each_line(product: Product) -> Iterator[tuple[str, int, Line]]:
    """Yield assembly, index and line, assemblies by number, lines in file order."""
    for assembly in sorted(product.lines):
        for index, line in enumerate(product.lines[assembly]):
            yield assembly, index, line


def line_place(product: Product, assembly: str, index: int, *path: Key, key: bool = False) -> Place:
    """Return the place of a line, or of something inside it."""
    return place_of(product, "assembly", assembly, "line", index, *path, key=key)


def overlap(one: Effectivity | None, other: Effectivity | None) -> bool:
    """Return whether two effectivities can hold for the same unit. All ends are inclusive.

    They exclude each other if their days, their serials or their builds do.
    """
    if one is None or other is None:
        return True
    if one.builds and other.builds and not set(one.builds) & set(other.builds):
        return False
    days = _meet(one.from_, one.to, other.from_, other.to)
    return days and _meet(one.from_serial, one.to_serial, other.from_serial, other.to_serial)


def _meet(low: object, high: object, other_low: object, other_high: object) -> bool:
    first = low is None or other_high is None or low <= other_high  # type: ignore[operator]
    return first and (other_low is None or high is None or other_low <= high)  # type: ignore[operator]
