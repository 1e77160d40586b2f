"""What builds ship and by which lanes, as several rules ask for it. Every plan counts, its scenarios do not."""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.model.product import Product
from ferrule.model.records.plan import Build

__all__ = ["builds", "destinations", "lanes_used"]


def builds(product: Product) -> Iterator[tuple[str, int, Build]]:
    """Yield plan, index and build, plans by id, builds in file order."""
    for plan in sorted(product.plans):
        for index, build in enumerate(product.plans[plan].build):
            yield plan, index, build


def lanes_used(product: Product, sku: str | None = None) -> list[str]:
    """Return the known lanes that builds ship by (those of one SKU, or all), sorted."""
    named = {build.lane for _, _, build in builds(product) if sku in (None, build.sku)}
    return sorted(lane for lane in named if lane is not None and lane in product.lanes)


def destinations(product: Product, sku: str | None = None) -> list[str]:
    """Return the customs territories that builds enter (those of one SKU, or all), sorted."""
    found = {product.lanes[lane].destination for lane in lanes_used(product, sku)}
    return sorted(place for place in found if place)
