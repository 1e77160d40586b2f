"""What changed between two revisions of a product, as a reviewer asks: by what identifies things, never by place.

Equal are records that say the same: moved to another file, put in another order, or written otherwise (1.50
for 1.5, 1000 mm for 1 m) they are no change, and are counted. Every fact that differs is told once, where it
stands; what follows from it (supply, reach, safety, questions) is told beside it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping

from msgspec import Struct

from ferrule.compute.compare_approvals import ChangeKind, Content, kinds_of
from ferrule.compute.compare_evidence import (
    DutyChange,
    EvidenceChange,
    SafetyTouch,
    compare_duty_by_origin,
    compare_evidence,
    compare_safety,
)
from ferrule.compute.compare_items import ItemChange, ItemChanges, SourceChange, compare_items, renamed_items
from ferrule.compute.compare_lines import LineChange, LineChanges, Move, compare_lines
from ferrule.compute.compare_papers import DocumentChange, compare_documents
from ferrule.compute.compare_questions import Question, Seen, questions
from ferrule.compute.compare_reach import Reach, reach, ways_of
from ferrule.compute.compare_records import LISTS, RecordChange, compare_records, pair_list
from ferrule.compute.compare_reuse import ItemReused, item_reused
from ferrule.compute.compare_supply import Supplied, SupplyChange, compare_supply
from ferrule.compute.compare_waivers import WaiverChange, compare_waivers
from ferrule.compute.fields import entry_name
from ferrule.model.product import Home, Product

__all__ = ["Comparison", "Hidden", "Moved", "compare"]


class Moved(Struct, frozen=True, order=True):
    """A record that stands in another file now; paths from the product's folder."""

    kind: str
    name: str
    before: str
    after: str


class Hidden(Struct, frozen=True, kw_only=True):
    """What is no change, counted.

    Records that stand in another file, assemblies whose lines stand in another order, and records that say
    the same in another way.
    """

    moved: tuple[Moved, ...] = ()
    reordered: int = 0
    rewritten: int = 0


class Comparison(Struct, frozen=True, kw_only=True):
    """Everything that differs between two products. Lists are sorted by what they are about."""

    before: Product
    after: Product
    days: tuple[dt.date, dt.date]
    items: tuple[ItemChange, ...]
    lines: tuple[LineChange, ...]
    moves: tuple[Move, ...]
    sources: tuple[SourceChange, ...]
    records: tuple[RecordChange, ...]
    documents: tuple[DocumentChange, ...]
    waivers: tuple[WaiverChange, ...]
    supply: tuple[SupplyChange, ...]
    evidence: tuple[EvidenceChange, ...]
    safety: tuple[SafetyTouch, ...]
    duties: tuple[DutyChange, ...]
    reach: Reach
    questions: tuple[Question, ...]
    reused: tuple[ItemReused, ...]
    #: Kinds of change present, as roles approve them, with what each is about.
    kinds: Mapping[ChangeKind, tuple[str, ...]]
    hidden: Hidden

    @property
    def is_empty(self) -> bool:
        """Return whether nothing changed; what only moved is no change."""
        told = (self.items, self.lines, self.sources, self.records, self.documents, self.waivers)
        return not any(told)


def compare(before: Product, after: Product, days: tuple[dt.date, dt.date]) -> Comparison:
    """Return what changed from one product to the other; waivers are judged on the first and the second day."""
    renamed = renamed_items(before, after)
    items = compare_items(before, after, renamed)
    lines = compare_lines(before, after, renamed)
    records, rewritten = compare_records(before, after)
    hidden = Hidden(
        moved=tuple(sorted(_moved(before, after))),
        reordered=lines.reordered,
        rewritten=items.rewritten + lines.rewritten + rewritten,
    )
    found = _Found(before, after, items, lines, records)
    return found.comparison(days, compare_waivers(before, after, days), hidden, renamed)


