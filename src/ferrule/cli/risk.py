"""``ferrule risk``."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, placed, source_options, table_option, today_option
from ferrule.cli.terms_options import Share

if TYPE_CHECKING:
    from ferrule.compute.draws import Spread
    from ferrule.compute.leads import Kind

__all__ = ["command"]


class Shares(click.ParamType[tuple[Fraction, ...]]):
    """Three rising percentages parted by commas, up to 100 %."""

    name = "percents"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[Fraction, ...]:
        """Return the shares, or fail with the accepted form."""
        if isinstance(value, tuple):
            return value
        shares = tuple(Share().convert(part.strip(), param, ctx) for part in str(value).split(","))
        if len(shares) != 3 or list(shares) != sorted(shares) or shares[-1] > 1:
            self.fail(f"{value!r} are no three rising shares; write them as 70%,90%,100%", param, ctx)
        if any((share * 1000).denominator > 1 for share in shares):
            self.fail(f"{value!r} are finer than a tenth of a percent", param, ctx)
        return shares


@click.command("risk")
@click.argument("plan", required=False)
@click.option("--why", "part", metavar="PART", help="Show where every figure of one sole source comes from.")
@click.option(
    "--service",
    type=Share(),
    metavar="PERCENT",
    help="Share of what plans need to keep for repairs, in last orders.",
)
@click.option(
    "--most", type=click.IntRange(min=1), default=10, show_default=True, help="Orders and prices shown."
)
@click.option("--draws", type=click.IntRange(min=1, max=100_000), help="Draw the plan so many times.")
@click.option(
    "--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Where the draws start."
)
@click.option(
    "--demand",
    type=Shares(),
    metavar="LOW,LIKELY,HIGH",
    help="How much of the sales that are not firm sells, such as 70%,90%,100%.",
)
@click.option(
    "--times",
    type=click.Choice(["worst", "likely"]),
    default="worst",
    show_default=True,
    help="Orders go out as late as these times allow, in the draws.",
)
@click.option("--hoped", is_flag=True, help="Count funding that is not signed, in the draws.")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    plan: str | None,
    part: str | None,
    service: Fraction | None,
    most: int,
    draws: int | None,
    seed: int,
    demand: tuple[Fraction, ...] | None,
    times: Kind,
    hoped: bool,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show supply risk in money and days, and beside each what takes it away and at what price.

    Sole sources, parts that end, orders with little float, prices that no quote holds. With --draws, how often
    the plan misses its season and passes its floor by the times its lanes and leads can take.
    """
    from ferrule.app import risking as use
    from ferrule.app.cashing import open_cash
    from ferrule.compute.chances import Luck
    from ferrule.report import risk as report
    from ferrule.report.risk_why import describe_why
    from ferrule.source.products import open_products

    if draws is None and (demand is not None or hoped):
        raise click.UsageError("--demand and --hoped say how to draw; pass --draws too")
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    cashing = open_cash(opened.read(), plan, today)
    product = cashing.product
    found = use.risks_of(cashing, service)
    if part is not None:
        risk = use.named_part(found, part)
        document = describe_why(product, risk, placed(cashing.where, opened.top), cashing.label)
    else:
        luck = None
        if draws is not None:
            luck = Luck(draws=draws, seed=seed, demand=_spread(demand), times=times, hoped=hoped)
        document = report.describe_risk(
            product,
            cashing.plan.plan.id,
            cashing.label,
            rates=found.rates,
            soles=found.soles,
            ends=found.ends,
            leads=found.leads,
            lanes=found.lanes,
            prices=found.prices,
            most=most,
            chance=None if luck is None else use.chance_of(cashing, luck),
        )
    print_document(document, form, cashing.faults, table=table)


def _spread(demand: tuple[Fraction, ...] | None) -> Spread:
    from ferrule.compute.draws import Spread

    low, likely, high = demand or (Fraction(1),) * 3
    return Spread(int(low * 1000), int(likely * 1000), int(high * 1000))
