"""`built` in words."""

from __future__ import annotations

from ferrule.compute.built import Asked, Built
from ferrule.model.product import Product
from ferrule.report.document import Cell, Column, Document, Table
from ferrule.report.frozen import CAUTION

__all__ = ["describe_built"]

_AS_FROZEN = {True: "as frozen", False: "another than frozen", None: ""}
_SAME = {True: "as recorded", False: "another content", None: ""}


def describe_built(product: Product, built: Built, asked: Asked, label: str) -> Document:
    """Return the units a question is about, their lots, the waivers they were made under, and the papers."""
    facts: list[tuple[str, Cell]] = [("units", len(built.units)), ("serials", str(built.units) or "none")]
    for name, value in (("part", asked.part), ("lot", asked.lot), ("waiver", asked.waiver)):
        if value:
            facts.append((name, value))
    if asked.serial is not None:
        facts.append(("serial", asked.serial))
    facts.append(("state", label))
    tables = (_runs(built), _lots(product, built), _waivers(built), _results(built))
    return Document(
        key="built",
        title=f"What was built: {product.head.name}",
        facts=tuple(facts),
        tables=tuple(table for table in tables if table.rows),
        cautions=(CAUTION,),
    )


def _runs(built: Built) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            row.build,
            str(row.serials),
            len(row.serials),
            row.run.sku,
            row.run.factory,
            str(row.run.date) if row.run.date is not None else None,
            row.run.identities or "",
        )
        for row in built.runs
    ]
    columns = (
        Column("build", "build"),
        Column("serials", "serials"),
        Column("units", "units", "number"),
        Column("sku", "SKU"),
        Column("factory", "factory"),
        Column("date", "finished"),
        Column("identities", "identities", rank=1),
    )
    return Table(key="runs", title="Units", columns=columns, rows=rows)


def _lots(product: Product, built: Built) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for row in built.lots:
        item = product.item(row.fitted.part)
        rows.append(
            (
                row.build,
                row.fitted.part,
                item.name if item is not None else None,
                row.fitted.lot,
                str(row.fitted.serials),
                row.fitted.maker,
                row.fitted.seller,
                _AS_FROZEN[row.as_frozen],
                row.fitted.evidence or "",
            )
        )
    columns = (
        Column("build", "build"),
        Column("part", "part"),
        Column("name", "name", rank=3),
        Column("lot", "lot"),
        Column("serials", "serials"),
        Column("maker", "maker"),
        Column("seller", "seller", rank=2),
        Column("source", "source"),
        Column("evidence", "rests on", rank=1),
    )
    return Table(key="lots", title="Lots", columns=columns, rows=rows)


def _waivers(built: Built) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            row.build,
            row.under.rule,
            row.under.subject,
            str(row.serials),
            len(row.serials),
            str(row.until) if row.until is not None else "",
        )
        for row in built.waivers
    ]
    columns = (
        Column("build", "build"),
        Column("rule", "rule"),
        Column("subject", "about"),
        Column("serials", "serials"),
        Column("units", "units", "number"),
        Column("until", "holds until"),
    )
    return Table(key="waivers", title="Built under a waiver or deviation", columns=columns, rows=rows)


def _results(built: Built) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for row in built.results:
        result = row.result
        passed = {True: "passed", False: "not passed", None: None}[result.passed]
        day = str(result.date) if result.date is not None else None
        units = str(result.serials) if result.serials is not None else "all"
        rows.append((row.build, result.kind, result.file, day, passed, units, _SAME[row.same]))
    columns = (
        Column("build", "build"),
        Column("kind", "paper"),
        Column("file", "file"),
        Column("date", "day"),
        Column("passed", "result"),
        Column("serials", "units"),
        Column("content", "content"),
    )
    return Table(key="results", title="Papers", columns=columns, rows=rows)
