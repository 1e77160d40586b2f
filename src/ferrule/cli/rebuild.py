"""``ferrule rebuild``."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.explode import Amount
from ferrule.cli.main import FINDINGS, FINE
from ferrule.cli.options import format_option, one, product_option, table_option, today_option

__all__ = ["command"]


@click.command("rebuild")
@click.argument("name")
@click.option("--sku", metavar="SKU", help="One SKU of it [default: all].")
@click.option("--qty", type=Amount(), default="1", show_default=True, help="How many to build.")
@click.option("--exit-code", is_flag=True, help="Exit with 1 where something is missing.")
@product_option
@table_option
@today_option
@format_option("text", "json", "csv")
def command(
    name: str,
    sku: str | None,
    qty: Decimal,
    exit_code: bool,
    folder: Path | None,
    table: str | None,
    today: dt.date,
    form: str | None,
) -> int:
    """Show what is missing to build the frozen build NAME today.

    What is needed comes from the lock alone: parts, quantities, sources, files by content, tools. What is
    known of them today comes from the work tree: parts without a living source, quotes that ended, contents
    that are lost, tools gone or worn out; and price and lead time now against then.
    """
    from ferrule.app.rebuilding import rebuilt
    from ferrule.report.rebuild import describe_rebuild
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder))
    found = rebuilt(opened, name, sku, qty, today)
    document = describe_rebuild(found.lock, found.answers, str(today), found.label)
    print_document(document, form, found.faults, table=table)
    return FINDINGS if exit_code and any(answer.gaps for answer in found.answers) else FINE
