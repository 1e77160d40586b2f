"""``ferrule verify``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ferrule.cli.answer import print_document
from ferrule.cli.main import FINDINGS, FINE
from ferrule.cli.options import format_option, one, product_option, table_option

if TYPE_CHECKING:
    from ferrule.app.verifying import Verified
    from ferrule.report.document import Document

__all__ = ["command"]


@click.command("verify")
@click.argument("name", required=False)
@click.option(
    "--show",
    type=click.Choice(["parts", "sources", "documents", "approvals", "waivers", "tools"]),
    help="Show what the frozen build NAME holds, one table of it.",
)
@product_option
@table_option
@format_option("text", "json", "csv")
def command(
    name: str | None, show: str | None, folder: Path | None, table: str | None, form: str | None
) -> int:
    """Show whether the frozen build NAME is still what was frozen; all of them without NAME.

    Computes the lock again from the commit it froze and compares byte by byte: sources, expanded list,
    documents. Looks at the tag, its signature, the lock in the work tree, and the build it supersedes. A
    lock of an older format is read and computed in that format. Exits with 1 where anything was altered.
    """
    from ferrule.app.verifying import verify
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder))
    results = verify(opened, name)
    if show is not None:
        if name is None or results[0].lock is None:
            raise click.UsageError("--show shows one frozen build that can be read; pass its NAME")
        from ferrule.report.locked import describe_locked

        print_document(describe_locked(results[0].lock, show, results[0].tag), form, table=table)
        if results[0].differences:
            click.echo(f"warning: it was altered; `ferrule verify {name}` shows where", err=True)
        return FINDINGS if results[0].differences else FINE
    print_document(_one(results[0]) if name is not None else _all(results), form, table=table)
    return FINDINGS if any(result.differences for result in results) else FINE


def _one(result: Verified) -> Document:
    from ferrule.report.frozen import describe_verified, signature_words

    notes = []
    if result.not_here:
        notes.append(
            f"the lock is not in this work tree; `ferrule freeze {result.name}` finishes what was interrupted"
        )
    if result.superseded_by:
        notes.append(f"superseded by {', '.join(result.superseded_by)}")
    if result.other_rules:
        notes.append("the rules have changed since; `ferrule check --at NAME` judges it by today's")
    return describe_verified(
        result.name,
        result.lock,
        tag=result.tag,
        commit=result.commit,
        tagger=result.tagger,
        signature=signature_words(result.signature, result.unproven),
        differences=result.differences,
        moved_on=result.moved_on,
        notes=notes,
    )


def _all(results: tuple[Verified, ...]) -> Document:
    from ferrule.report.frozen import describe_all_verified, signature_words

    return describe_all_verified(
        [
            (
                each.name,
                str(each.lock.day) if each.lock is not None else None,
                each.commit,
                signature_words(each.signature, each.unproven),
                each.lock.supersedes if each.lock is not None else None,
                len(each.differences),
                each.differences[0].where if each.differences else "",
            )
            for each in results
        ]
    )
