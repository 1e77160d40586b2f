"""Documents as plain text, CSV or JSON. A pipe gets every character; a terminal gets wrapped columns."""

from __future__ import annotations

import csv
import io
import json
import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from ferrule.model.number import plain
from ferrule.model.text import visible
from ferrule.report.document import Cell, Column, Document, Table

__all__ = ["FORMAT_VERSION", "as_csv", "as_json", "as_text"]

FORMAT_VERSION = 1
UNKNOWN = "?"
_GAP = "  "
_NARROWEST = 12
_SAMPLE = 200  # rows of a streamed outline that decide its column widths


def as_text(document: Document, width: int | None = None) -> Iterator[str]:
    """Yield the lines of a document, laid out for ``width`` columns (None: as wide as it needs).

    An outline is streamed: its columns are as wide as its first rows need, later rows may stick out.
    """
    yield visible(document.title)
    for name, value in document.facts:
        yield f"{name}: {_shown(value)}"
    for table in document.tables:
        yield ""
        if table.title:
            yield table.title
        yield from _stream(table) if table.depth is not None else _table(table, width)
    if document.notes or document.cautions:
        yield ""
    for note in (*document.notes, *document.cautions):
        yield from textwrap.wrap(visible(note), width or 10_000, subsequent_indent="  ") or [""]


def _shown(cell: Cell) -> str:
    if cell is None:
        return UNKNOWN
    return plain(cell) if isinstance(cell, Decimal) else visible(str(cell))


def _columns_wide(text: str) -> int:
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1
        for char in text
    )


def _table(table: Table, width: int | None) -> Iterator[str]:
    rows = [[_shown(cell) for cell in row] for row in table.rows]
    table, rows = _without_empty(table, rows)
    points = [
        _after_point(rows, i) if column.kind == "number" else 0 for i, column in enumerate(table.columns)
    ]
    for row in rows:
        for i, column in enumerate(table.columns):
            if column.kind == "number":
                row[i] = _on_point(row[i], points[i])
    widths = [
        max([len(c.heading), *(_columns_wide(row[i]) for row in rows)]) for i, c in enumerate(table.columns)
    ]
    widths = _fitted(widths, table.columns, width)
    yield _line([c.heading for c in table.columns], widths, table.columns)
    yield _GAP.join("-" * w for w in widths)
    for row in rows:
        yield from _wrapped(row, widths, table.columns)


def _without_empty(table: Table, rows: list[list[str]]) -> tuple[Table, list[list[str]]]:
    """Return a table without the columns that have no heading and nothing to say."""
    kept = [i for i, column in enumerate(table.columns) if column.heading or any(row[i] for row in rows)]
    slim = Table(key=table.key, columns=tuple(table.columns[i] for i in kept), rows=())
    return slim, [[row[i] for i in kept] for row in rows]


def _after_point(rows: Sequence[Sequence[str]], column: int) -> int:
    return max((len(row[column]) - row[column].find(".") for row in rows if "." in row[column]), default=0)


def _on_point(text: str, after: int) -> str:
    have = len(text) - text.find(".") if "." in text else 0
    return text + " " * (after - have)


def _fitted(widths: list[int], columns: Sequence[Column], width: int | None) -> list[int]:
    """Return widths that fit: the widest text columns give way first, numbers never."""
    fitted = list(widths)
    texts = [i for i, column in enumerate(columns) if column.kind == "text"]
    while width is not None and sum(fitted) + len(_GAP) * (len(fitted) - 1) > width:
        widest = max(texts, key=lambda i: fitted[i], default=None)
        if widest is None or fitted[widest] <= _NARROWEST:
            break
        fitted[widest] -= 1
    return fitted


def _pad(text: str, width: int, kind: str) -> str:
    blank = " " * max(0, width - _columns_wide(text))
    return blank + text if kind == "number" else text + blank


def _line(cells: Sequence[str], widths: Sequence[int], columns: Sequence[Column]) -> str:
    padded = [_pad(cell, w, column.kind) for cell, w, column in zip(cells, widths, columns, strict=True)]
    return _GAP.join(padded).rstrip()


def _wrapped(row: Sequence[str], widths: Sequence[int], columns: Sequence[Column]) -> Iterator[str]:
    parts = [
        [cell] if column.kind == "number" else textwrap.wrap(cell, w, break_on_hyphens=False) or [""]
        for cell, w, column in zip(row, widths, columns, strict=True)
    ]
    for number in range(max(map(len, parts))):
        yield _line([part[number] if number < len(part) else "" for part in parts], widths, columns)


def _stream(table: Table) -> Iterator[str]:
    """Yield an outline: the column after the depth is indented by it, the depth itself is shown as a number."""
    indented = (table.depth or 0) + 1
    rows = iter(table.rows)
    first = [row for row, _ in zip(rows, range(_SAMPLE), strict=False)]

    def cells(row: tuple[Cell, ...]) -> list[str]:
        shown = [_shown(cell) for cell in row]
        shown[indented] = "  " * (int(shown[table.depth or 0]) - 1) + shown[indented]
        return shown

    sample = [cells(row) for row in first]
    widths = [
        max([len(c.heading), *(_columns_wide(row[i]) for row in sample)]) for i, c in enumerate(table.columns)
    ]
    yield _line([c.heading for c in table.columns], widths, table.columns)
    yield _GAP.join("-" * w for w in widths)
    for row in sample:
        yield _line(row, widths, table.columns)
    for later in rows:
        yield _line(cells(later), widths, table.columns)


def _plain_value(cell: Cell) -> str | int | None:
    return plain(cell) if isinstance(cell, Decimal) else visible(cell) if isinstance(cell, str) else cell


def as_json(document: Document) -> str:
    """Return one JSON document: numbers as strings of plain decimals, what is not known as null."""
    made: dict[str, Any] = {"format_version": FORMAT_VERSION, "report": document.key}
    made |= {name.replace(" ", "_"): _plain_value(value) for name, value in document.facts}
    for table in document.tables:
        keys = [column.key for column in table.columns]
        made[table.key] = [dict(zip(keys, map(_plain_value, row), strict=True)) for row in table.rows]
    made["notes"] = [visible(note) for note in document.notes]
    if document.cautions:
        made["cautions"] = list(document.cautions)
    return json.dumps(made, indent=2, ensure_ascii=False) + "\n"


def as_csv(table: Table) -> Iterator[str]:
    """Yield the lines of a table as CSV (RFC 4180, line feeds): keys as header, unknown cells empty."""
    yield _csv_line(column.key for column in table.columns)
    for row in table.rows:
        yield _csv_line("" if cell is None else str(_plain_value(cell)) for cell in row)


def _csv_line(cells: Iterable[str]) -> str:
    buffer = io.StringIO()
    csv.writer(buffer, lineterminator="").writerow(list(cells))
    return buffer.getvalue()
