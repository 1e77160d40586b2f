"""``ferrule leave``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, placed, source_options, table_option, today_option

__all__ = ["command"]


@click.command("leave")
@click.argument("firm")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    firm: str,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show what moving away from a factory or maker takes: weeks, money, and what only it knows or holds.

    Ways run side by side from today; the longest decides. A tool that is ours by paper and must be handed over is
    proven again elsewhere, any other is made anew.
    """
    from ferrule.app.leaving import leave_firm
    from ferrule.report.leaving import describe_leaving
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    done = leave_firm(opened.read(), firm, today)
    document = describe_leaving(done.product, done.found, done.label, placed(done.where, opened.top))
    print_document(document, form, done.faults, table=table)
