"""Printing a document in the asked form."""

from __future__ import annotations

import click

from ferrule.cli.options import width
from ferrule.render.document import as_csv, as_json, as_text
from ferrule.report.document import Document

__all__ = ["print_document"]


def print_document(document: Document, form: str | None, faults: int = 0) -> None:
    """Write a document to standard output; say on standard error if the product has faults of form.

    CSV holds the first table.
    """
    if form == "json":
        click.echo(as_json(document), nl=False)
    elif form == "csv":
        for line in as_csv(document.tables[0]) if document.tables else ():
            click.echo(line)
    else:
        for line in as_text(document, width()):
            click.echo(line)
    if faults:
        words = "1 fault" if faults == 1 else f"{faults} faults"
        click.echo(f"note: {words} in the files; `ferrule check` shows what was left out", err=True)
