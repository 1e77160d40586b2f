"""Which parts and assemblies came, went, changed, or go by a new number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal

from msgspec import Struct

from ferrule.compute.fields import Change, Differing, changes, entry_key, entry_keys
from ferrule.compute.meaning import Within, meaning
from ferrule.compute.pairing import pair_up
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Source

__all__ = ["ItemChange", "ItemChanges", "SourceChange", "compare_items", "renamed_items"]

ItemKind = Literal["part", "assembly"]
_APART = frozenset({"source"})


class ItemChange(Differing[Item], frozen=True, kw_only=True):
    """A part or assembly that came, went or changed; its lines and sources are apart.

    ``number`` is the number it has now, or last had; ``was`` the number before, where that is another.
    """

    kind: ItemKind
    number: str
    was: str = ""


class SourceChange(Differing[Source], frozen=True, kw_only=True):
    """A source that came, went or changed, of an item (``number``) that is on both sides."""

    number: str


class ItemChanges(Struct, frozen=True, kw_only=True):
    """All of it, items by number and sources by number. ``rewritten`` counts items that say the same otherwise."""

    items: tuple[ItemChange, ...]
    sources: tuple[SourceChange, ...]
    rewritten: int


def renamed_items(before: Product, after: Product) -> dict[str, str]:
    """Return old number → new number of what goes by another number now: it `replaces` one that is gone.

    Only where that is beyond doubt: one for one, and of one kind. Read the other way round it is the same.
    """
    pairs: set[tuple[str, str]] = set()
    for olds, news in ((before.parts, after.parts), (before.assemblies, after.assemblies)):
        gone, new = olds.keys() - news.keys(), news.keys() - olds.keys()
        pairs |= {(item.replaces, number) for number in new if (item := news[number]).replaces in gone}
        pairs |= {(number, item.replaces) for number in gone if (item := olds[number]).replaces in new}
    firsts, lasts = [old for old, _ in pairs], [new for _, new in pairs]
    return dict(sorted(p for p in pairs if firsts.count(p[0]) == 1 and lasts.count(p[1]) == 1))


def compare_items(before: Product, after: Product, renamed: Mapping[str, str]) -> ItemChanges:
    """Return what differs between the parts and assemblies of two products, their lines left aside."""
    found = _Items(before, after)
    for kind, olds, news in (
        ("part", before.parts, after.parts),
        ("assembly", before.assemblies, after.assemblies),
    ):
        was = {new: old for old, new in renamed.items() if new in news}
        for number in {*olds, *news} - set(was.values()):
            old = was.get(number, number)
            found.compare(kind, number, old, olds.get(old), news.get(number))
    return found.all()


class _Items:
    """The comparison of all items, one after the other."""

    def __init__(self, before: Product, after: Product) -> None:
        self.around = Within(currency=before.head.currency), Within(currency=after.head.currency)
        self.items: list[ItemChange] = []
        self.sources: list[SourceChange] = []
        self.rewritten = 0

    def compare(self, kind: str, number: str, was: str, old: Item | None, new: Item | None) -> None:
        if number == was and (old is new or old == new):
            return
        fields: tuple[Change, ...] = ()
        sources: list[SourceChange] = []
        if old is not None and new is not None:
            fields = tuple(changes(old, new, self.around, skip=_APART))
            sources = list(self._sources(number, old, new))
            if not fields and not sources and number == was:
                self.rewritten += 1
                return
        self.sources += sources
        if old is None or new is None or fields or number != was:
            one: ItemKind = "part" if kind == "part" else "assembly"
            self.items.append(
                ItemChange(
                    kind=one,
                    number=number,
                    before=old,
                    after=new,
                    fields=fields,
                    was=was if was != number else "",
                )
            )

    def _sources(self, number: str, old: Item, new: Item) -> Iterator[SourceChange]:
        around = self._within(0, old), self._within(1, new)
        found = pair_up(old.source, new.source, *_SOURCE_KEYS, content=meaning)
        for one in found.gone:
            yield SourceChange(number=number, before=one, after=None)
        for one, other in found.pairs:
            fields = () if one is other else tuple(changes(one, other, around))
            if fields:
                yield SourceChange(number=number, before=one, after=other, fields=fields)
        for one in found.new:
            yield SourceChange(number=number, before=None, after=one)

    def _within(self, side: int, item: Item) -> Within:
        return Within(unit=item.unit, currency=self.around[side].currency)

    def all(self) -> ItemChanges:
        return ItemChanges(
            items=tuple(sorted(self.items, key=lambda change: (change.number, change.kind))),
            sources=tuple(sorted(self.sources, key=_source_place)),
            rewritten=self.rewritten,
        )


def _source_place(change: SourceChange) -> tuple[str, str, str, str, str]:
    source = change.record
    return change.number, source.maker or "", source.seller or "", source.maker_part or "", change.sign


_SOURCE_KEYS = [lambda source, keys=keys: entry_key(keys, source) for keys in entry_keys("source")]
