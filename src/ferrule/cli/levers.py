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
@click.option(
    "--generate",
    is_flag=True,
    help="Add levers that no file states: each balance and channel 30 days later and sooner, each deposit 20 "
    "points smaller and larger, each build by air or sea.",
)
@click.option("--hoped", is_flag=True, help="Count funding that is not signed.")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    plan: str | None,
    by: str,
    generate: bool,
    hoped: bool,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show which two terms of a plan to fight for: what each would free at the trough, singly, in pairs and together.

    A term is worth nothing unless it moves a payment across the trough's week, and two terms do not add up.
    """
    from ferrule.app.cashing import open_cash
    from ferrule.app.levering import levers
    from ferrule.errors import FerruleError
    from ferrule.report.levers import describe_levers
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    cashing = open_cash(opened.read(), plan, today, hoped=hoped)
    found = levers(cashing, generated=generate)
    if not found.moved:
        name = cashing.plan.plan.id
        if generate:
            raise FerruleError(
                f"plan {name} names no levers, and no terms or lanes of its payments can be varied"
            )
        raise FerruleError(
            f"plan {name} names no levers", "add [lever.NAME] with set = { ... }, or ask with --generate"
        )
    document = describe_levers(
        cashing.product,
        found.base,
        found.moved,
        found.levers,
        cashing.label,
        by=by,
        clashes=found.clashes,
        skipped=found.skipped,
        past=found.past,
        hoped=hoped,
        whole=form in {"json", "csv"} or table is not None,
    )
    print_document(document, form, cashing.faults, table=table)
