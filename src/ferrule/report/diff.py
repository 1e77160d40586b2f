"""`diff` in words: what changed between two revisions, in the order in which a reviewer asks.

Lines, parts, sources and supply, other records, effects in money and days, compliance, reach, documents,
approvals and waivers, cash, totals. A section without rows is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ferrule.compute.compare import Comparison
from ferrule.compute.compare_approvals import Need, needs
from ferrule.compute.compare_evidence import EvidenceChange
from ferrule.compute.compare_items import ItemChange, SourceChange
from ferrule.compute.compare_lines import LineChange, Move
from ferrule.compute.compare_questions import Question
from ferrule.compute.compare_supply import Supply
from ferrule.compute.compare_waivers import WaiverChange
from ferrule.compute.fields import Change, Differing, Sign
from ferrule.model.designators import compact
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.records.part import Source
from ferrule.report.change_words import (
    change_sides,
    item_words,
    ladder,
    line_words,
    path_words,
    record_words,
    source_name,
    source_words,
    value_words,
)
from ferrule.report.document import Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, counted, listed

__all__ = ["SIGNS", "describe_diff"]

Row = tuple[Cell, ...]
#: A designator on a line: assembly, item, part, name.
Place = tuple[str, int, str, str]

#: The signs stand beside their words, never in place of them.
SIGNS: dict[Sign, str] = {"added": "+", "removed": "\u2212", "changed": "~"}
_CHANGE = (Column("sign", "", rank=1), Column("change", "change"))
_OF_LINE = (Column("assembly", "assembly"), Column("item", "item", "number"), Column("part", "part"))
_SIDES = (Column("what", "what"), Column("before", "before"), Column("after", "after"))


def describe_diff(
    found: Comparison,
    sides: tuple[str, str],
    effects: Sequence[Table] = (),
    notes: Sequence[str] = (),
) -> Document:
    """Return what changed from one revision to another; ``sides`` are their names.

    ``effects`` are tables of what it does to cost, dates and stock, in their order; those whose key starts
    with ``cash`` stand last before the totals.
    """
    cash = [table for table in effects if table.key.startswith("cash")]
    other = [table for table in effects if not table.key.startswith("cash")]
    tables = (*_content(found), *other, *_consequences(found), *cash, _totals(found))
    kept = tuple(table for table in tables if table.rows)
    nothing = () if kept else ("nothing changed",)
    return Document(
        key="diff",
        title=f"Changes of {found.after.head.name}",
        facts=(("product", found.after.head.id), ("from", sides[0]), ("to", sides[1])),
        tables=kept,
        notes=(*nothing, *_hidden(found), *notes),
        cautions=(CAUTION,) if effects or found.safety or found.evidence or found.duties else (),
    )


def _content(found: Comparison) -> Iterator[Table]:
    """Yield what differs in the records themselves."""
    rows = sorted([*_line_rows(found), *map(_move_row, found.moves)], key=_line_place)
    yield Table(key="lines", title="Lines", columns=(*_CHANGE, *_OF_LINE, *_SIDES), rows=rows)
    yield _reused(found)
    items = (*_CHANGE, Column("number", "number"), Column("name", "name", in_text=False), *_SIDES)
    yield Table(key="items", title="Parts and assemblies", columns=items, rows=list(_item_rows(found)))
    sources = (*_CHANGE, Column("part", "part"), Column("source", "source"), *_SIDES)
    yield Table(key="sources", title="Sources", columns=sources, rows=list(_source_rows(found)))
    yield _supply(found)
    records = (*_CHANGE, Column("kind", "kind"), Column("record", "record"), *_SIDES)
    yield Table(
        key="records", title="Terms, plans and counts", columns=records, rows=list(_record_rows(found))
    )


def _consequences(found: Comparison) -> Iterator[Table]:
    """Yield what follows for compliance, for what is above, for papers and for whoever approves."""
    yield from (_safety(found), _evidence(found), _duties(found), _questions(found))
    yield from (_reach(found), _documents(found), _approvals(found), _waivers(found))


def _name(found: Comparison, number: str) -> str:
    """Return the name of an item now, or as it was; empty where it has none."""
    for product in (found.after, found.before):
        item = product.item(number)
        if item is not None:
            return item.name or ""
    return ""


def _start(sign: Sign, word: str = "") -> tuple[str, str]:
    return SIGNS[sign], word or sign


def _field_rows(where: Row, fields: Iterable[Change]) -> Iterator[Row]:
    """Yield a row for each fact that differs; an entry that came or went has its own sign."""
    for change in fields:
        words = path_words(change.path) + (", order" if change.sort == "order" else "")
        yield (*_start(change.sign), *where, words, *change_sides(change))


def _whole_row(change: Differing[Any], where: Row, what: str, words: str) -> Row:
    """Return the row of a record that came or went."""
    sides = ("", words) if change.sign == "added" else (words, "")
    return (*_start(change.sign), *where, what, *sides)


# --- records -------------------------------------------------------------------------------------------


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
        yield (*_start("removed"), *where, "designators", compact(lost), "")
    if gained:
        yield (*_start("added"), *where, "designators", "", compact(gained))


def _move_row(move: Move) -> Row:
    sides = [f"item {item}, {part}" for item, part in (move.before, move.after)]
    where = (move.assembly, move.after[0], move.after[1])
    return (*_start("changed", "moved"), *where, f"designators {compact(move.names)}", *sides)


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
            yield (*_start("changed", "renamed"), *where, "number", change.was, change.number)
        yield from _field_rows(where, _beside_evidence(change, found))


def _beside_evidence(change: ItemChange, found: Comparison) -> Iterator[Change]:
    """Yield the facts of an item that are not told as evidence."""
    told = {id(row.change) for row in found.evidence}
    return (fact for fact in change.fields if id(fact) not in told)


def _source_rows(found: Comparison) -> Iterator[Row]:
    for change in sorted((*found.sources, *_of_items(found.items)), key=lambda one: one.number):
        where: Row = (change.number, source_name(change.record))
        if change.sign != "changed":
            yield _whole_row(change, where, "source", source_words(change.record))
            continue
        if any(fact.path[0] == "price" for fact in change.fields):
            yield (*_start("changed"), *where, "price breaks", _ladder(change.before), _ladder(change.after))
        told = {id(row.change) for row in found.evidence}
        yield from _field_rows(
            where, (f for f in change.fields if f.path[0] != "price" and id(f) not in told)
        )


def _of_items(items: Iterable[ItemChange]) -> Iterator[SourceChange]:
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
        (row.number, _name(found, row.number), "; ".join(row.news), _makers(row.before), _makers(row.after))
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
            yield _whole_row(change, where, "record", record_words(change.record))
        yield from _field_rows(where, change.fields)


# --- what follows --------------------------------------------------------------------------------------


def _safety(found: Comparison) -> Table:
    columns = (
        Column("number", "number"),
        Column("name", "name", rank=1),
        Column("before", "critical before"),
        Column("after", "after"),
        Column("where", "touched in"),
        Column("reason", "why it is critical", rank=2),
    )
    rows: list[Row] = [
        (
            row.number,
            _name(found, row.number),
            "" if row.before is None else value_words(row.before),
            "" if row.after is None else value_words(row.after),
            ", ".join(row.where),
            row.reason,
        )
        for row in found.safety
    ]
    return Table(key="safety", title="Safety-critical items touched", columns=columns, rows=rows)


def _evidence(found: Comparison) -> Table:
    columns = (
        *_CHANGE,
        Column("number", "number"),
        Column("source", "", rank=1),
        *_SIDES,
    )
    return Table(
        key="evidence", title="Evidence", columns=columns, rows=[_evidence_row(row) for row in found.evidence]
    )


def _evidence_row(row: EvidenceChange) -> Row:
    signs: dict[str, Sign] = {"lost": "removed", "new": "added", "touched": "changed"}
    source = " from ".join(word for word in row.source if word)
    words = path_words(row.change.path)
    return (*_start(signs[row.state], row.state), row.number, source, words, *change_sides(row.change))


def _duties(found: Comparison) -> Table:
    columns = (
        Column("number", "number"),
        Column("destination", "into"),
        Column("code", "tariff number"),
        Column("origins_before", "origin before"),
        Column("origins_after", "after"),
        Column("rates_before", "duty before"),
        Column("rates_after", "after"),
    )
    rows: list[Row] = [
        (
            row.number,
            row.destination,
            " / ".join(dict.fromkeys(code or "?" for code in row.codes)),
            *(", ".join(origins) for origins in row.origins),
            *(_rates(rates) for rates in row.rates),
        )
        for row in found.duties
    ]
    return Table(key="duty_by_origin", title="Duty changed by origin", columns=columns, rows=rows)


def _rates(rates: Iterable[Percent | None]) -> str:
    return ", ".join("?" if rate is None else str(rate) for rate in rates)


def _questions(found: Comparison) -> Table:
    columns = (Column("kind", "about"), Column("subject", "of"), Column("question", "to be answered"))
    rows: list[Row] = [(one.kind, one.subject, _question(one)) for one in found.questions]
    return Table(key="questions", title="Questions", columns=columns, rows=rows)


def _question(one: Question) -> str:
    facts = listed([path_words((fact,)) for fact in one.facts])
    names = listed(one.facts)
    return {
        "form-fit-function": f"content changed ({facts}) under the same number and revision: can old and new be mixed"
        " in every use? If so raise the revision, else give a new number",
        "interchange": f"it replaces {names}: can both be mixed, both ways or new for old only? `interchange` does not say",
        "certificate": f"does it still hold? Inside changed: {names}",
        "battery tests": f"the cell changed ({facts}) and the test summary is the old one: must it be tested again?",
        "safety approval": f"touched in {names}, approvals as before: do they still hold?",
        "market": "a new market: which evidence does it ask for?",
    }[one.kind]


def _reach(found: Comparison) -> Table:
    columns = (
        Column("number", "number"),
        Column("name", "name", rank=1),
        Column("kind", "kind"),
        Column("affected", "affected"),
    )
    groups = (
        ("SKU", "affected", found.reach.skus),
        ("SKU", "not affected", found.reach.untouched_skus if found.reach.touched else ()),
        ("assembly", "affected", found.reach.assemblies),
    )
    rows: list[Row] = [
        (number, _name(found, number), kind, affected) for kind, affected, group in groups for number in group
    ]
    return Table(key="reach", title="Where it is used", columns=columns, rows=rows)


def _documents(found: Comparison) -> Table:
    columns = (
        Column("file", "file"),
        Column("content", "content"),
        Column("of", "of"),
        Column("before", "before", in_text=False),
        Column("after", "after", in_text=False),
    )
    rows: list[Row] = [
        (
            row.file,
            "is gone" if row.after is None else "is there now" if row.before is None else "changed",
            ", ".join(f"{kind} {number}" for kind, number in row.owners),
            row.before or "",
            row.after or "",
        )
        for row in found.documents
    ]
    return Table(key="documents", title="Documents", columns=columns, rows=rows)


def _approvals(found: Comparison) -> Table:
    columns = (
        Column("kind", "kind of change"),
        Column("roles", "approved by"),
        Column("subjects", "because of"),
    )
    rows: list[Row] = [
        (need.kind, _people(found.after, need), ", ".join(need.subjects))
        for need in needs(found.after, found.kinds)
    ]
    return Table(key="approvals", title="Approvals this content needs", columns=columns, rows=rows)


def _people(product: Product, need: Need) -> str:
    if not need.roles:
        return "no role approves this"
    roles = [(name, product.roles[name].people) for name in need.roles]
    return "; ".join(f"{name} ({', '.join(people)})" if people else name for name, people in roles)


def _waivers(found: Comparison) -> Table:
    columns = (
        Column("sign", "", rank=1),
        Column("change", "change"),
        Column("rule", "rule"),
        Column("subject", "subject"),
        Column("until", "until"),
        Column("renewals", "renewals", "number"),
        Column("reason", "reason", rank=2),
    )
    return Table(
        key="waivers", title="Waivers", columns=columns, rows=[_waiver_row(row) for row in found.waivers]
    )


def _waiver_row(row: WaiverChange) -> Row:
    waiver = row.record
    limits = [str(limit) for limit in (waiver.until, waiver.serials) if limit is not None]
    limits += [f"{waiver.quantity} units"] if waiver.quantity is not None else []
    until = ", ".join(limits) or None
    return (
        *_start(row.sign, ", ".join(row.events)),
        waiver.rule,
        waiver.subject,
        until,
        waiver.renewals,
        waiver.reason,
    )


# --- totals --------------------------------------------------------------------------------------------


def _totals(found: Comparison) -> Table:
    columns = (
        Column("what", "what"),
        Column("added", "+ added", "number"),
        Column("removed", "\u2212 removed", "number"),
        Column("changed", "~ changed", "number"),
    )
    groups: tuple[tuple[str, Sequence[Differing[Any]]], ...] = (
        ("lines", found.lines),
        ("parts and assemblies", found.items),
        ("sources", [*found.sources, *_of_items(found.items)]),
        ("other records", found.records),
        ("waivers", found.waivers),
    )
    rows: list[Row] = [(what, *_count(changes)) for what, changes in groups if changes]
    if found.documents:
        states = [(row.before is None, row.after is None) for row in found.documents]
        rows.append(
            (
                "documents",
                states.count((True, False)),
                states.count((False, True)),
                states.count((False, False)),
            )
        )
    return Table(key="totals", title="Totals", columns=columns, rows=rows)


def _count(changes: Iterable[Differing[Any]]) -> tuple[int, int, int]:
    signs = [change.sign for change in changes]
    return signs.count("added"), signs.count("removed"), signs.count("changed")


def _hidden(found: Comparison) -> Iterator[str]:
    """Yield what is not shown because it is no change."""
    hidden = found.hidden
    if hidden.moved:
        yield f"{counted(len(hidden.moved), 'record')} moved to other files: no change"
    if hidden.reordered:
        yield f"lines of {counted(hidden.reordered, 'assembly', 'assemblies')} in another order: no change"
    if hidden.rewritten:
        yield f"{counted(hidden.rewritten, 'record')} written differently with the same meaning: no change"
