"""``ferrule export``."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Literal

import click

from ferrule.cli.options import one, source_options, today_option

__all__ = ["command"]


@click.command("export")
@click.argument("what", type=click.Choice(["list", "sources", "purchase"]))
@click.argument("name", required=False)
@click.option(
    "--to",
    "path",
    required=True,
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="File to write; its ending says the form: .csv, .xlsx, .parquet or .cdx.json (CycloneDX).",
)
@click.option("--qty", type=click.IntRange(1), default=1, show_default=True, help="How many of the assembly.")
@click.option(
    "--for-spreadsheet",
    "guarded",
    is_flag=True,
    help="CSV for spreadsheet programs: texts that would run as a formula get an apostrophe.",
)
@click.option(
    "--version",
    type=click.Choice(["1.6", "1.7"]),
    default="1.6",
    show_default=True,
    help="Version of CycloneDX.",
)
@source_options
@today_option
def command(
    what: Literal["list", "sources", "purchase"],
    name: str | None,
    path: Path,
    qty: int,
    guarded: bool,
    version: Literal["1.6", "1.7"],
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
) -> None:
    """Write a list of parts, all sources, or a plan's purchases for other programs.

    NAME is the assembly of a list, else the only SKU, or the plan of a purchase, else the only one. Numbers are
    exact, unknown cells empty. Beside a CSV its Table Schema is written. `import` reads a list back as it was.
    """
    from ferrule.app import exporting as use
    from ferrule.source.products import open_products

    form = use.form_of(path)
    if guarded and form != "csv":
        raise click.UsageError("--for-spreadsheet is for .csv; other forms hold texts as texts")
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    wish = use.Wish(what=what, name=name, qty=Decimal(qty), today=today, version=version, guarded=guarded)
    for written in use.write_export(path, *use.export_bytes(opened.read(), wish, form)):
        click.echo(f"wrote {written}", err=True)
