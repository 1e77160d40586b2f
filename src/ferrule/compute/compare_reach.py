"""How far a change reaches: every assembly and SKU above what was touched, on either side, and the SKUs not above it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct

from ferrule.model.product import Product

__all__ = ["Reach", "Ways", "reach", "ways_of"]

#: Item → what has it inside.
Ways = dict[str, set[str]]


class Reach(Struct, frozen=True, kw_only=True):
    """Touched items, and what is above or among them: assemblies that are not sold, SKUs, SKUs not reached."""

    touched: tuple[str, ...]
    assemblies: tuple[str, ...]
    skus: tuple[str, ...]
    untouched_skus: tuple[str, ...]


def ways_of(*products: Product) -> Ways:
    """Return the ways up in all of these products together.

    A line counts when its part is fitted or comes in the kit, whatever its limits; an approved alternate
    counts, and so does the image written into a part.
    """
    ways: Ways = {}
    for product in products:
        for child, parent in _links(product):
            ways.setdefault(child, set()).add(parent)
    return ways


def _links(product: Product) -> Iterator[tuple[str, str]]:
    for assembly, lines in product.lines.items():
        for line in lines:
            if line.fitted or line.kitted:
                yield line.part, assembly
                yield from ((other.part, assembly) for other in line.alternates if other.approved is not None)
    for number, part in product.parts.items():
        if part.programmed is not None:
            yield part.programmed.image, number


def reach(before: Product, after: Product, ways: Ways, touched: Iterable[str]) -> Reach:
    """Return everything above the touched items on either side, each list sorted."""
    first = set(touched)
    found: set[str] = set()
    waiting = sorted(first)
    while waiting:
        number = waiting.pop()
        if number not in found:
            found.add(number)
            waiting += ways.get(number, ())
    skus = {*before.skus(), *after.skus()}
    assemblies = {*before.assemblies, *after.assemblies}
    return Reach(
        touched=tuple(sorted(first)),
        assemblies=tuple(sorted((found & assemblies) - skus)),
        skus=tuple(sorted(found & skus)),
        untouched_skus=tuple(sorted(skus - found)),
    )
