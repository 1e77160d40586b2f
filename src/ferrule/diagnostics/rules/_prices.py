"""The price lists of a source: its own, those of its pack forms and of its offers."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.diagnostics.finding import Path
from ferrule.model.money import Money
from ferrule.model.quantity import Quantity, UnitMismatch, convert
from ferrule.model.records.part import PriceBreak, Source

__all__ = ["PriceList", "price_lists", "unit_price"]


class PriceList(Struct, frozen=True):
    """Price breaks, their path in the source, the pack they may be for, and words that tell them apart."""

    path: Path
    breaks: tuple[PriceBreak, ...]
    size: Quantity | None
    words: str


def price_lists(source: Source) -> Iterator[PriceList]:
    """Yield the price lists of a source, its own first; empty ones too."""
    main = source.pack[0].size if source.pack else None
    yield PriceList(("price",), source.price, main, "")
    for index, pack in enumerate(source.pack):
        yield PriceList(("pack", index, "price"), pack.price, pack.size, f" in the form {pack.form}")
    for index, offer in enumerate(source.offer):
        yield PriceList(("offer", index, "price"), offer.price, main, f" under {offer.incoterm}")


def unit_price(step: PriceBreak, size: Quantity | None, unit: str) -> tuple[Fraction, Money] | None:
    """Return the exact price of one unit and the amount it came from, or None where it is not known."""
    if step.each is not None:
        return Fraction(step.each.number), step.each
    if step.pack is None or size is None:
        return None
    try:
        content = convert(size, unit) if size.unit else size
    except UnitMismatch:
        return None
    return (Fraction(step.pack.number) / Fraction(content.number), step.pack) if content.number else None