class _Found:
    """What differs, and what follows from it."""

    def __init__(
        self,
        before: Product,
        after: Product,
        items: ItemChanges,
        lines: LineChanges,
        records: tuple[RecordChange, ...],
    ) -> None:
        self.before, self.after = before, after
        self.items, self.lines, self.records = items, lines, records
        self.documents = compare_documents(before, after)
        self.ways = ways_of(before, after) if self._touched() else {}
        self.evidence = compare_evidence(items.items, items.sources)
        self.safety = compare_safety((before, after), items.items, items.sources, lines.lines, self.documents)

    def _touched(self) -> set[str]:
        """Return the items that any difference is about."""
        found = {item.number for item in self.items.items} | {
            item.was for item in self.items.items if item.was
        }
        found |= {source.number for source in self.items.sources}
        found |= {line.assembly for line in self.lines.lines}
        found |= {number for document in self.documents for kind, number in document.owners if kind in _ITEMS}
        for record in self.records:
            if record.kind == "tool":
                found |= {
                    number for side in (record.before, record.after) for number in getattr(side, "makes", ())
                }
        return found

    def _supplied(self) -> Supplied:
        return Supplied(
            items=self.items.items, sources=self.items.sources, lines=self.lines.lines, records=self.records
        )

    def _content(self, waivers: tuple[WaiverChange, ...]) -> Content:
        return Content(
            items=self.items.items,
            sources=self.items.sources,
            lines=self.lines.lines,
            records=self.records,
            documents=self.documents,
            evidence=self.evidence,
            safety=self.safety,
            waivers=waivers,
        )

    def _questions(self) -> tuple[Question, ...]:
        return questions(
            Seen(
                before=self.before,
                after=self.after,
                items=self.items.items,
                sources=self.items.sources,
                lines=self.lines.lines,
                documents=self.documents,
                safety=self.safety,
                ways=self.ways,
            )
        )

    def comparison(
        self,
        days: tuple[dt.date, dt.date],
        waivers: tuple[WaiverChange, ...],
        hidden: Hidden,
        renamed: Mapping[str, str],
    ) -> Comparison:
        before, after = self.before, self.after
        return Comparison(
            before=before,
            after=after,
            days=days,
            items=self.items.items,
            lines=self.lines.lines,
            moves=self.lines.moves,
            sources=self.items.sources,
            records=self.records,
            documents=self.documents,
            waivers=waivers,
            supply=compare_supply(before, after, self._supplied(), renamed),
            evidence=self.evidence,
            safety=self.safety,
            duties=compare_duty_by_origin(before, after, self.items.items, self.items.sources),
            reach=reach(before, after, self.ways, self._touched()),
            questions=self._questions(),
            reused=tuple(item_reused(before, after, {line.assembly for line in self.lines.lines})),
            kinds=kinds_of(self._content(waivers)),
            hidden=hidden,
        )


_ITEMS = frozenset({"part", "assembly"})


def _moved(before: Product, after: Product) -> Iterator[Moved]:
    """Yield the records that stand in another file."""
    old, new = _Folder(before), _Folder(after)
    for (kind, name), home in before.homes.items():
        other = after.homes.get((kind, name)) if isinstance(name, str) else None
        if other is not None and other is not home and old.file(home) != new.file(other):
            yield Moved(kind, str(name), old.file(home), new.file(other))
    for kind, field in (*LISTS.items(), ("waiver", "waivers")):
        olds, news = getattr(before, field), getattr(after, field)
        places = [{id(record): index for index, record in enumerate(records)} for records in (olds, news)]
        for one, other in pair_list(kind, olds, news).pairs:
            first, last = (kind, places[0][id(one)]), (kind, places[1][id(other)])
            if first in before.homes and last in after.homes:
                files = old.file(before.homes[first]), new.file(after.homes[last])
                if files[0] != files[1]:
                    yield Moved(kind, " ".join(entry_name(kind, other)), *files)


class _Folder:
    """The folder of a product, which is no news when it is another one."""

    def __init__(self, product: Product) -> None:
        home = product.homes.get(("product", product.head.id))
        self.prefix = home.file.removesuffix("product.toml") if home is not None else ""

    def file(self, home: Home) -> str:
        """Return the path of a record's file from the product's folder."""
        return home.file.removeprefix(self.prefix)
