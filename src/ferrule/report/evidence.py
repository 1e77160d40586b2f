"""What a figure rests on: the paper or remark that its record names."""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.model.product import Product
from ferrule.model.records.part import Source

__all__ = ["evidence_of"]


def evidence_of(product: Product, home: tuple[str | int, ...]) -> str:
    """Return in words what the record at a place (kind, number, path) rests on; empty where it says nothing."""
    return "; ".join(_found(product, home))


def _found(product: Product, home: tuple[str | int, ...]) -> Iterator[str]:
    kind, number, path = home[0], home[1], home[2:]
    if kind in ("part", "assembly") and path[:1] == ("source",) and len(path) > 1:
        item = product.item(str(number))
        if item is not None and isinstance(path[1], int):
            yield from _of_source(item.source[path[1]])
    elif kind == "assembly" and path[:1] == ("steps",) and isinstance(path[1], int):
        step = product.assemblies[str(number)].steps[path[1]]
        if step.yield_evidence:
            yield f"yield: {step.yield_evidence}"
    elif kind == "assembly" and path[:1] == ("price",):
        price = product.assemblies[str(number)].price
        if price is not None:
            yield from (words for words in (price.quote, price.evidence) if words)
    elif kind == "lane":
        lane = product.lanes.get(str(number))
        if lane is not None and lane.evidence:
            yield lane.evidence
    elif kind == "duty" and isinstance(number, int):
        duty = product.duties[number]
        checked = f"checked {duty.checked}" if duty.checked is not None else "never checked"
        yield from (
            words for words in (duty.evidence, f"{checked} by {duty.checked_by or 'nobody named'}") if words
        )


def _of_source(source: Source) -> Iterator[str]:
    if source.quote:
        until = f" until {source.valid_until}" if source.valid_until is not None else ""
        yield f"quote {source.quote} of {source.quoted or 'no day'}{until}"
    if source.seller_part:
        yield f"seller's number {source.seller_part}"
    yield from (words for words in (source.evidence, source.note) if words)
