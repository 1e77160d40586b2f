"""A document as Markdown for a pull request: hidden marker, tables, a limit. Text from files stays text."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from ferrule.render.document import LEGEND, shown_cell
from ferrule.render.markdown import LIMIT, escape, marker
from ferrule.report.document import Cell, Column, Document, Table

__all__ = ["as_markdown"]

#: A table with more rows is folded, so that the comment stays short to look at.
_FOLDED_FROM = 20
#: A cell in a comment is cut after so many characters; the other forms have it whole.
_CELL = 600
#: Never left out for length: what is asked of the reader, what the change does, and how much there is.
_ALWAYS = ("gate", "totals")


def as_markdown(document: Document, limit: int = LIMIT) -> str:
    """Return a document as a comment of at most ``limit`` bytes.

    The first line is a hidden marker by which a job finds the comment again. Where the whole is too long, the
    longest tables lose rows first, whole rows from their end, and say how many.
    """
    tables = [(table, [list(row) for row in table.rows]) for table in document.tables]
    longest = max((len(rows) for _, rows in tables), default=0)
    low, high = 0, longest
    while low < high:
        middle = (low + high + 1) // 2
        if _size(document, tables, middle) <= limit:
            low = middle
        else:
            high = middle - 1
    return _written(document, tables, low)


def _size(document: Document, tables: Sequence[tuple[Table, list[list[Cell]]]], most: int) -> int:
    return len(_written(document, tables, most).encode())


def _written(document: Document, tables: Sequence[tuple[Table, list[list[Cell]]]], most: int) -> str:
    facts = ", ".join(f"{escape(name)} {escape(shown_cell(value))}" for name, value in document.facts)
    parts = [
        f"<!-- ferrule:{document.key}:{marker(_product(document))} -->",
        f"**{escape(document.title)}**",
        "",
    ]
    parts += [facts] if facts else []
    unknown = False
    for table, rows in tables:
        kept = rows if table.key in _ALWAYS else rows[:most]
        unknown = unknown or any(None in row for row in kept)
        parts += ["", *_table(table, kept, len(rows) - len(kept))]
    last = [*([LEGEND] if unknown else []), *document.notes, *document.cautions]
    parts += ["", *itertools.chain.from_iterable((escape(sentence), "") for sentence in last)]
    return "\n".join(parts).rstrip("\n") + "\n"


def _product(document: Document) -> str:
    return next((str(value) for name, value in document.facts if name == "product"), "")


def _table(table: Table, rows: Sequence[Sequence[Cell]], left: int) -> list[str]:
    shown = [i for i, column in enumerate(table.columns) if _is_shown(column, rows, i)]
    columns = [table.columns[i] for i in shown]
    body = [
        f"| {' | '.join(escape(column.heading) for column in columns)} |",
        f"| {' | '.join('---:' if column.kind == 'number' else '---' for column in columns)} |",
        *(f"| {' | '.join(_cell(row[i]) for i in shown)} |" for row in rows),
    ]
    title = escape(table.title or table.key)
    rest = ["", f"and {left:,} more, left out for length"] if left else []
    notes = list(itertools.chain.from_iterable(("", escape(note)) for note in table.notes))
    if len(rows) <= _FOLDED_FROM:
        return [f"**{title}**", "", *(body if rows else []), *rest, *notes]
    summary = f"<details><summary>{title} ({len(rows) + left:,})</summary>"
    return [summary, "", *body, *rest, *notes, "", "</details>"]


def _is_shown(column: Column, rows: Sequence[Sequence[Cell]], index: int) -> bool:
    return column.in_text and bool(column.heading or any(row[index] for row in rows))


def _cell(cell: Cell) -> str:
    text = shown_cell(cell)
    return escape(text if len(text) <= _CELL else text[:_CELL] + "\u2026")
