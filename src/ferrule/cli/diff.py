"""``ferrule diff``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ferrule.cli.answer import document_text, print_document
from ferrule.cli.main import FINDINGS, FINE
from ferrule.cli.options import format_option, table_option, today_option

if TYPE_CHECKING:
    from ferrule.compute.conditions import Condition
    from ferrule.report.document import Document
    from ferrule.source.snapshot import Snapshot

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
@click.option(
    "--cut-in",
    "parts",
    metavar="OLD=NEW",
    help="Show instead when to change over from one part to another: use up, or switch by week.",
)
@click.option("--plan", metavar="NAME", help="With --cut-in: the plan [default: the first of both].")
@click.option(
    "--weekly",
    type=click.IntRange(min=1),
    help="With --cut-in: units made a week [default: each build in its week].",
)
@click.option("--warranty", metavar="AMOUNT", help="With --cut-in: extra warranty on each old unit.")
@click.option("--salvage", metavar="AMOUNT", help="With --cut-in: what an old part left over is sold for.")
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
    parts: str | None,
    plan: str | None,
    weekly: int | None,
    warranty: str | None,
    salvage: str | None,
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
    from ferrule.app.diffing import gate_of, two_sides
    from ferrule.errors import FerruleError

    conditions = gate_of(gate)
    asked = {"--plan": plan, "--weekly": weekly, "--warranty": warranty, "--salvage": salvage}
    alone = [name for name, value in asked.items() if value is not None]
    if parts is None and alone:
        raise FerruleError(f"{alone[0]} is for --cut-in", "add --cut-in OLD=NEW")
    if parts is not None and (conditions or exit_code):
        raise FerruleError(
            "--cut-in answers another question than a gate", "leave out --fail-on and --exit-code"
        )
    sides = two_sides(Path.cwd(), (before, after), product=folder, index=index)
    if parts is not None:
        how = {"plan": plan, "weekly": weekly, "warranty": warranty, "salvage": salvage}
        document, faults, code = _cut_in(sides, parts, today, how), 0, FINE
    else:
        document, faults, code = _diff(sides, today, conditions, exit_code=exit_code, quick=quick)
    if output is None:
        print_document(document, form, faults, table=table)
    else:
        from ferrule.source.writing import write_file

        write_file(output, document_text(document, form, table=table).encode())
        click.echo(document_text(document, "text"), nl=False, err=True)
    return code


def _cut_in(sides: tuple[Snapshot, Snapshot], parts: str, today: dt.date, how: dict[str, Any]) -> Document:
    from ferrule.app.cutting_in import changeover, named_parts
    from ferrule.report.cutin import describe_cut_in

    found = changeover(*sides, named_parts(parts), today, **how)
    return describe_cut_in(found.product, (found.plan, found.parts), found.sides, found.facts, found.found)


def _diff(
    sides: tuple[Snapshot, Snapshot],
    today: dt.date,
    conditions: tuple[Condition, ...],
    *,
    exit_code: bool,
    quick: bool,
) -> tuple[Document, int, int]:
    """Return the report, the faults of form, and the exit code."""
    from ferrule.app.diffing import diff
    from ferrule.report.diff import describe_diff
    from ferrule.report.diff_effects import effect_notes, effect_tables, gate_table

    found = diff(*sides, today, gate=conditions, effects=not quick)
    effects = found.effects
    document = describe_diff(
        found.found,
        found.sides,
        effect_tables(effects, found.found.after.head.currency) if effects is not None else (),
        tuple(effect_notes(effects)) if effects is not None else (),
        gate_table(found.verdicts) if found.verdicts else None,
    )
    fails = found.fails or (exit_code and not found.found.is_empty)
    return document, found.faults, FINDINGS if fails else FINE
