"""``ferrule limits``."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, source_options, table_option, today_option

__all__ = ["command"]


@click.command("limits")
@click.argument("plan", required=False)
@click.option(
    "--only",
    multiple=True,
    metavar="NAME",
    help="Solve for this only: build, kick-off, opening, term, sell-through, duty, rate, yield; repeat it.",
)
@click.option("--build", metavar="NAME", help="Build whose quantity is sought [default: the plan's first].")
@click.option(
    "--step", type=click.IntRange(min=1), help="Units between the quantities tried [default: a carton]."
)
@click.option(
    "--search",
    multiple=True,
    metavar="NAME=VALUE",
    help="How far to search: build=2400, term=180, duty=60, rate=0.8, yield=60, sell-through=40; repeat it.",
)
@click.option(
    "--least-margin",
    metavar="PERCENT",
    default="0 %",
    show_default=True,
    help="Margin to keep, percent of the revenue of a unit.",
)
@click.option("--scenario", metavar="NAME", help="Scenario of the plan to start from [default: as-agreed].")
@click.option("--hoped", is_flag=True, help="Count funding that is not signed.")
@click.option(
    "--svg",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the picture to a file too.",
)
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    plan: str | None,
    only: tuple[str, ...],
    build: str | None,
    step: int | None,
    search: tuple[str, ...],
    least_margin: str,
    scenario: str | None,
    hoped: bool,
    svg: Path | None,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show how far each uncertain fact of a plan may go: what binds there, and what would bind next.

    The largest build is found by trying every carton; no other quantity is between. Everything else is moved
    alone, with all that follows from it, until the floor, a margin or a date gives way.
    """
    from ferrule.app import cashing as use
    from ferrule.app.limiting import Request, limits
    from ferrule.report.limits import describe_limits
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    cashing = use.open_cash(opened.read(), plan, today, hoped=hoped)
    request = Request(
        only=only,
        scenario=scenario or use.AS_AGREED,
        build=build,
        step=step,
        reach=_reach(search),
        least=_share(least_margin),
    )
    document = describe_limits(limits(cashing, request), cashing.label)
    print_document(document, form, cashing.faults, svg, table)


def _reach(search: tuple[str, ...]) -> dict[str, str]:
    """Return how far to search by name; raises FerruleError."""
    from ferrule.errors import FerruleError

    found = {}
    for written in search:
        name, equals, value = (word.strip() for word in written.partition("="))
        if not equals or not value:
            raise FerruleError(
                f"{written!r} does not say how far to search", "write NAME=VALUE, as in build=2400"
            )
        found[name] = value
    return found


def _share(written: str) -> Fraction:
    from ferrule.errors import FerruleError
    from ferrule.model.bad_value import BadValue
    from ferrule.model.percent import parse_percent

    try:
        return Fraction(parse_percent(written if "%" in written else f"{written} %").fraction)
    except BadValue as error:
        raise FerruleError(f"--least-margin: {error.message}", 'write "12 %"') from None
