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
    help="Scenario of the plan; repeat it to see several side by side, the first being the measure "
    "[default: as-agreed].",
)
@click.option("--all", "everything", is_flag=True, help="All scenarios of the plan side by side.")
@click.option("--week", type=click.IntRange(min=0), help="Show every payment of one week with its reason.")
@click.option("--daily", is_flag=True, help="Day by day instead of week by week.")
@click.option("--hoped", is_flag=True, help="Count funding that is not signed.")
@click.option("--draw", is_flag=True, help="Draw on the plan's lines of credit to keep to the floor.")
@click.option("--take-discounts", is_flag=True, help="Pay early wherever terms offer a discount for it.")
@click.option(
    "--rate",
    "rates",
    multiple=True,
    metavar="RATE",
    help='What is open by week at another rate: "1 EUR = 1.02 USD", or a scenario that sets one.',
)
@click.option(
    "--stop-at",
    "stops",
    multiple=True,
    metavar="[SKU=]QTY",
    help="What tools have not earned back if building stops at a quantity.",
)
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
    draw: bool,
    take_discounts: bool,
    rates: tuple[str, ...],
    stops: tuple[str, ...],
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
    funding counts unless --hoped, and lines of credit stay undrawn unless --draw. Weeks are numbered from the
    plan's start.
    """
    from ferrule.app import cash_details as details
    from ferrule.app import cashing as use
    from ferrule.errors import FerruleError
    from ferrule.report.cash import Asked, describe_cash
    from ferrule.report.cash_week import describe_week
    from ferrule.source.products import open_products

    refuse_svg(svg, table, ("--week", week is not None))
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    cashing = use.open_cash(opened.read(), plan, today, hoped=hoped, discounts=take_discounts)
    names = scenarios or ((use.AS_AGREED, *cashing.plan.scenario) if everything else (use.AS_AGREED,))
    found = list(use.cash_of(cashing, names))
    undrawn = found[0][0]
    drawn = [details.drawn(cashing, cash) for cash, _ in found] if draw else []
    found = [(cash, words) for (cash, _), (_, words) in zip(drawn, found, strict=True)] if draw else found
    first = found[0][0]
    if week is not None:
        shown = describe_week(cashing.product, first, week, cashing.label)
        if shown is None:
            last = len(first.ledger.weeks) - 1
            raise FerruleError(f"the plan has no week {week}", f"its weeks are 0 to {last}")
        print_document(shown, form, cashing.faults, svg, table)
        return
    stopped = details.stopped(cashing, stops)
    asked = Asked(
        breakeven=details.plan_breakeven(cashing, undrawn),
        at_rates=details.at_rates(cashing, first, rates),
        stopped=stopped,
        tools=details.tools_stopped(cashing, stopped),
        drawn=drawn[0][1] if drawn else None,
        in_full=details.without_discounts(cashing, undrawn) if take_discounts else None,
        hoped=hoped,
        by_day=daily,
        whole=form in {"json", "csv"} or table is not None,
    )
    document = describe_cash(cashing.product, found, cashing.label, asked)
    print_document(document, form, cashing.faults, svg, table)
