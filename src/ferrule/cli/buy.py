"""``ferrule buy``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.buying_options import buying_options
from ferrule.cli.options import (
    format_option,
    names_of,
    one,
    placed,
    source_options,
    table_option,
    today_option,
)
from ferrule.compute.purchase import Strategy
from ferrule.compute.sourcing import Choice

__all__ = ["command"]


@click.command("buy")
@click.argument("plan", required=False)
@click.option("--builds", metavar="NAMES", help="Only these builds of the plan, names parted by commas.")
@click.option("--why", "part", metavar="PART", help="Show the working behind one part instead of the list.")
@click.option("--combine", is_flag=True, help="Compare one order for two builds with two orders.")
@click.option(
    "--with",
    "groups",
    nargs=2,
    metavar="FIRST SECOND",
    help="The builds that --combine compares; else those due first and those due next.",
)
@click.option("--lots", is_flag=True, help="Plan the order lots of each part over the builds.")
@buying_options
@table_option
@click.option(
    "--sort",
    type=click.Choice(["part", "date", "spend", "left"]),
    default="part",
    show_default=True,
    help="Order of the parts.",
)
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    plan: str | None,
    builds: str | None,
    strategy: Strategy,
    choice: Choice,
    part: str | None,
    combine: bool,
    groups: tuple[str, str] | None,
    lots: bool,
    table: str | None,
    sort: str,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show what a plan has to buy, from whom, when, and what is left over.

    Demand is pooled over the builds inside one buyer, losses are added, everything is rounded up once, and
    stock and open orders serve the needs in the order of their dates. What is not known is said, never
    counted as zero. Order-by dates are the schedule's: every leg in its owner's calendar.

    Without PLAN the only plan is taken. Money is in the home currency.
    """
    from ferrule.app import buying as use
    from ferrule.compute.buy import Ask
    from ferrule.report import buy as report
    from ferrule.report.buy_combined import describe_combined
    from ferrule.report.buy_lots import describe_lots
    from ferrule.report.buy_why import describe_why
    from ferrule.source.products import open_products

    if sum([part is not None, combine, lots]) > 1:
        raise click.UsageError("--why, --combine and --lots each show something else; pass one of them")
    if groups and not combine:
        raise click.UsageError("--with names the builds of --combine; pass both")
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    buying = use.open_plan(opened.read(), plan)
    ask = Ask(today=today, strategy=strategy, choice=choice)
    product, label = buying.product, buying.label
    if combine:
        first, second = use.windows_named(buying, groups or ())
        found = use.combine(buying, ask, first, second)
        document = describe_combined(
            product, label, ask, (first, second), found, use.chance_of(buying, second)
        )
    elif lots:
        document = describe_lots(product, buying.plan, label, choice, use.lots(buying, ask))
    else:
        result = use.bought(buying, ask, names_of(builds))
        if part is not None:
            use.refuse_unknown_part(result, part)
            document = describe_why(product, result, part, label, placed(buying.where, opened.top))
        else:
            names = report.TABLES if table is not None or form == "json" else report.USUAL
            document = report.describe_buy(product, result, label, names, sort)
    print_document(document, form, buying.faults, table=table)
