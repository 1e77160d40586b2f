"""Documents as plain text, CSV or JSON. A pipe gets every character; a terminal gets wrapped columns."""

from __future__ import annotations

import csv
import io
import itertools
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from ferrule.model.columns import width, wrap
from ferrule.model.exact import in_full, shown, shown_amount
from ferrule.model.text import guarded, visible
from ferrule.report.document import Amount, Cell, Column, Document, Share, Table

Row = TypeVar("Row", bound=tuple[Cell, ...])

__all__ = ["FORMAT_VERSION", "LEGEND", "as_csv", "as_dict", "as_json", "as_text", "shown_cell"]

FORMAT_VERSION = 1
UNKNOWN = "?"
LEGEND = "? = not known"
NOTHING = "none"
_GAP = "  "
_INDENT = "  "
_NARROWEST = 12
_READABLE = 20  # a text column is not made narrower than this to keep one that may be left out
_WHOLE = 40  # what is copied in one piece may make columns go that may be left out, up to this width
_NUMBER = re.compile(
    r"-?[0-9,]*|\?"
)  # whole, none or not known: stands where others have what is before their point
_SAMPLE = 200  # rows of a streamed outline that decide its column widths


def as_text(document: Document, columns: int | None = None) -> Iterator[str]:
    """Yield the lines of a document, laid out for ``columns`` (None: as wide as it needs); nothing is cut.

    An outline is streamed: its columns are as wide as its first rows need, later rows may stick out, and
    it is never wrapped. A legend follows where something is not known.
    """
    unknown = _Watch()
    yield from _wrapped_line(visible(document.title), columns)
    for name, value in unknown.over(document.facts):
        yield from _wrapped_line(f"{name}: {shown_cell(value)}", columns)
    for table in document.tables:
        yield ""
        if table.title:
            yield visible(table.title)
        rows = unknown.over(table.rows)
        yield from _table(table, rows, columns) if table.depth is None else _outline(table, rows)
        yield from _sentences(table.notes, columns)
    legend = (LEGEND,) if unknown.found else ()
    last = (*legend, *document.notes, *document.cautions)
    if last:
        yield ""
    yield from _sentences(last, columns)


class _Watch:
    """Remembers whether a row that went by had something unknown in it."""

    def __init__(self) -> None:
        self.found = False

    def over(self, rows: Iterable[Row]) -> Iterator[Row]:
        """Yield the rows unchanged."""
        for row in rows:
            self.found = self.found or None in row
            yield row


def shown_cell(cell: Cell) -> str:
    """Return a cell as people read it."""
    if cell is None:
        return UNKNOWN
    if isinstance(cell, Amount):
        text = shown_amount(cell.number, cell.places)
        return text.rstrip("0").rstrip(".") if cell.trim and "." in text else text
    if isinstance(cell, Share):
        return f"{shown_amount(Fraction(cell.number) * 100, cell.places)} %"
    return shown(cell) if isinstance(cell, Decimal | Fraction) else visible(str(cell))


def _sentences(sentences: Iterable[str], columns: int | None) -> Iterator[str]:
    for sentence in sentences:
        yield from _wrapped_line(visible(sentence), columns)


def _wrapped_line(line: str, columns: int | None) -> Iterator[str]:
    """Yield a line of cleaned text, what does not fit indented below it."""
    if columns is None:
        yield line
        return
    first, *others = wrap(line, max(_NARROWEST, columns - len(_INDENT)))
    yield first
    yield from (_INDENT + other for other in others)


def _table(table: Table, rows: Iterable[tuple[Cell, ...]], limit: int | None) -> Iterator[str]:
    cells = [[shown_cell(cell) for cell in row] for row in rows]
    if not cells:
        yield NOTHING
        return
    kept = [
        i
        for i, column in enumerate(table.columns)
        if column.in_text and (column.heading or any(row[i] for row in cells))
    ]
    points = _points(cells, table.columns)
    cells = [_on_points(row, points) for row in cells]
    kept, dropped = _that_fit(kept, _widths(cells, table.columns), table.columns, limit)
    columns = [table.columns[i] for i in kept]
    cells = [[row[i] for i in kept] for row in cells]
    widths = _fitted(_widths(cells, columns), columns, limit)
    yield from _wrapped([column.heading for column in columns], widths, columns)
    yield _GAP.join("-" * w for w in widths)
    for row in cells:
        yield from _wrapped(row, widths, columns)
    named = [table.columns[i].heading for i in dropped if table.columns[i].heading]
    if named:
        names = ", ".join(named)
        yield from _sentences([f"too narrow for: {names}"], limit)


def _that_fit(
    kept: list[int], widths: Sequence[int], columns: Sequence[Column], limit: int | None
) -> tuple[list[int], list[int]]:
    """Return the columns that fit when text is as narrow as it can be, and those left out by their rank."""
    room = [_WHOLE if column.whole else _READABLE for column in columns]
    least = [min(w, room[i]) if columns[i].kind == "text" else w for i, w in enumerate(widths)]
    dropped: list[int] = []
    while limit is not None and sum(least[i] for i in kept) + len(_GAP) * (len(kept) - 1) > limit:
        worst = max(kept, key=lambda i: (columns[i].rank, i), default=None)
        if worst is None or not columns[worst].rank:
            break
        kept = [i for i in kept if i != worst]
        dropped.append(worst)
    return kept, sorted(dropped)


