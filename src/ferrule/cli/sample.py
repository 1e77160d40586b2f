"""``ferrule sample``."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import (
    Day,
    format_option,
    one,
    refuse_svg,
    source_options,
    table_option,
    today_option,
)

__all__ = ["command"]


@click.command("sample")
@click.argument("assembly")
@click.option("--lot", type=click.IntRange(2, 100_000_000), metavar="UNITS", help="Units in the lot.")
@click.option(
    "--level",
    type=click.Choice(["S-1", "S-2", "S-3", "S-4", "I", "II", "III"]),
    help="Instead of the plan's level.",
)
@click.option("--tightened", is_flag=True, help="Tightened inspection, Table II-B.")
@click.option(
    "--bad",
    default="1 %",
    show_default=True,
    help="Where none is accepted: the share of bad units to be caught.",
)
@click.option(
    "--risk",
    default="5 %",
    show_default=True,
    help="Where none is accepted: the chance that it passes all the same.",
)
@click.option("--found", metavar="DEFECTS", help="What the inspection found: critical=0,major=1,minor=3.")
@click.option("--made", type=Day(), help="Day the lot was made: was the plan signed and committed before?")
@click.option(
    "--sheet", type=click.Path(path_type=Path), metavar="FILE", help="Write the lot sheet, as TOML."
)
@click.option(
    "--first-article", "articles", is_flag=True, help="List the characteristics of every part below instead."
)
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Write the operating curves.")
@table_option
@source_options
@today_option
@format_option("text", "json", "csv")
@click.pass_context
def command(
    context: click.Context,
    assembly: str,
    lot: int | None,
    level: str | None,
    tightened: bool,
    bad: str,
    risk: str,
    found: str | None,
    made: dt.date | None,
    sheet: Path | None,
    articles: bool,
    svg: Path | None,
    table: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show how many units of a lot to inspect, what refuses it, and what such a plan lets pass.

    Limits come from the quality plan of ASSEMBLY. With --found the lot is judged; exits with 1 where it is refused.
    """
    from ferrule.app import sampling as use
    from ferrule.app.structure import open_structure
    from ferrule.compute.lot_plan import Regime
    from ferrule.compute.sampling import judge
    from ferrule.compute.structure import Context
    from ferrule.report.first_article import describe_first_articles
    from ferrule.report.sample import describe_sample, lot_facts
    from ferrule.source.products import open_products

    if articles == (lot is not None):
        raise click.UsageError("pass --lot UNITS, or --first-article for the list of characteristics")
    refuse_svg(svg, table, ("--first-article", articles))
    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    asked = open_structure(opened.read(), Context(day=today))
    if articles or lot is None:
        document = describe_first_articles(
            asked.product, assembly, use.articles_of(asked, assembly), asked.label
        )
        print_document(document, form, asked.faults, table=table)
        return
    quality = use.quality_of(asked, assembly)
    regime = Regime(
        severity="tightened" if tightened else "normal", protection=use.protection(bad, risk), level=level
    )
    plan = use.lot_plan(assembly, quality, lot, regime)
    defects = use.defects(found)
    verdict = judge(plan.plans, defects) if found is not None else None
    before = (
        use.precedence(quality, (opened.top or Path()) / opened.folder, made) if made is not None else None
    )
    if sheet is not None:
        use.write_sheet(sheet, lot_facts(plan, defects, verdict, before))
    document = describe_sample(plan, asked.label, found=defects, verdict=verdict, before=before)
    print_document(document, form, asked.faults, svg=svg, table=table)
    if verdict is not None and verdict.accepted is False:
        context.exit(1)
