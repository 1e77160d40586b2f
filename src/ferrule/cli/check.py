"""``ferrule check``."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path
from typing import Any

import click

from ferrule.cli.main import FINDINGS, FINE
from ferrule.cli.options import color_option, colored, shown_path, source_options, today_option, width
from ferrule.model.records.product import STAGES
from ferrule.render.formats import CHECK_FORMATS, render_check

__all__ = ["command"]


@click.command("check")
@source_options
@click.option("--since", metavar="REV", help="Show only what was not there at this commit, tag or branch.")
@click.option("--stage", type=click.Choice(STAGES), help="Judge as at this stage [default: the product's].")
@click.option("--rule", "rules", multiple=True, metavar="RULE", help="Run this rule only; may be repeated.")
@click.option(
    "--fail-on", type=click.Choice(["error", "warning", "never"]), default="error", show_default=True,
    help="Exit with 1 from this severity on.",
)  # fmt: skip
@click.option(
    "--format",
    "form",
    type=click.Choice(CHECK_FORMATS),
    help="Form of the answer [default: text; github in a GitHub workflow].",
)
@click.option(
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the answer to a file; the text goes to standard error.",
)
@today_option
@color_option
def command(
    folder: Path | None,
    revision: str | None,
    index: bool,
    since: str | None,
    stage: Any,
    rules: tuple[str, ...],
    fail_on: str,
    form: str | None,
    output: Path | None,
    today: dt.date,
    color: str,
) -> int:
    """List everything wrong with a product: place, what is wrong, what to do.

    The severity of a finding depends on the product's stage. Errors exit with 1, warnings with 0. A finding
    covered by a waiver in force is counted, not shown; with --since so is one that stood there before.
    """
    from ferrule.app.check import Request, check_opened
    from ferrule.source.products import open_products

    opened = open_products(Path.cwd(), product=folder, revision=revision, index=index)
    request = Request(today=today, stage=stage, rules=frozenset(rules))
    result = check_opened(opened, request, since)
    if form is None:
        form = "github" if os.environ.get("GITHUB_ACTIONS") == "true" and output is None else "text"
    show = shown_path(opened[0].top)
    if output is not None:
        from ferrule.source.writing import write_file

        text = render_check(result, form, color=False, width=None, show_path=lambda path: path)
        write_file(output, text.encode())
        click.echo(render_check(result, "text", color=False, width=None, show_path=show), nl=False, err=True)
    else:
        text = render_check(result, form, color=colored(color), width=width(), show_path=show)
        click.echo(text, nl=False, color=True)
    severities = {found.finding.severity.value for found in result.findings}
    blocking = {"error": {"error"}, "warning": {"error", "warning"}, "never": set[str]()}[fail_on]
    return FINDINGS if severities & blocking else FINE