def _outline(table: Table, rows: Iterator[tuple[Cell, ...]]) -> Iterator[str]:
    """Yield an outline: the column after the depth is indented by it, the depth itself is shown as a number."""
    depth = table.depth or 0
    columns = table.columns

    def cells(row: tuple[Cell, ...]) -> list[str]:
        shown = [shown_cell(cell) for cell in row]
        shown[depth + 1] = _INDENT * (int(shown[depth]) - 1) + shown[depth + 1]
        return shown

    sample = [cells(row) for row in itertools.islice(rows, _SAMPLE)]
    points = _points(sample, columns)
    sample = [_on_points(row, points) for row in sample]
    widths = _widths(sample, columns)
    yield _line([column.heading for column in columns], widths, columns)
    yield _GAP.join("-" * w for w in widths)
    for row in sample:
        yield _line(row, widths, columns)
    for later in rows:
        yield _line(_on_points(cells(later), points), widths, columns)


def _points(rows: Sequence[Sequence[str]], columns: Sequence[Column]) -> list[int]:
    """Return how many places from its point on each column of numbers needs, 0 for text."""
    return [
        max((_after_point(row[i]) for row in rows), default=0) if column.kind == "number" else 0
        for i, column in enumerate(columns)
    ]


def _after_point(number: str) -> int:
    return len(number) - number.find(".") if "." in number else 0


def _on_points(row: Sequence[str], points: Sequence[int]) -> list[str]:
    """Return cells with blanks that line numbers up on their points; words and dates keep to the edge."""
    return [
        cell + " " * (after - _after_point(cell))
        if after and ("." in cell or _NUMBER.fullmatch(cell))
        else cell
        for cell, after in zip(row, points, strict=True)
    ]


def _widths(rows: Sequence[Sequence[str]], columns: Sequence[Column]) -> list[int]:
    return [max([width(c.heading), *(width(row[i]) for row in rows)]) for i, c in enumerate(columns)]


def _fitted(widths: list[int], columns: Sequence[Column], limit: int | None) -> list[int]:
    """Return widths that fit: the widest text columns give way first, those kept whole last, numbers never."""
    fitted = list(widths)
    texts = [i for i, column in enumerate(columns) if column.kind == "text"]
    for giving in ([i for i in texts if not columns[i].whole], texts):
        while limit is not None and sum(fitted) + len(_GAP) * (len(fitted) - 1) > limit:
            widest = max(giving, key=lambda i: fitted[i], default=None)
            if widest is None or fitted[widest] <= _NARROWEST:
                break
            fitted[widest] -= 1
    return fitted


def _pad(text: str, columns: int, kind: str) -> str:
    blank = " " * max(0, columns - width(text))
    return blank + text if kind == "number" else text + blank


def _line(cells: Sequence[str], widths: Sequence[int], columns: Sequence[Column]) -> str:
    padded = [_pad(cell, w, column.kind) for cell, w, column in zip(cells, widths, columns, strict=True)]
    return _GAP.join(padded).rstrip()


def _wrapped(row: Sequence[str], widths: Sequence[int], columns: Sequence[Column]) -> Iterator[str]:
    parts = [
        [cell] if column.kind == "number" or width(cell) <= w else wrap(cell, w)
        for cell, w, column in zip(row, widths, columns, strict=True)
    ]
    for lines in itertools.zip_longest(*parts, fillvalue=""):
        yield _line(lines, widths, columns)


def _plain_value(cell: Cell) -> str | int | None:
    """Return a cell as machines read it: numbers in full, as text."""
    if isinstance(cell, Amount):
        return in_full(cell.number)
    if isinstance(cell, Share):
        return in_full(Fraction(cell.number) * 100)
    if isinstance(cell, Decimal | Fraction):
        return shown(cell)
    return visible(cell) if isinstance(cell, str) else cell


def as_dict(document: Document) -> dict[str, Any]:
    """Return a document ready for JSON: exact numbers as text of plain decimals, what is not known as None."""
    made: dict[str, Any] = {"format_version": FORMAT_VERSION, "report": document.key}
    made |= {name.replace(" ", "_"): _plain_value(value) for name, value in document.facts}
    for table in document.tables:
        keys = [column.key for column in table.columns]
        made[table.key] = [dict(zip(keys, map(_plain_value, row), strict=True)) for row in table.rows]
    under = [note for table in document.tables for note in table.notes]
    made["notes"] = [visible(note) for note in (*under, *document.notes)]
    if document.cautions:
        made["cautions"] = [visible(caution) for caution in document.cautions]
    return made


def as_json(document: Document) -> str:
    """Return one JSON document with a final newline."""
    return json.dumps(as_dict(document), indent=2, ensure_ascii=False) + "\n"


def as_csv(table: Table, *, for_spreadsheet: bool = False) -> Iterator[str]:
    """Yield the lines of a table as CSV (RFC 4180, without line ends): keys as header, "?" for the unknown.

    ``for_spreadsheet``: text that a spreadsheet program would run as a formula gets an apostrophe before it. Numbers are
    never touched.
    """
    yield _csv_line(column.key for column in table.columns)
    for row in table.rows:
        yield _csv_line(_guarded(cell) if for_spreadsheet else _plain_text(cell) for cell in row)


def _plain_text(cell: Cell) -> str:
    value = _plain_value(cell)
    return UNKNOWN if value is None else str(value)


def _guarded(cell: Cell) -> str:
    """Return a cell with text made inert."""
    text = _plain_text(cell)
    return guarded(text) if isinstance(cell, str) else text


def _csv_line(cells: Iterable[str]) -> str:
    buffer = io.StringIO()
    csv.writer(buffer, lineterminator="").writerow(list(cells))
    return buffer.getvalue()
