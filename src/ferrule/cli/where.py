"""``ferrule where``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import context_options, format_option, one, source_options, today_option

__all__ = ["command"]


@click.command("where")
@click.argument("part")
@context_options
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    part: str,
    serial: int | None,
    build: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show every assembly and SKU above a part, how many each uses, and every way up."""
    from ferrule.app.structure import open_structure, used_where
    from ferrule.compute.structure import Context
    from ferrule.compute.whereused import ways_up
    from ferrule.report.structure import describe_where
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    asked = open_structure(opened.read(), Context(day=today, serial=serial, build=build))
    found = used_where(asked, part)
    ways = ways_up(asked.structure, part)
    print_document(describe_where(asked.product, found, ways, asked.label), form, asked.faults)
