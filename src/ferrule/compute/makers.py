"""How many makers really stand behind a part: what looks like two sources may be one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from ferrule.compute.use import Spot, approved
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Part, Source

__all__ = ["Shared", "is_sole_sourced", "makers_behind", "shared_by"]

Shared = Literal["maker", "plant"]


def _maker(product: Product, source: Source) -> str | None:
    """Return who makes what a source sells: the maker stated, or a seller that is a maker or factory itself."""
    if source.maker is not None:
        return source.maker
    seller = product.firms.get(source.seller or "")
    return source.seller if seller is not None and {"maker", "factory"} & set(seller.roles) else None


def makers_behind(product: Product, item: Item) -> set[str]:
    """Return the known makers behind the approved sources of an item."""
    return {maker for _, source in approved(item) if (maker := _maker(product, source)) is not None}


def is_sole_sourced(product: Product, item: Item, spots: Iterable[Spot]) -> bool:
    """Return whether a bought item has approved sources and at most one maker behind them.

    Not so where every one of its lines (``spots``) has an approved alternate from another maker, for a class
    that the policy calls a commodity, and for what is kept for service only.
    """
    if item.service or (isinstance(item, Part) and item.class_ in product.policy.commodities):
        return False
    makers = makers_behind(product, item)
    if len(makers) > 1 or next(approved(item), None) is None:
        return False
    return not _has_alternate(product, makers, list(spots))


def _has_alternate(product: Product, makers: set[str], spots: list[Spot]) -> bool:
    """Return whether every line has an approved alternate from another maker."""
    return bool(spots) and all(
        any(
            alternate.approved is not None
            and (other := product.item(alternate.part)) is not None
            and makers_behind(product, other) - makers
            for alternate in spot.line.alternates
        )
        for spot in spots
    )


def shared_by(sources: Iterable[Source]) -> tuple[Shared, str] | None:
    """Return what two or more sources have in common, maker before plant, and its name; None for nothing."""
    kept = list(sources)
    makers = {source.maker for source in kept}
    plants = {source.plant for source in kept}
    if len(kept) < 2:
        return None
    if len(makers) == 1 and (maker := makers.pop()) is not None:
        return "maker", maker
    if len(plants) == 1 and (plant := plants.pop()) is not None:
        return "plant", plant
    return None
