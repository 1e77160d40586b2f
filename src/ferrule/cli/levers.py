"""``ferrule levers``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, source_options, table_option, today_option

__all__ = ["command"]


@click.command("levers")
@click.argument("plan", required=False)
@click.option(
    "--by",
    type=click.Choice(["freed", "cost"]),
    default="freed",
    show_default=True,
    help="Rank by cash freed at the trough, or by what a thousand freed costs.",
)
@click.option("--hoped", is_flag=True, help="Count funding that is not signed.")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    plan: str | None,
    by: str,
    hoped: bool,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show what each negotiable term of a plan would free at the trough, singly, in pairs and all together.

    A term is worth nothing unless it moves a payment across the trough's week, and two terms do not add up.
    """
    from ferrule.app import cashing as use
    from ferrule.errors import FerruleError
    from ferrule.report.levers import describe_levers
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    cashing = use.open_cash(opened.read(), plan, today, hoped=hoped)
    if not cashing.plan.lever:
        raise FerruleError(
            f"plan {cashing.plan.plan.id} names no levers", "add [lever.NAME] with set = { ... }"
        )
    base, moved = use.levers(cashing)
    document = describe_levers(cashing.product, base, moved, cashing.label, by=by)
    print_document(document, form, cashing.faults, table=table)
