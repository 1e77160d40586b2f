"""Printing a document in the asked form."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ferrule.cli.options import width
from ferrule.render.document import as_csv, as_json, as_text
from ferrule.report.document import Document

__all__ = ["document_text", "only_table", "print_document"]

#: Forms that are made whole, for a page or a comment.
_WHOLE = ("markdown", "html")
#: Columns of a picture where nothing limits the width.
_PIPE = 120


def print_document(
    document: Document,
    form: str | None,
    faults: int = 0,
    svg: Path | None = None,
    table: str | None = None,
) -> None:
    """Write a document to standard output; say on standard error if the product has faults of form.

    CSV holds the table asked for, else the first; for a spreadsheet it begins with a byte order mark. The
    picture goes under a text, and to the file ``svg`` if one is named. Raises FerruleError, before anything is
    printed, where the document has no such table, where it has no picture and where the file cannot be written.
    """
    if table is not None:
        document = only_table(document, table)
    if svg is not None:
        _write_svg(document, svg)
    if form == "json":
        click.echo(as_json(document), nl=False)
    elif form in {"csv", "spreadsheet"}:
        _print_csv(document, for_spreadsheet=form == "spreadsheet")
    elif form in _WHOLE:
        click.echo(document_text(document, form), nl=False)
    else:
        for line in as_text(document, width()):
            click.echo(line)
        _print_pictures(document)
    if faults:
        words = "1 fault" if faults == 1 else f"{faults} faults"
        click.echo(f"note: {words} in the files; `ferrule check` shows what was left out", err=True)


def _print_csv(document: Document, *, for_spreadsheet: bool) -> None:
    if for_spreadsheet and _is_unicode():
        click.echo("\ufeff", nl=False)  # without it spreadsheet programs take UTF-8 for another encoding
    for line in as_csv(document.tables[0], for_spreadsheet=for_spreadsheet) if document.tables else ():
        click.echo(line)


def _is_unicode() -> bool:
    return (sys.stdout.encoding or "").lower().replace("-", "") in {"utf8", "utf16"}


def document_text(document: Document, form: str | None, table: str | None = None) -> str:
    """Return a document in a form as one text, laid out for no width; raises FerruleError without such a table."""
    if table is not None:
        document = only_table(document, table)
    if form == "markdown":
        from ferrule.render.document_markdown import as_markdown

        return as_markdown(document)
    if form == "html":
        from ferrule.render.document_html import as_html

        return as_html(document)
    if form == "json":
        return as_json(document)
    lines = as_text(document) if form != "csv" else as_csv(document.tables[0]) if document.tables else ()
    return "".join(f"{line}\n" for line in lines)


def only_table(document: Document, key: str) -> Document:
    """Return a document with one of its tables and nothing under it; raises FerruleError if it has none such."""
    from msgspec.structs import replace

    from ferrule.errors import FerruleError

    kept = tuple(table for table in document.tables if table.key == key)
    if not kept:
        names = ", ".join(table.key for table in document.tables)
        raise FerruleError(f"this answer has no table called {key}", f"tables: {names}")
    return replace(document, tables=kept, notes=(), pictures=())


def _print_pictures(document: Document) -> None:
    from ferrule.chart.marks import as_marks

    for picture in document.pictures:
        click.echo("")
        for line in as_marks(picture, width() or _PIPE, ascii_only=not _is_unicode()):
            click.echo(line)


def _write_svg(document: Document, path: Path) -> None:
    from ferrule.chart.svg import as_svg
    from ferrule.errors import FerruleError
    from ferrule.source.writing import write_file

    if not document.pictures:
        raise FerruleError("this answer has no picture", "leave out --svg")
    write_file(path, as_svg(document.pictures[0]).encode())
