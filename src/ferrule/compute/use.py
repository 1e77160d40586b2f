"""What the structure uses and what has to be bought for it, whatever day it is.

Dates, serials and builds that limit a line are left aside: what is used later has to be bought later too.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly, Line
from ferrule.model.records.part import Item, Part, Source, Supply

__all__ = [
    "Same",
    "Spot",
    "Use",
    "approved",
    "bought",
    "free_issue",
    "inside",
    "is_bought",
    "supplies",
    "use_of",
]

#: Classes that nobody buys: they are content, not goods.
_CONTENT = ("firmware", "document")


class Spot(Struct, frozen=True):
    """One line of an assembly, with its index in the file."""

    assembly: str
    index: int
    line: Line


class Use(Struct, frozen=True):
    """The use of items: the lines that name each, what has to be had from outside, what is in a SKU.

    A line counts when its part is fitted or comes in the kit. ``needed`` leaves out what a quoted factory
    price already holds; ``shipped`` holds everything inside a SKU, approved alternates included.
    """

    spots: Mapping[str, tuple[Spot, ...]]
    needed: frozenset[str]
    shipped: frozenset[str]


class Same:
    """A product as a key: equal only to itself."""

    __slots__ = ("product",)

    def __init__(self, product: Product) -> None:
        self.product = product

    def __hash__(self) -> int:
        return id(self.product)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.product is self.product


def use_of(product: Product) -> Use:
    """Return the use of all items; asked by many rules in a row, it is worked out once."""
    return _use_of(Same(product))


@functools.lru_cache(maxsize=1)
def _use_of(key: Same) -> Use:
    product = key.product
    spots: dict[str, list[Spot]] = {}
    for assembly in sorted(product.lines):
        for index, line in enumerate(product.lines[assembly]):
            if line.fitted or line.kitted:
                spots.setdefault(line.part, []).append(Spot(assembly, index, line))
    return Use(
        {part: tuple(found) for part, found in spots.items()}, _needed(product, spots), _shipped(product)
    )


def _children(product: Product, assembly: str) -> Iterator[str]:
    for line in product.lines.get(assembly, ()):
        if line.fitted or line.kitted:
            yield line.part
            yield from (alternate.part for alternate in line.alternates if alternate.approved is not None)


def _bought_out(product: Product, assembly: str) -> Iterable[str]:
    """Return what an assembly needs from outside: under one quoted price, only what the price leaves out."""
    price = product.assemblies[assembly].price
    return price.excludes if price is not None else _children(product, assembly)


def _needed(product: Product, spots: Mapping[str, object]) -> frozenset[str]:
    tops = [number for number, assembly in product.assemblies.items() if number not in spots or assembly.sale]
    kept = [number for _, number, item in product.items() if item.service]
    found: set[str] = set()
    waiting = [*tops, *kept]
    while waiting:
        number = waiting.pop()
        if number in found:
            continue
        found.add(number)
        if number in product.assemblies:
            waiting += _bought_out(product, number)
    return frozenset(found)


def _shipped(product: Product) -> frozenset[str]:
    return inside(product, *product.skus())


def inside(product: Product, *tops: str) -> frozenset[str]:
    """Return everything inside some assemblies at all levels, themselves included."""
    found: set[str] = set()
    waiting = list(tops)
    while waiting:
        number = waiting.pop()
        if number not in found:
            found.add(number)
            waiting += _children(product, number)
    return frozenset(found)


def approved(item: Item) -> Iterator[tuple[int, Source]]:
    """Yield the approved sources of an item with their indexes, in file order."""
    return ((index, source) for index, source in enumerate(item.source) if source.status == "approved")


def supplies(product: Product, number: str) -> frozenset[Supply | None]:
    """Return the modes of supply of an item over all its lines; the item's own where no line uses it."""
    item = product.item(number)
    own = item.supply if item is not None else None
    spots = use_of(product).spots.get(number, ())
    return frozenset(spot.line.supply or own for spot in spots) if spots else frozenset((own,))


def free_issue(product: Product, number: str) -> bool:
    """Return whether an item comes without payment everywhere, with its value for customs stated."""
    item = product.item(number)
    return item is not None and item.customs_value is not None and supplies(product, number) == {"free-issue"}


def bought(product: Product) -> Iterator[tuple[str, str, Item]]:
    """Yield kind, number and record of what has to be bought, sorted by number.

    That is every part the structure needs, and every assembly with sources and without lines; not content
    such as firmware, not what we make ourselves, not free issue with a customs value.
    """
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if is_bought(product, number, item):
            yield kind, number, item


def is_bought(product: Product, number: str, item: Item) -> bool:
    """Return whether an item has to be bought."""
    return (
        number in use_of(product).needed
        and _is_leaf(product, number, item)
        and not free_issue(product, number)
    )


def _is_leaf(product: Product, number: str, item: Item) -> bool:
    if item.in_house:
        return False
    if isinstance(item, Part):
        return item.class_ not in _CONTENT
    return (
        isinstance(item, Assembly)
        and bool(item.source)
        and item.price is None
        and not product.lines.get(number)
    )
