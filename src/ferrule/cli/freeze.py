"""``ferrule freeze``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from ferrule.cli.answer import print_document
from ferrule.cli.main import FINDINGS, FINE
from ferrule.cli.options import format_option, one, product_option, shown_path, today_option, width

if TYPE_CHECKING:
    from ferrule.app.freezing import Freeze

__all__ = ["command"]

_TITLES = {
    "frozen": "Frozen: {}",
    "finished": "Frozen: {}, which was begun before",
    "could be frozen": "Could be frozen: {}. Nothing was written",
}


@click.command("freeze")
@click.argument("name")
@click.option("--supersedes", metavar="NAME", default="", help="Frozen build that this one replaces.")
@click.option("--sign", is_flag=True, help="Sign the tag with your key, as git is set up to.")
@click.option("--dry-run", is_flag=True, help="Show what would be frozen, and write nothing.")
@click.option(
    "--fail-on",
    type=click.Choice(["error", "warning"]),
    default="error",
    show_default=True,
    help="From this severity on a finding stands in the way.",
)
@product_option
@today_option
@format_option("text", "json")
def command(
    name: str,
    supersedes: str,
    sign: bool,
    dry_run: bool,
    fail_on: Literal["error", "warning"],
    folder: Path | None,
    today: dt.date,
    form: str | None,
) -> int:
    """Freeze the last commit as the build NAME.

    Writes frozen/NAME.lock with the whole expanded list, sources, quotes, tools, documents and waivers by
    content, commits that file alone, and makes an annotated tag. Refuses while `check` has errors, and while
    the work tree differs from the last commit. Never moves a tag, never pushes. Interrupted, it leaves
    nothing or a whole freeze; the same command again finishes it. Hooks are not run: the check was.
    """
    from ferrule.app.freezing import Request, freeze
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder))
    request = Request(
        name=name, today=today, sign=sign, dry_run=dry_run, supersedes=supersedes, fail_on=fail_on
    )
    made = freeze(opened, request)
    if made.done == "refused":
        return _refused(made, form, shown_path(opened.top))
    _show(made, form)
    return FINE


def _refused(made: Freeze, form: str | None, show: object) -> int:
    from ferrule.render.formats import render_check

    assert made.check is not None  # noqa: S101  a refusal has its findings
    text = render_check(
        made.check,
        "json" if form == "json" else "text",
        color=False,
        width=width(),
        show_path=show,  # type: ignore[arg-type]
    )
    click.echo(text, nl=False)
    many = (
        "1 finding stands" if len(made.check.findings) == 1 else f"{len(made.check.findings)} findings stand"
    )
    click.echo(f"not frozen: {many} in the way at stage {made.stage}", err=True)
    click.echo("hint: mend them, or have a waiver with a limit accepted for what must stay", err=True)
    return FINDINGS


def _show(made: Freeze, form: str | None) -> None:
    from ferrule.report.frozen import describe_freeze, signature_words

    assert made.lock is not None  # noqa: S101  only a refusal has none
    notes = [f"check it any time: ferrule verify {made.name}"]
    if made.done != "could be frozen":
        notes.append(f"nothing was pushed; to share it: git push REMOTE BRANCH {made.tag}")
    if made.next_step:
        notes.append(made.next_step)
    document = describe_freeze(
        _TITLES[made.done].format(made.name),
        made.lock,
        tag=made.tag,
        file=made.file,
        commit=made.commit,
        lock_sha256=made.lock_sha256,
        signature=signature_words(made.signature, made.unproven),
        counts=(made.warnings, made.waived),
        notes=notes,
    )
    print_document(document, form)
