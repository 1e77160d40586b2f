"""``ferrule schedule``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.buying_options import buying_options
from ferrule.cli.cost import Volumes
from ferrule.cli.options import (
    Day,
    format_option,
    names_of,
    one,
    placed,
    refuse_svg,
    source_options,
    svg_option,
    table_option,
    today_option,
)
from ferrule.compute.leads import Kind
from ferrule.compute.purchase import Strategy
from ferrule.compute.sourcing import Choice

__all__ = ["command"]


@click.command("schedule")
@click.argument("plan", required=False)
@click.option("--builds", metavar="NAMES", help="Only these builds of the plan, names parted by commas.")
@click.option(
    "--times",
    "kind",
    type=click.Choice(["best", "likely", "worst"]),
    default="worst",
    show_default=True,
    help="Which of a leg's times to plan on: the season on worst, cash on likely.",
)
@click.option(
    "--why", "item", metavar="ITEM", help="Show the chain of reasons behind a part's or tool's date."
)
@click.option(
    "--week", is_flag=True, help="Show this week's orders, and next week's that are late if they slip."
)
@click.option(
    "--week-of", "week_day", type=Day(), metavar="DATE", help="The same for the week of another day."
)
@click.option(
    "--slip", "slipping", metavar="ITEM", help="Show what delays of a part, tool, assembly or build do."
)
@click.option(
    "--days", type=Volumes(), default="1,7,14,28", show_default=True, help="Delays that --slip asks about."
)
@svg_option
@buying_options
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    plan: str | None,
    builds: str | None,
    kind: Kind,
    item: str | None,
    week: bool,
    week_day: dt.date | None,
    slipping: str | None,
    days: tuple[int, ...],
    svg: Path | None,
    strategy: Strategy,
    choice: Choice,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show when everything of a plan must be ordered, what decides, and what is late.

    Backward from each build's date and forward from today, every leg in its owner's calendar, parts due at
    the step that needs them. Beside each latest day stands the one on paper: weekends kept, closures ignored.
    """
    from ferrule.app import buying, scheduling
    from ferrule.compute.buy import Ask
    from ferrule.report import schedule as report
    from ferrule.source.products import open_products

    shown = (
        ("--why", item is not None),
        ("--week", week or week_day is not None),
        ("--slip", slipping is not None),
    )
    if sum(passed for _, passed in shown) > 1:
        raise click.UsageError("--why, --week and --slip each show something else; pass one of them")
    refuse_svg(svg, table, *shown)
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    asked = buying.open_plan(opened.read(), plan)
    ask = Ask(today=today, strategy=strategy, choice=choice)
    dates = scheduling.dates_of(asked, ask, kind, names_of(builds))
    product, label = asked.product, asked.label
    if item is not None:
        build, order = scheduling.find_order(dates, item)
        document = report.describe_why(product, build, order, label, placed(asked.where, opened.top))
    elif week or week_day is not None:
        document = report.describe_week(product, dates, scheduling.week_of(dates, week_day or today), label)
    elif slipping is not None:
        title = f"What delays of {slipping} do to the arrival"
        document = report.describe_slips(list(scheduling.slips_of(dates, slipping, days)), label, title)
    else:
        facts = (("plan", asked.plan.plan.id), ("times", kind))
        title = asked.plan.plan.name or asked.plan.plan.id
        document = report.describe_schedule(product, dates, title, label, facts, asked.holidays.notes)
    print_document(document, form, asked.faults, svg, table)
