"""``ferrule notes``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import format_option, one, product_option, table_option, today_option

__all__ = ["command"]


@click.command("notes")
@click.argument("before", metavar="A")
@click.argument("after", metavar="B")
@click.option("--quick", is_flag=True, help="Leave out cost, dates and cash.")
@product_option
@table_option
@today_option
@format_option("text", "markdown", "json", "html", "csv")
def command(
    before: str,
    after: str,
    quick: bool,
    folder: Path | None,
    table: str | None,
    today: dt.date,
    form: str | None,
) -> None:
    """Write release notes: what the frozen build B brings against the frozen build A.

    Both are verified first. What changed is told as `diff` tells it, then the builds it was frozen for with their
    serial numbers, and the waivers in force.
    """
    from ferrule.app.release_notes import release_notes
    from ferrule.errors import FerruleError
    from ferrule.report.diff import describe_diff
    from ferrule.report.diff_effects import effect_notes, effect_tables
    from ferrule.report.release_notes import describe_release
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder))
    found = release_notes(opened, (before, after), today, folder, effects=not quick)
    locks = (found.before.lock, found.after.lock)
    if locks[0] is None or locks[1] is None:
        raise FerruleError("a lock cannot be read", "`ferrule verify` shows why")
    effects = found.diff.effects
    changes = describe_diff(
        found.diff.found,
        found.diff.sides,
        effect_tables(effects, found.diff.found.after.head.currency) if effects is not None else (),
        tuple(effect_notes(effects)) if effects is not None else (),
    )
    document = describe_release(changes, locks[0], locks[1], (found.before.commit, found.after.commit))
    print_document(document, form, found.diff.faults, table=table)
