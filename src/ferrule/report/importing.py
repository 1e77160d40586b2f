"""`import` in words: what was read, doubted, set aside and missing, what it comes to, and what was written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import Struct

from ferrule.exchange.cells import Price
from ferrule.exchange.drafted import Drafted
from ferrule.exchange.recognised import Counts, Doubt, Line, Recognised
from ferrule.load.renewing import Change
from ferrule.load.toml_text import value_text
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import counted

__all__ = ["Outcome", "describe_import"]

_WRITTEN = (
    "Every source is on trial until somebody approves it. `ferrule check` lists what is missing before this can be "
    "bought; commit the files, the hidden memory of the sheet included."
)
_ROW = Column("row", "where", whole=True)


class Outcome(Struct, frozen=True, kw_only=True):
    """What became of a sheet: its records, the files they make, what a newer sheet changed, whether it was written."""

    drafted: Drafted
    files: Mapping[str, bytes]
    changes: tuple[Change, ...] = ()
    written: bool = False


def describe_import(
    found: Recognised, outcome: Outcome | None = None, *, everything: bool = False
) -> Document:
    """Return the report on a sheet; without ``outcome`` nothing was to be written.

    ``everything`` adds the lines as they were read.
    """
    doubts = [*found.doubts, *(outcome.drafted.doubts if outcome is not None else ())]
    tables = [
        _columns(found),
        _reconcile(found.counts),
        _stated(found),
        _missing(found),
        _doubts(doubts),
        _aside(found),
        _changes(outcome.changes if outcome is not None else ()),
        _files(outcome.files if outcome is not None else {}),
    ]
    if everything:
        tables.insert(0, _lines(found.lines))
    return Document(
        key="import",
        title=f"{found.file}: {_summary(found, len(doubts))}",
        facts=(("read as", found.form), *((f"note {at}", note) for at, note in enumerate(found.notes, 1))),
        tables=tuple(table for table in tables if table is not None),
        notes=_notes(outcome),
    )


def _summary(found: Recognised, doubts: int) -> str:
    counts = found.counts
    words = [counted(counts.lines, "line"), counted(len(found.tables), "table")]
    if counts.assemblies:
        words.append(counted(counts.assemblies, "assembly", "assemblies"))
    return ", ".join([*words, counted(doubts, "doubt") if doubts else "no doubts"])


def _notes(outcome: Outcome | None) -> tuple[str, ...]:
    if outcome is None:
        return (
            "Nothing was written. --to FOLDER writes parts, assemblies, firms and the memory of the sheet.",
        )
    notes = []
    reused = outcome.drafted.reused
    if reused:
        names = ", ".join(reused[:12]) + (" ..." if len(reused) > 12 else "")
        notes.append(f"{counted(len(reused), 'part')} of the product used as they are: {names}.")
    notes.append(_WRITTEN if outcome.written else "Dry run: nothing was written.")
    return tuple(notes)


def _columns(found: Recognised) -> Table:
    several = len(found.tables) > 1
    rows = [
        (
            (table.sheet or table.title) if several else "",
            column.letters,
            column.heading or "no heading",
            column.meaning,
            column.sure,
        )
        for table in found.tables
        for column in table.columns
    ]
    return Table(
        key="columns",
        title="What each column was taken for",
        columns=(
            Column("table", "table" if several else ""),
            Column("column", "column"),
            Column("heading", "heading"),
            Column("means", "means"),
            Column("sure", "by"),
        ),
        rows=rows,
        notes=("Another meaning: --save-mapping FILE, edit it, then --mapping FILE.",),
    )


def _reconcile(counts: Counts) -> Table:
    rows: list[tuple[Cell, ...]] = [
        ("part lines", counts.lines, ""),
        ("of them assemblies", counts.assemblies, ""),
        ("of them not fitted", counts.not_fitted, ""),
        ("total quantity of plain numbers", counts.quantity, "as written, not multiplied down the levels"),
        ("of lines that are fitted", counts.fitted_quantity, ""),
        ("lines with another amount", len(counts.left_out), "such as 10 cm; not in the total"),
        ("lines without a quantity", len(counts.unread), ""),
        ("designators differ from quantity", len(counts.differ), ""),
        ("rows that give another source", counts.sources, "no lines of their own"),
        ("lines without any source", len(counts.without_source), ""),
        ("lines without a price", None if counts.unpriced is None else len(counts.unpriced), ""),
    ]
    for cost in counts.costs:
        unit = cost.currency or "no currency said"
        rows.append(
            (
                f"quantity times price, {unit}",
                Amount(cost.by_price, 4, trim=True),
                f"{cost.priced} priced lines",
            )
        )
        if cost.by_line_totals is not None:
            rows.append(
                (f"sum of written line totals, {unit}", Amount(cost.by_line_totals, 4, trim=True), "")
            )
    return Table(
        key="reconcile",
        title="To reconcile with the sheet",
        columns=(Column("what", "what"), Column("count", "count", "number"), Column("remark", "")),
        rows=rows,
    )


def _stated(found: Recognised) -> Table | None:
    rows = [
        (
            str(one.place),
            one.label,
            one.of,
            one.scope,
            Amount(one.amount, 4, trim=True),
            None if one.computed is None else Amount(one.computed, 4, trim=True),
            {True: "agrees", False: "differs", None: "cannot be compared"}[one.agrees],
        )
        for one in found.stated
    ]
    columns = (
        _ROW,
        Column("label", "label"),
        Column("of", "of"),
        Column("scope", "covers", rank=1),
        Column("stated", "stated", "number"),
        Column("computed", "computed", "number"),
        Column("verdict", ""),
    )
    return Table(key="stated", title="Totals the sheet states", columns=columns, rows=rows) if rows else None


def _missing(found: Recognised) -> Table | None:
    rows = [(what, count, len(found.lines)) for what, count in found.missing]
    columns = (
        Column("what", "not said"),
        Column("lines", "by lines", "number"),
        Column("of", "of", "number"),
    )
    return Table(key="missing", title="Missing for buying", columns=columns, rows=rows) if rows else None


def _doubts(doubts: Iterable[Doubt]) -> Table | None:
    rows = [
        (str(one.place) if one.place is not None else "the whole sheet", one.about, one.what)
        for one in doubts
    ]
    columns = (_ROW, Column("about", "about"), Column("doubt", "doubt"))
    return (
        Table(key="doubts", title="Doubts: please look at these", columns=columns, rows=rows)
        if rows
        else None
    )


def _aside(found: Recognised) -> Table | None:
    rows: list[tuple[Cell, ...]] = [(str(one.place), one.kind, one.text, one.why) for one in found.aside]
    rows += [(f"{found.file}: {sheet or 'the sheet'}", "sheet", "", why) for sheet, why in found.sheets_aside]
    columns = (_ROW, Column("kind", "kind"), Column("text", "text"), Column("why", "why"))
    return Table(key="aside", title="Set aside: no part lines", columns=columns, rows=rows) if rows else None


def _changes(changes: Iterable[Change]) -> Table | None:
    rows = [
        (
            "taken" if one.taken else "kept ours",
            one.subject,
            one.field,
            _said(one.before),
            _said(one.sheet),
            "" if one.taken else _said(one.now),
        )
        for one in sorted(changes, key=lambda change: change.taken)
    ]
    columns = (
        Column("verdict", ""),
        Column("subject", "record"),
        Column("field", "field"),
        Column("before", "sheet before"),
        Column("sheet", "sheet now"),
        Column("ours", "ours"),
    )
    title = "What the newer sheet changes"
    return Table(key="changes", title=title, columns=columns, rows=rows) if rows else None


def _said(value: Any) -> str:
    """Return a value as a file has it; a whole record by its fields, shortened."""
    if value is None:
        return "not said"
    text = value if isinstance(value, str) else value_text(value)
    return text if len(text) <= 60 else f"{text[:59]}…"


def _files(files: Mapping[str, bytes]) -> Table | None:
    rows = [
        (path, data.count(b"\n"))
        for path, data in sorted(files.items())
        if not path.startswith(".ferrule/schema")
    ]
    columns = (Column("file", "file", whole=True), Column("lines", "lines of text", "number"))
    return Table(key="files", title="Files", columns=columns, rows=rows) if rows else None


def _lines(lines: Iterable[Line]) -> Table:
    rows = [_line(line) for line in lines]
    keys = (
        "row level item part name value designators quantity unit fitted maker maker_part seller price currency note"
    ).split()
    columns = tuple(
        _ROW if key == "row" else Column(key, key.replace("_", " "), "number" if key == "price" else "text")
        for key in keys
    )
    return Table(key="lines", title="Lines", columns=columns, rows=rows)


def _line(line: Line) -> tuple[Cell, ...]:
    supply = line.supplies[0] if line.supplies else None
    price: Price | None = supply.price if supply is not None else None
    return (
        str(line.place),
        line.level,
        line.item,
        line.part,
        line.name,
        line.value,
        line.designators.written.replace("\n", " "),
        line.quantity.written,
        line.unit or line.quantity.unit,
        {True: "yes", False: "no", None: "open"}[line.fitted],
        supply.maker if supply is not None else "",
        supply.maker_part if supply is not None else "",
        supply.seller if supply is not None else "",
        price.amount if price is not None else None,
        supply.currency if supply is not None else "",
        line.note,
    )
