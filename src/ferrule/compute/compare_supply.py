"""What a revision does to supply: who is the only maker now, which second source is gone or none in truth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from msgspec import Struct

from ferrule.compute.compare_items import ItemChange, SourceChange
from ferrule.compute.compare_lines import LineChange
from ferrule.compute.compare_records import RecordChange
from ferrule.compute.makers import Shared, is_sole_sourced, makers_behind, shared_by
from ferrule.compute.use import approved, inside, is_bought, use_of
from ferrule.model.product import Product

__all__ = ["Supplied", "Supply", "SupplyChange", "SupplyNews", "compare_supply"]

SupplyNews = Literal[
    "newly sole-source",
    "no longer sole-source",
    "no approved source left",
    "second source gone",
    "second source approved",
    "all sources now one maker",
    "all sources now one plant",
]


#: Fields of a line that say which part is used, and who buys it.
_OF_LINE = frozenset({"part", "fitted", "kitted", "supply", "alternates"})


class Supply(Struct, frozen=True, kw_only=True):
    """How a bought item is supplied: approved sources, the makers known behind them, what they share.

    What is kept for service only is left aside.
    """

    approved: int
    makers: tuple[str, ...]
    sole: bool
    shared: tuple[Shared, str] | None


class SupplyChange(Struct, frozen=True, kw_only=True):
    """Supply of an item before and after; None where it did not, or does not, have to be bought."""

    number: str
    before: Supply | None
    after: Supply | None

    @property
    def news(self) -> tuple[SupplyNews, ...]:
        """Return what a reviewer is told; empty where nothing of weight changed."""
        return tuple(_news(self.before, self.after))


class Supplied(Struct, frozen=True, kw_only=True):
    """The differences that supply may follow from."""

    items: Sequence[ItemChange]
    sources: Sequence[SourceChange]
    lines: Sequence[LineChange]
    records: Sequence[RecordChange]


def compare_supply(
    before: Product, after: Product, found: Supplied, renamed: Mapping[str, str]
) -> tuple[SupplyChange, ...]:
    """Return the items whose supply got better or worse, by number. A new number alone is no news.

    Only what the differences can bear on is looked at.
    """
    asked = _asked(before, after, found)
    old = {renamed.get(number, number): supply for number, supply in _supplies(before, asked)}
    new = dict(_supplies(after, asked))
    rows = (
        SupplyChange(number=number, before=old.get(number), after=new.get(number))
        for number in sorted({*old, *new})
        if old.get(number) != new.get(number)
    )
    return tuple(row for row in rows if row.news)


def _asked(before: Product, after: Product, found: Supplied) -> set[str]:
    """Return every item whose supply may differ: touched, used by a touched line, or with a touched alternate."""
    if any(record.kind in {"firm", "policy"} for record in found.records):
        return {number for product in (before, after) for _, number, _ in product.items()}
    touched = {number for item in found.items for number in (item.number, item.was) if number}
    touched |= {source.number for source in found.sources}
    sides = (
        side
        for line in found.lines
        for side in (line.before, line.after)
        if _matters(line) and side is not None
    )
    touched |= {side.part for side in sides}
    if not touched:
        return set()
    beside = {
        line.part
        for product in (before, after)
        for lines in product.lines.values()
        for line in lines
        if any(alternate.part in touched for alternate in line.alternates)
    }
    return touched | beside | set().union(*(inside(product, *touched) for product in (before, after)))


def _matters(line: LineChange) -> bool:
    return line.sign != "changed" or any(change.path[0] in _OF_LINE for change in line.fields)


def _supplies(product: Product, asked: set[str]) -> Iterator[tuple[str, Supply]]:
    for number in sorted(asked):
        item = product.item(number)
        if item is None or item.service or not is_bought(product, number, item):
            continue
        kept = [source for _, source in approved(item)]
        yield (
            number,
            Supply(
                approved=len(kept),
                makers=tuple(sorted(makers_behind(product, item))),
                sole=is_sole_sourced(product, item, use_of(product).spots.get(number, ())),
                shared=shared_by(kept),
            ),
        )


def _news(before: Supply | None, after: Supply | None) -> Iterator[SupplyNews]:
    if after is None:
        return
    was_sole = before is not None and before.sole
    if after.sole and not was_sole:
        yield "newly sole-source"
    if was_sole and not after.sole and after.approved:
        yield "no longer sole-source"
    if before is not None:
        yield from _second_source(before.approved, after.approved)
    if after.shared is not None and (
        before is None or before.shared is None or before.shared[0] != after.shared[0]
    ):
        yield "all sources now one maker" if after.shared[0] == "maker" else "all sources now one plant"


def _second_source(before: int, after: int) -> Iterator[SupplyNews]:
    if before and not after:
        yield "no approved source left"
    if before > 1 and after == 1:
        yield "second source gone"
    if before == 1 and after > 1:
        yield "second source approved"
