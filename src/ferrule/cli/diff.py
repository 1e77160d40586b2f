"""``ferrule diff``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import document_text, print_document
from ferrule.cli.main import FINDINGS, FINE
from ferrule.cli.options import format_option, table_option, today_option

__all__ = ["command"]


@click.command("diff")
@click.argument("before", metavar="A")
@click.argument("after", metavar="[B]", required=False)
@click.option(
    "--product",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Folder of the product, if not here or above.",
)
@click.option("--index", is_flag=True, help="Compare with what is staged for the next commit.")
@click.option("--exit-code", is_flag=True, help="Exit with 1 where something changed.")
@click.option(
    "--fail-on",
    "gate",
    metavar="CONDITIONS",
    help="Exit with 1 where one of these is met, parted by commas: sole-source, safety, evidence-lost, item-reused, "
    "late-order, cost>2%, lead>7d, trough<floor, idle>500.",
)
@click.option("--quick", is_flag=True, help="Leave out cost, dates and cash.")
@click.option(
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the answer to a file; the text goes to standard error.",
)
@table_option
@today_option
@format_option("text", "markdown", "json", "html", "csv")
def command(
    before: str,
    after: str | None,
    folder: Path | None,
    index: bool,
    exit_code: bool,
    gate: str | None,
    quick: bool,
    output: Path | None,
    table: str | None,
    today: dt.date,
    form: str | None,
) -> int:
    """Show what changed from A to B: lines, parts, sources, and what that does to cost, dates and cash.

    A and B are commits, tags, branches or folders; without B the work tree, with --index what is staged. Things
    are matched by what identifies them, so moving, renaming, splitting or reordering files is no change. Both
    sides are judged on one day. Conditions of --fail-on: cost, lead and idle are by how much the unit cost of a
    planned build rises (in percent or in the home currency), by how much later it arrives at the earliest (d or w),
    and what stock without a use is worth; trough is the lowest balance of a plan, against an amount or its floor,
    met only where the change brings it there or makes it worse. What cannot be decided counts as met.
    """
    from ferrule.app.diffing import diff, gate_of, two_sides
    from ferrule.report.diff import describe_diff
    from ferrule.report.diff_effects import effect_notes, effect_tables, gate_table

    conditions = gate_of(gate)
    sides = two_sides(Path.cwd(), (before, after), product=folder, index=index)
    found = diff(*sides, today, gate=conditions, effects=not quick)
    effects = found.effects
    document = describe_diff(
        found.found,
        found.sides,
        effect_tables(effects, found.found.after.head.currency) if effects is not None else (),
        tuple(effect_notes(effects)) if effects is not None else (),
        gate_table(found.verdicts) if found.verdicts else None,
    )
    if output is None:
        print_document(document, form, found.faults, table=table)
    else:
        from ferrule.source.writing import write_file

        write_file(output, document_text(document, form, table=table).encode())
        click.echo(document_text(document, "text"), nl=False, err=True)
    return FINDINGS if found.fails or (exit_code and not found.found.is_empty) else FINE
