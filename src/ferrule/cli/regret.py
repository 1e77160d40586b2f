"""``ferrule regret``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, placed, source_options, table_option, today_option

__all__ = ["command"]


@click.command("regret")
@click.argument("plan", required=False)
@click.option(
    "--stop", "week", type=click.IntRange(min=0), metavar="WEEK", help="Week in which it is decided."
)
@click.option(
    "--cut",
    type=click.IntRange(min=0),
    metavar="QTY",
    help="Cut a build to so many units instead of stopping.",
)
@click.option("--build", metavar="NAME", help="Build that is cut [default: the plan's first].")
@click.option(
    "--slip",
    type=click.IntRange(min=1),
    metavar="WEEKS",
    help="Move the builds not begun by so many weeks instead.",
)
@click.option(
    "--until",
    type=click.IntRange(min=0),
    metavar="WEEK",
    help="What waiting until this week costs, from --stop on.",
)
@click.option("--why", metavar="NAME", help="Show what is behind one part, tool or build.")
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
    week: int | None,
    cut: int | None,
    build: str | None,
    slip: int | None,
    until: int | None,
    why: str | None,
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
    """Show what a plan would owe if it were stopped in any week, against the money there is then.

    With --stop everything owed in one week; with --cut and --slip what another decision costs. A week is
    decided on its Monday, before anything of it is ordered or paid. Without --stop, a cut is shown for every
    week; --slip, --until and --why take the next Monday.
    """
    from ferrule.app import cashing as use
    from ferrule.app import regretting as act
    from ferrule.report import regret as report
    from ferrule.report import regret_choices as choices
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    cashing = use.open_cash(opened.read(), plan, today, hoped=hoped)
    regret = act.open_regret(cashing, scenario or use.AS_AGREED)
    asked = act.week_named(regret, week)
    view = report.View(
        product=regret.product, cash=regret.cash, label=cashing.label, unknown=regret.found.unknown
    )
    if why is not None:
        act.refuse_unknown_name(regret, why)
        document = report.describe_why(view, asked, why, placed(cashing.where, opened.top))
    elif cut is not None and week is None:
        document = choices.describe_cuts(
            view, [(each, act.cut_to(regret, build, cut)(each.day)) for each in regret.weeks]
        )
    elif cut is not None:
        document = choices.describe_cut(view, asked, act.cut_to(regret, build, cut)(asked.day))
    elif slip is not None:
        document = choices.describe_slip(view, asked, act.slip_by(regret, slip, asked.day), slip)
    elif until is not None:
        document = choices.describe_wait(view, asked, act.week_named(regret, until))
    elif week is not None:
        document = report.describe_stop(view, asked)
    else:
        document = report.describe_regret(view, regret.weeks)
    print_document(document, form, cashing.faults, svg, table)
