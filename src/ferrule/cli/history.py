"""``ferrule history``."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, table_option, today_option

__all__ = ["command"]

#: Commits shown where nothing is asked: a screen, and a minute's wait at the worst.
_LAST = 30


@click.command("history")
@click.argument("revision", metavar="[REV]", default="HEAD")
@click.option("--since", metavar="REV", help="Leave out what this commit, tag or branch holds already.")
@click.option(
    "--last",
    type=click.IntRange(min=1),
    help=f"Show so many commits [default: {_LAST}; --bisect looks at all].",
)
@click.option("--all", "everything", is_flag=True, help="Show all commits.")
@click.option("--plan", metavar="NAME", help="Plan whose figures are shown [default: the first].")
@click.option(
    "--build", metavar="NAME", help="Build of the plan whose unit cost is shown [default: the first]."
)
@click.option(
    "--bisect",
    metavar="CONDITION",
    help="Name the first commit where this holds: cost>18.40, lead>120d, trough<20000, errors>0, warnings>5.",
)
@click.option(
    "--fresh", is_flag=True, help="Work everything out anew; neither use nor keep what was worked out."
)
@click.option(
    "--product",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Folder of the product, if not here or above.",
)
@table_option
@today_option
@format_option("text", "markdown", "json", "html", "csv")
def command(
    revision: str,
    since: str | None,
    last: int | None,
    everything: bool,
    plan: str | None,
    build: str | None,
    bisect: str | None,
    fresh: bool,
    folder: Path | None,
    table: str | None,
    today: dt.date,
    form: str | None,
) -> None:
    """Show unit cost, lead time, trough and findings commit by commit, and which commits moved them most.

    Only commits that touch the product count, a merge as its first parent saw it. All are judged on one day, so
    that only what was written moves a figure. What was worked out is kept below the git folder.
    """
    from ferrule.app.history import Window, bisect_of, history
    from ferrule.compute.history import movers, turns
    from ferrule.report.history import describe_bisect, describe_history
    from ferrule.source.products import open_products

    condition = bisect_of(bisect)
    opened = one(open_products(Path.cwd(), product=folder, revision=revision))
    most = last or (None if everything or condition is not None else _LAST)
    window = Window(newest=revision, after=since, last=most, kept=not fresh)
    found = history(opened, Path.cwd(), today, window, (plan, build))
    asked = (found.plan, found.build)
    if condition is not None:
        turned = tuple(turns(found.moments, condition))
        document = describe_bisect(
            found.product, asked, condition, turned, len(found.moments), today=today, shallow=found.shallow
        )
    else:
        document = describe_history(
            found.product,
            asked,
            found.moments,
            tuple(movers(found.moments)),
            today=today,
            older=found.older,
            shallow=found.shallow,
            ascii_only=(sys.stdout.encoding or "").lower().replace("-", "") not in ("utf8", "utf16"),
        )
    print_document(document, form, table=table)
