"""``ferrule cost``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import click

from ferrule.cli.answer import print_document
from ferrule.cli.buying_options import buying_options
from ferrule.cli.options import (
    format_option,
    one,
    placed,
    refuse_svg,
    source_options,
    svg_option,
    table_option,
    today_option,
)
from ferrule.compute.purchase import Strategy
from ferrule.compute.sourcing import Choice

__all__ = ["Volumes", "command"]


class Volumes(click.ParamType[tuple[int, ...]]):
    """Whole quantities parted by commas."""

    name = "numbers"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, ...]:
        """Return the quantities, rising, or fail with the accepted form."""
        if isinstance(value, tuple):
            return value
        parts = [part.strip() for part in str(value).split(",")]
        if not all(part.isascii() and part.isdigit() and 0 < int(part) <= 10**9 for part in parts):
            self.fail(f"{value!r} is no list of quantities; write it as 100,1000,10000", param, ctx)
        return tuple(sorted({int(part) for part in parts}))


@click.command("cost")
@click.argument("sku", required=False)
@click.option(
    "--volumes",
    type=Volumes(),
    default="10,100,1000,10000,100000",
    show_default=True,
    help="Quantities made at once, parted by commas.",
)
@click.option(
    "--plan", metavar="PLAN", help="Plan whose builds are costed too [default: the first that builds it]."
)
@click.option("--lane", metavar="LANE", help="Way home [default: the build's].")
@click.option(
    "--term",
    metavar="TERM",
    help='Delivery term with its place, such as "FCA Port Halden" [default: the lane\'s first].',
)
@click.option(
    "--why",
    "asked",
    metavar="WHAT",
    help=(
        "Show what an element, a sum or a part's cost is made of, how a tool's numbers or a channel's margin come"
        " about, or what the breakeven counts: at the last build, or the last of --volumes if stated."
    ),
)
@click.option(
    "--curve",
    is_flag=True,
    help="Show unit cost and cash at every carton multiple, with the causes of steps.",
)
@click.option(
    "--to",
    "last",
    type=click.IntRange(min=1),
    help="Last quantity of --curve [default: twice the largest build].",
)
@click.option("--offers", is_flag=True, help="Compare the terms of all lanes, landed.")
@click.option(
    "--offer",
    "written",
    multiple=True,
    metavar="OFFER",
    help='Compare offers such as "48.20 USD CIP Wexmouth port via halden-sea"; may be repeated.',
)
@svg_option
@buying_options
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    sku: str | None,
    volumes: tuple[int, ...],
    plan: str | None,
    lane: str | None,
    term: str | None,
    asked: str | None,
    curve: bool,
    last: int | None,
    offers: bool,
    written: tuple[str, ...],
    strategy: Strategy,
    choice: Choice,
    svg: Path | None,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show what one good, landed, sellable unit costs.

    Expected cost over expected good units at each quantity, parts at the price of the pooled order, yields
    compounded, the way home by the delivery term. Tools, leftovers and what channels leave stand apart. The
    plan's builds are costed at the plan's pooled prices. What is not known makes the cost "at least".
    """
    from ferrule.app import costing as use
    from ferrule.errors import FerruleError
    from ferrule.report.cost import describe_cost
    from ferrule.report.cost_curve import describe_curve
    from ferrule.report.cost_elements import elements_of
    from ferrule.report.cost_offers import describe_offers
    from ferrule.report.cost_why import describe_why
    from ferrule.report.cost_why_beside import describe_breakeven, describe_why_beside
    from ferrule.source.products import open_products

    if sum([asked is not None, curve, offers or bool(written)]) > 1:
        raise click.UsageError("--why, --curve and --offers each show something else; pass one of them")
    if last is not None and not curve:
        raise click.UsageError("--to says where --curve ends; pass both")
    refuse_svg(svg, table, ("--why", asked is not None), ("--offers", offers or bool(written)))
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    costing = use.open_cost(
        opened.read(),
        sku,
        today,
        plan=plan,
        lane=lane,
        term=term,
        strategy=strategy,
        choice=choice,
    )
    product, label = costing.product, costing.label
    if curve:
        document = describe_curve(product, costing.sku, list(use.curve(costing, last)), label)
    elif offers or written:
        found = use.offers(costing, written)
        if not found:
            raise FerruleError("no lane of the product names a delivery term", 'pass --offer "TERM via LANE"')
        document = describe_offers(product, costing.sku, found, use.offer_quantity(costing), label)
    else:
        costs = list(use.costs(costing, volumes))
        if asked is not None:
            stated = click.get_current_context().get_parameter_source("volumes")
            by_default = stated is click.core.ParameterSource.DEFAULT
            cost = costs[-1] if by_default else costs[len(volumes) - 1]
            where = placed(costing.where, opened.top)
            even = use.plan_breakeven(costing) if asked.casefold() == "breakeven" else None
            why = (
                describe_breakeven(product, cost, even, label, where)
                if even is not None
                else describe_why(product, cost, asked, label, where)
                or describe_why_beside(product, cost, asked, label, where)
            )
            if why is None:
                names = "; ".join(elements_of(costs))
                more = "or landed, factory price, breakeven, the number of a part or tool, a channel"
                raise FerruleError(f"nothing in the cost is called {asked}", f"elements: {names}; {more}")
            document = why
        else:
            document = describe_cost(product, costs, label, use.plan_breakeven(costing), use.facts(costing))
    print_document(document, form, costing.faults, svg, table)
