"""``ferrule explode``."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

import click

from ferrule.cli.answer import print_document
from ferrule.cli.options import context_options, format_option, one, source_options, today_option

__all__ = ["Amount", "command"]


class Amount(click.ParamType[Decimal]):
    """A positive exact number."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Decimal:
        """Return the number, or fail with the accepted form."""
        from ferrule.model.number import digits

        number = value if isinstance(value, Decimal) else digits(str(value))
        if number is None or number <= 0:
            self.fail(f"{value!r} is not a quantity; write it as 1000 or 0.5", param, ctx)
        return number


@click.command("explode")
@click.argument("assembly", required=False)
@click.option("--sku", metavar="SKU", help="The same as ASSEMBLY, for a SKU.")
@click.option("--qty", type=Amount(), default="1", show_default=True, help="How many of the assembly.")
@click.option("--tree", is_flag=True, help="Show the lines as an indented list instead of totals.")
@click.option("--level", type=click.IntRange(min=1), help="Go down to this level only.")
@context_options
@source_options
@today_option
@format_option("text", "json", "csv")
def command(
    assembly: str | None,
    sku: str | None,
    qty: Decimal,
    tree: bool,
    level: int | None,
    serial: int | None,
    build: str | None,
    folder: Path | None,
    revision: str | None,
    index: bool,
    today: dt.date,
    form: str | None,
) -> None:
    """Show how many of every part an assembly needs.

    Quantities are exact and stand before attrition, packs and minimum orders. Lines that are not fitted or
    not effective do not count; alternates never add. With --tree every line is shown where it stands.
    Without ASSEMBLY the assemblies are listed.
    """
    from ferrule.app.structure import exploded, open_structure
    from ferrule.compute.explode import walk
    from ferrule.compute.structure import Context
    from ferrule.report.structure import assembly_list, describe_totals, describe_tree
    from ferrule.source.products import open_products

    opened = one(open_products(Path.cwd(), product=folder, revision=revision, index=index))
    asked = open_structure(opened.read(), Context(day=today, serial=serial, build=build))
    if assembly is not None and sku is not None:
        raise click.UsageError("name the assembly either as ASSEMBLY or with --sku, not both")
    root = assembly or sku
    if root is None:
        print_document(assembly_list(asked.product, asked.structure), form, asked.faults)
        return
    totals = exploded(asked, root, qty)
    if tree:
        rows = walk(asked.product, asked.structure, root, qty, deepest=level)
        print_document(describe_tree(asked.product, rows, root, qty, asked.label), form, asked.faults)
        return
    print_document(
        describe_totals(asked.product, asked.structure, totals, asked.label, level), form, asked.faults
    )
