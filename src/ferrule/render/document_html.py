"""A document as a fragment of HTML, to stand in a page of somebody else's: no script, no style, nothing fetched."""

from __future__ import annotations

import html
from collections.abc import Iterator

from ferrule.model.text import visible
from ferrule.render.document import LEGEND, shown_cell
from ferrule.report.document import Cell, Column, Document, Table

__all__ = ["as_html"]


def as_html(document: Document) -> str:
    """Return one ``section``: a heading, facts, tables with captions and scoped headings, notes, cautions.

    Classes start with ``ferrule-``; numbers have the class ``ferrule-number``.
    """
    return "\n".join(_lines(document)) + "\n"


def _lines(document: Document) -> Iterator[str]:
    unknown = False
    yield f'<section class="ferrule-{_text(document.key)}">'
    yield f"<h2>{_text(document.title)}</h2>"
    if document.facts:
        yield "<dl>"
        for name, value in document.facts:
            yield f"<dt>{_text(name)}</dt><dd>{_text(shown_cell(value))}</dd>"
        yield "</dl>"
    for table in document.tables:
        rows = [list(row) for row in table.rows]
        unknown = unknown or any(None in row for row in rows)
        yield from _table(table, rows)
    for sentence in [*([LEGEND] if unknown else []), *document.notes]:
        yield f"<p>{_text(sentence)}</p>"
    for sentence in document.cautions:
        yield f'<p class="ferrule-caution">{_text(sentence)}</p>'
    yield "</section>"


def _table(table: Table, rows: list[list[Cell]]) -> Iterator[str]:
    shown = [i for i, column in enumerate(table.columns) if column.in_text]
    columns = [table.columns[i] for i in shown]
    yield f'<table class="ferrule-table" data-table="{_text(table.key)}">'
    yield f"<caption>{_text(table.title or table.key)}</caption>"
    heads = "".join(f'<th scope="col"{_class(column)}>{_heading(column)}</th>' for column in columns)
    yield f"<thead><tr>{heads}</tr></thead>"
    yield "<tbody>"
    for row in rows:
        cells = "".join(f"<td{_class(table.columns[i])}>{_text(shown_cell(row[i]))}</td>" for i in shown)
        yield f"<tr>{cells}</tr>"
    yield "</tbody>"
    yield "</table>"
    for note in table.notes:
        yield f"<p>{_text(note)}</p>"


def _heading(column: Column) -> str:
    """Return a heading; one that says nothing on a screen has its key, for who cannot see the column."""
    return _text(column.heading or column.key)


def _class(column: Column) -> str:
    return ' class="ferrule-number"' if column.kind == "number" else ""


def _text(text: str) -> str:
    return html.escape(visible(text), quote=True)
