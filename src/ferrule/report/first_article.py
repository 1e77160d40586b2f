"""First articles in words: what was measured on each part, against which limits, and what is still open."""

from __future__ import annotations

from collections.abc import Sequence

from ferrule.compute.first_article import Checked
from ferrule.model.product import Product
from ferrule.report.document import Cell, Column, Document, Table
from ferrule.report.wording import counted

__all__ = ["describe_first_articles"]


def describe_first_articles(product: Product, number: str, found: Sequence[Checked], label: str) -> Document:
    """Return the list of characteristics below an assembly."""
    still = [one for one in found if one.characteristic.first_article != "passed"]
    wrong = [one for one in found if one.contradicts or one.measured == "outside"]
    rows: list[tuple[Cell, ...]] = [_row(product, one) for one in found]
    columns = (
        Column("part", "part", whole=True),
        Column("name", "name", rank=2),
        Column("rev", "rev"),
        Column("characteristic", "characteristic"),
        Column("low", "low", "number"),
        Column("nominal", "nominal", "number", rank=1),
        Column("high", "high", "number"),
        Column("measured", "measured"),
        Column("method", "method", rank=3),
        Column("critical", "critical"),
        Column("state", "first article"),
        Column("remark", ""),
    )
    notes = [
        f"{counted(len(found), 'characteristic')}; {len(still)} open; {len(wrong)} outside the limits or contradicted."
    ]
    if not found:
        notes = [
            f"No part below {number} states a characteristic: nothing says what its first article must show."
        ]
    return Document(
        key="first_articles",
        title=f"First articles of {number}",
        facts=(("state", label),),
        tables=(Table(key="characteristics", columns=columns, rows=rows),) if found else (),
        notes=tuple(notes),
    )


def _row(product: Product, one: Checked) -> tuple[Cell, ...]:
    item, fact = product.item(one.part), one.characteristic
    remark: str = "" if one.measured == "within" else one.measured
    if one.contradicts:
        remark = f"{one.measured} the limits, but said to be {fact.first_article}"
    return (
        one.part,
        item.name if item is not None else None,
        one.rev,
        fact.name,
        "" if fact.low is None else str(fact.low),
        "" if fact.nominal is None else str(fact.nominal),
        "" if fact.high is None else str(fact.high),
        ", ".join(str(value) for value in fact.measured),
        fact.method or "",
        "yes" if fact.critical else "no",
        fact.first_article or "not begun",
        remark,
    )
