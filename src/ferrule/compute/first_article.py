"""First articles: every characteristic of every part below an assembly, measured against its limits."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

from ferrule.compute.explode import explode
from ferrule.compute.structure import Structure
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity, UnitMismatch, convert
from ferrule.model.records.part import Characteristic, Item

__all__ = ["Checked", "Measured", "first_articles", "is_open"]

Measured = Literal["within", "outside", "not measured", "cannot be compared"]


class Checked(Struct, frozen=True, kw_only=True):
    """One characteristic of one part: what its limits say of the values measured, and what was decided."""

    part: str
    rev: str | None
    index: int
    characteristic: Characteristic
    measured: Measured

    @property
    def contradicts(self) -> bool:
        """Return whether the decision and the values disagree."""
        state = self.characteristic.first_article
        return (state == "passed" and self.measured == "outside") or (
            state == "failed" and self.measured == "within"
        )


def first_articles(product: Product, structure: Structure, root: str) -> tuple[Checked, ...]:
    """Return the characteristics of ``root`` and everything below it, by part. Raises ValueError on a ring."""
    numbers = [root, *explode(product, structure, root).quantities]
    return tuple(
        Checked(part=number, rev=item.rev, index=at, characteristic=one, measured=_measured(one))
        for number in sorted(numbers)
        for item in [product.item(number)]
        if item is not None
        for at, one in enumerate(item.characteristic)
    )


def is_open(item: Item) -> tuple[int, ...]:
    """Return the indexes of an item's characteristics whose first article is not passed."""
    return tuple(at for at, one in enumerate(item.characteristic) if one.first_article != "passed")


def _measured(one: Characteristic) -> Measured:
    if not one.measured:
        return "not measured"
    if one.low is None and one.high is None:
        return "cannot be compared"
    try:
        inside = all(_within(value, one.low, one.high) for value in one.measured)
    except UnitMismatch:
        return "cannot be compared"
    return "within" if inside else "outside"


def _within(value: Quantity, low: Quantity | None, high: Quantity | None) -> bool:
    return all(
        sign * (convert(value, limit.unit).number - limit.number) >= 0 for sign, limit in _limits(low, high)
    )


def _limits(low: Quantity | None, high: Quantity | None) -> Iterable[tuple[int, Quantity]]:
    if low is not None:
        yield 1, low
    if high is not None:
        yield -1, high
