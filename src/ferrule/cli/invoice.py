"""``ferrule invoice``."""

from __future__ import annotations

from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.main import FINDINGS, FINE
from ferrule.cli.options import format_option, one

__all__ = ["command"]


@click.command("invoice")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--at", "revision", metavar="REV", help="Count the quotes of this commit, tag or branch.")
@click.option(
    "--product",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Folder of the product, if not here or above.",
)
@format_option("text", "json", "csv")
def command(file: Path, revision: str | None, folder: Path | None, form: str | None) -> int:
    """Check a seller's invoice against orders, and the quotes in force on the day of the order.

    FILE is CSV with the columns number, seller, date, ordered, currency, part, order, qty, each, charge, amount; or
    TOML with [invoice] number, seller, date, ordered, currency, then [[line]] part, order, qty, each, and [[charge]]
    name, amount. `ordered` and `order` may be left out. Exits with 1 where something differs or was never agreed.
    """
    from ferrule.app.invoicing import invoice_check
    from ferrule.report.invoice import describe_invoice
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder))
    found = invoice_check(opened, file, revision)
    print_document(describe_invoice(found.found, found.state, found.notes), form)
    return FINE if found.found.is_as_agreed else FINDINGS
