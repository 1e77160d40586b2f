"""``ferrule built``."""

from __future__ import annotations

from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, source_options, table_option

__all__ = ["command"]


@click.command("built")
@click.argument("name", required=False)
@click.option("--part", metavar="PART", default="", help="Only units with a recorded lot of this part.")
@click.option("--lot", metavar="LOT", default="", help="Only units with this lot.")
@click.option(
    "--waiver",
    metavar="WAIVER",
    default="",
    help='Only units built under it: its rule, its subject, or both as "RULE SUBJECT".',
)
@click.option("--serial", type=click.IntRange(min=0), help="Only the unit with this number.")
@table_option
@source_options
@format_option("text", "json", "csv")
def command(
    name: str | None,
    part: str,
    lot: str,
    waiver: str,
    serial: int | None,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    form: str | None,
) -> None:
    """Show what was built of the frozen build NAME, or of all: units, lots, waivers, papers.

    Read from frozen/NAME.asbuilt.toml. Answers which serial numbers hold lot X of part Y (--part Y --lot X),
    which were built under waiver Z (--waiver Z), and what is known of one unit (--serial N).
    """
    from ferrule.app.building import built
    from ferrule.compute.built import Asked
    from ferrule.report.built import describe_built
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    asked = Asked(
        builds=(name,) if name is not None else (), part=part, lot=lot, waiver=waiver, serial=serial
    )
    snapshot = opened.read()
    product, found = built(snapshot, asked)
    print_document(describe_built(product, found, asked, snapshot.label), form, table=table)
