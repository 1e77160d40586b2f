"""``ferrule reconcile``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, placed, source_options, table_option, today_option

__all__ = ["command"]


@click.command("reconcile")
@click.argument("custodian", required=False)
@click.option("--why", "part", metavar="PART", help="List the records behind one part, each with its place.")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    custodian: str | None,
    part: str | None,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Set what was sent to a custodian against what is accounted for, and bound the units nobody has seen.

    Scrap without a carcass is unproven. The allowance forgives money and lowers no bound. A part that can be
    bought elsewhere bounds nothing. Without CUSTODIAN all of them are shown.
    """
    from ferrule.app.reconciling import reconcile_snapshot
    from ferrule.compute.structure import Context
    from ferrule.errors import FerruleError
    from ferrule.report.reconcile import describe_reconcile
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    done = reconcile_snapshot(opened.read(), Context(day=today), custodian)
    known = sorted({account.part for custody in done.found for account in custody.accounts})
    if part is not None and part not in known:
        raise FerruleError(f"{part} was not sent to anybody", f"parts sent: {', '.join(known) or 'none'}")
    document = describe_reconcile(
        done.asked.product, done.found, done.asked.label, placed(done.where, opened.top), why=part or ""
    )
    print_document(document, form, done.asked.faults, table=table)
