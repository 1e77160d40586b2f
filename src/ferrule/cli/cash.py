"""``ferrule cash``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import (
    format_option,
    one,
    refuse_svg,
    source_options,
    svg_option,
    table_option,
    today_option,
)

__all__ = ["command"]


@click.command("cash")
@click.argument("plan", required=False)
@click.option(
    "--scenario",
    "scenarios",
    multiple=True,
    metavar="NAME",
    help="Scenario of the plan; repeat it to see several side by side [default: as-agreed].",
)
@click.option("--all", "everything", is_flag=True, help="All scenarios of the plan side by side.")
@click.option("--week", type=click.IntRange(min=0), help="Show every payment of one week with its reason.")
@click.option("--daily", is_flag=True, help="Day by day instead of week by week.")
@click.option("--hoped", is_flag=True, help="Count funding that is not signed.")
@svg_option
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    plan: str | None,
    scenarios: tuple[str, ...],
    everything: bool,
    week: int | None,
    daily: bool,
    hoped: bool,
    svg: Path | None,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show a plan's money week by week: what comes, what goes, how low it gets, and what is needed.

    Amounts and days come from what is bought, what a unit costs and when things must be ordered. Only signed
    funding counts unless --hoped. Weeks are numbered from the plan's start.
    """
    from ferrule.app import cashing as use
    from ferrule.errors import FerruleError
    from ferrule.report.cash import describe_cash
    from ferrule.report.cash_week import describe_week
    from ferrule.source.products import open_products

    refuse_svg(svg, table, ("--week", week is not None))
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    cashing = use.open_cash(opened.read(), plan, today, hoped=hoped)
    names = scenarios or ((use.AS_AGREED, *cashing.plan.scenario) if everything else (use.AS_AGREED,))
    found = list(use.cash_of(cashing, names))
    if week is not None:
        shown = describe_week(cashing.product, found[0][0], week, cashing.label)
        if shown is None:
            last = len(found[0][0].ledger.weeks) - 1
            raise FerruleError(f"the plan has no week {week}", f"its weeks are 0 to {last}")
        document = shown
    else:
        document = describe_cash(cashing.product, found, cashing.label, by_day=daily)
    print_document(document, form, cashing.faults, svg, table)
