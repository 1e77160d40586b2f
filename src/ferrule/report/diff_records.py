"""The records that differ, as rows: lines, parts and assemblies, sources and supply, everything else.

One fact a row, the sign beside its word. What is told as evidence, or as a designator that moved, has its row there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from ferrule.compute.compare import Comparison
from ferrule.compute.compare_items import ItemChange, SourceChange
from ferrule.compute.compare_lines import LineChange, Move
from ferrule.compute.compare_supply import Supply
from ferrule.compute.fields import Change, Differing, Sign
from ferrule.model.designators import compact
from ferrule.model.records.part import Source
from ferrule.report.change_words import (
    change_sides,
    item_words,
    ladder,
    line_words,
    path_words,
    source_name,
    source_words,
    whole_words,
)
from ferrule.report.document import Cell, Column, Table
from ferrule.report.wording import counted, listed

__all__ = ["CHANGE", "SIDES", "SIGNS", "Row", "content_tables", "name_of", "signed", "sources_of"]

Row = tuple[Cell, ...]
#: A designator on a line: assembly, item, part, name.
Place = tuple[str, int, str, str]

#: The signs stand beside their words, never in place of them.
SIGNS: dict[Sign, str] = {"added": "+", "removed": "\u2212", "changed": "~"}
CHANGE = (Column("sign", "", rank=1), Column("change", "change"))
SIDES = (Column("what", "what"), Column("before", "before"), Column("after", "after"))
_OF_LINE = (Column("assembly", "assembly"), Column("item", "item", "number"), Column("part", "part"))


def content_tables(found: Comparison) -> Iterator[Table]:
    """Yield what differs in the records themselves."""
    rows = sorted([*_line_rows(found), *map(_move_row, found.moves)], key=_line_place)
    yield Table(key="lines", title="Lines", columns=(*CHANGE, *_OF_LINE, *SIDES), rows=rows)
    yield _reused(found)
    items = (*CHANGE, Column("number", "number"), Column("name", "name", in_text=False), *SIDES)
    yield Table(key="items", title="Parts and assemblies", columns=items, rows=list(_item_rows(found)))
    sources = (*CHANGE, Column("part", "part"), Column("source", "source"), *SIDES)
    yield Table(key="sources", title="Sources", columns=sources, rows=list(_source_rows(found)))
    yield _supply(found)
    records = (*CHANGE, Column("kind", "kind"), Column("record", "record"), *SIDES)
    yield Table(
        key="records", title="Terms, plans and counts", columns=records, rows=list(_record_rows(found))
    )


def name_of(found: Comparison, number: str) -> str:
    """Return the name of an item now, or as it was; empty where it has none."""
    for product in (found.after, found.before):
        item = product.item(number)
        if item is not None:
            return item.name or ""
    return ""


def signed(sign: Sign, word: str = "") -> tuple[str, str]:
    """Return the first two cells of a row: the sign, and its word or a better one."""
    return SIGNS[sign], word or sign


def _field_rows(where: Row, fields: Iterable[Change]) -> Iterator[Row]:
    """Yield a row for each fact that differs; an entry that came or went has its own sign."""
    for change in fields:
        words = path_words(change.path) + (", order" if change.sort == "order" else "")
        yield (*signed(change.sign), *where, words, *change_sides(change))


def _whole_row(change: Differing[Any], where: Row, what: str, words: str) -> Row:
    """Return the row of a record that came or went."""
    sides = ("", words) if change.sign == "added" else (words, "")
    return (*signed(change.sign), *where, what, *sides)


def _line_rows(found: Comparison) -> Iterator[Row]:
    gone, come = _moved_names(found.moves)
    for change in found.lines:
        line = change.record
        where: Row = (change.assembly, line.item, line.part)
        if change.sign != "changed":
            yield _whole_row(change, where, "line", line_words(line))
            continue
        yield from _field_rows(where, change.fields)
        yield from _designator_rows(change, where, gone, come)


def _moved_names(moves: Iterable[Move]) -> tuple[set[Place], set[Place]]:
    """Return (assembly, item, part, designator) of what left a line for another, and of where it went."""
    kept = list(moves)
    gone = {(move.assembly, *move.before, name) for move in kept for name in move.names}
    come = {(move.assembly, *move.after, name) for move in kept for name in move.names}
    return gone, come


def _designator_rows(change: LineChange, where: Row, gone: set[Place], come: set[Place]) -> Iterator[Row]:
    """Yield designators that came or went for good; those that moved have a row of their own."""
    before, after = change.before, change.after
    if before is None or after is None:
        return
    lost = [n for n in change.lost if (change.assembly, before.item, before.part, n) not in gone]
    gained = [n for n in change.gained if (change.assembly, after.item, after.part, n) not in come]
    if lost:
        yield (*signed("removed"), *where, "designators", compact(lost), "")
    if gained:
        yield (*signed("added"), *where, "designators", "", compact(gained))


def _move_row(move: Move) -> Row:
    sides = [f"item {item}, {part}" for item, part in (move.before, move.after)]
    where = (move.assembly, move.after[0], move.after[1])
    return (*signed("changed", "moved"), *where, f"designators {compact(move.names)}", *sides)


def _line_place(row: Row) -> tuple[str, int]:
    return str(row[2]), int(str(row[3]))


def _reused(found: Comparison) -> Table:
    columns = (
        Column("assembly", "assembly"),
        Column("item", "item", "number"),
        Column("before", "was"),
        Column("after", "is now"),
        Column("hint", "hint"),
    )
    rows: list[Row] = [(r.assembly, r.item, listed(r.before), r.after, r.hint) for r in found.reused]
    return Table(key="item_reused", title="Item references used again", columns=columns, rows=rows)


def _item_rows(found: Comparison) -> Iterator[Row]:
    for change in found.items:
        item = change.record
        where: Row = (change.number, item.name or "")
        if change.sign != "changed":
            yield _whole_row(change, where, change.kind, item_words(item))
            continue
        if change.was:
            yield (*signed("changed", "renamed"), *where, "number", change.was, change.number)
        yield from _field_rows(where, _beside_evidence(change, found))


def _beside_evidence(change: ItemChange, found: Comparison) -> Iterator[Change]:
    """Yield the facts of an item that are not told as evidence."""
    told = {id(row.change) for row in found.evidence}
    return (fact for fact in change.fields if id(fact) not in told)


def _source_rows(found: Comparison) -> Iterator[Row]:
    for change in sorted((*found.sources, *sources_of(found.items)), key=lambda one: one.number):
        where: Row = (change.number, source_name(change.record))
        if change.sign != "changed":
            yield _whole_row(change, where, "source", source_words(change.record))
            continue
        if any(fact.path[0] == "price" for fact in change.fields):
            yield (*signed("changed"), *where, "price breaks", _ladder(change.before), _ladder(change.after))
        told = {id(row.change) for row in found.evidence}
        yield from _field_rows(
            where, (f for f in change.fields if f.path[0] != "price" and id(f) not in told)
        )


def sources_of(items: Iterable[ItemChange]) -> Iterator[SourceChange]:
    """Yield the sources that came and went with their items."""
    for change in items:
        if change.before is None and change.after is not None:
            yield from (SourceChange(number=change.number, before=None, after=s) for s in change.after.source)
        if change.after is None and change.before is not None:
            yield from (
                SourceChange(number=change.number, before=s, after=None) for s in change.before.source
            )


def _ladder(source: Source | None) -> str:
    return "" if source is None else ladder(source.price, source.currency or "")


def _supply(found: Comparison) -> Table:
    columns = (
        Column("part", "part"),
        Column("name", "name", rank=1),
        Column("news", "what is new"),
        Column("before", "before"),
        Column("after", "after"),
    )
    rows: list[Row] = [
        (row.number, name_of(found, row.number), "; ".join(row.news), _makers(row.before), _makers(row.after))
        for row in found.supply
    ]
    return Table(key="supply", title="Supply", columns=columns, rows=rows)


def _makers(supply: Supply | None) -> str:
    if supply is None:
        return ""
    sources = counted(supply.approved, "approved source")
    return f"{sources}, {listed(supply.makers)}" if supply.makers else sources


def _record_rows(found: Comparison) -> Iterator[Row]:
    for change in found.records:
        where: Row = (change.kind, " + ".join(change.name))
        if change.sign != "changed":
            yield _whole_row(change, where, "record", whole_words(change.record))
        yield from _field_rows(where, change.fields)
