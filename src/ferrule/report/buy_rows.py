"""The rows of a purchase list: each part with its working and remarks, and its needs build by build."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.buy import Bought, BuyRow
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Table
from ferrule.report.wording import quantity

__all__ = ["builds_table", "left_cells", "named_parts", "parts_table"]

_ZERO = Fraction(0)
#: Parts named in a remark that holds for many.
_NAMED = 6
#: What a row may say is missing by its name alone; else it says so in a sentence.
_NOUNS = frozenset(("attrition", "set-up loss", "source", "price", "lead time", "day of need"))


def parts_table(product: Product, rows: Sequence[BuyRow]) -> Table:
    """Return the purchase list, a part for one buyer in each row, with its remarks below."""
    columns = (
        Column("part", "part"),
        Column("name", "name", rank=9),
        Column("buyer", "buyer", rank=8),
        Column("supply", "supply", rank=17),
        Column("seller", "seller", rank=2),
        Column("unit", "unit", rank=7),
        Column("demand", "demand", "number", rank=6),
        Column("attrition", "lost", "number", rank=12),
        Column("mounts", "mounts", "number", rank=14),
        Column("setup_loss", "at set-up", "number", rank=13),
        Column("gross", "gross", "number", rank=5),
        Column("stock", "stock", "number", rank=10),
        Column("receipts", "due in", "number", rank=11),
        Column("late", "late", "number", rank=15),
        Column("net", "net", "number"),
        Column("bound", ""),
        Column("order", "order", "number"),
        Column("each", "each", "number", rank=3),
        Column("spend", "spend", "number"),
        Column("left", "left", "number", rank=4),
        Column("left_value", "value left", "number"),
        Column("order_by", "order by"),
        Column("plain", "plain", "number", rank=16),
        Column("remark", "", in_text=False),
    )
    cells = [_part_row(product, row) for row in rows]
    return Table(key="parts", columns=columns, rows=cells, notes=tuple(_grouped_remarks(product, rows)))


def _grouped_remarks(product: Product, rows: Sequence[BuyRow]) -> Iterator[str]:
    """Yield each remark once with the parts it holds for, the first few by name."""
    parts: dict[str, list[str]] = {}
    for row in rows:
        for words in dict.fromkeys(_remarks(product, row)):
            parts.setdefault(words, []).append(row.part)
    for words, names in parts.items():
        yield f"{words}: {named_parts(names)}"


def named_parts(parts: Sequence[str]) -> str:
    """Return the first few of some parts by name, the others counted."""
    more = f" and {len(parts) - _NAMED} more" if len(parts) > _NAMED else ""
    return f"{', '.join(parts[:_NAMED])}{more}"


def _part_row(product: Product, row: BuyRow) -> tuple[Cell, ...]:
    item = product.item(row.part)
    gross = row.gross
    return (
        row.part,
        item.name if item is not None else None,
        row.buyer or "supplied free",
        row.supply,
        _sellers_of(row),
        item.unit if item is not None else "each",
        Amount(gross.demand, 3, trim=True),
        Amount(gross.attrition + gross.offcut, 3, trim=True),
        gross.mounts,
        Amount(gross.setup, 3, trim=True),
        Amount(gross.total, 3, trim=True),
        Amount(row.netted.usable, 3, trim=True),
        Amount(row.netted.in_time, 3, trim=True),
        Amount(row.netted.late, 3, trim=True),
        Amount(row.netted.net, 3, trim=True),
        "at least" if row.gross.unknown else "",
        None if row.is_short else Amount(row.ordered, 3, trim=True),
        _each_cell(row),
        _spend_cell(row),
        *left_cells(row),
        _order_by(row),
        None if row.plain is None else Amount(row.plain),
        "; ".join(_remarks(product, row)),
    )


def _sellers_of(row: BuyRow) -> Cell:
    if not row.orders:
        return "" if not row.is_short else None
    return ", ".join(order.quote.source.seller or f"source {order.quote.index + 1}" for order in row.orders)


def _each_cell(row: BuyRow) -> Cell:
    baskets = [order.basket for order in row.orders]
    if not baskets:
        return "" if not row.is_short else None
    if any(basket is None for basket in baskets):
        return None
    goods = sum((basket.goods for basket in baskets if basket is not None), _ZERO)
    return Amount(goods / row.ordered, 4) if row.ordered else ""


def _spend_cell(row: BuyRow) -> Cell:
    if row.is_short:
        return None
    return None if row.spend is None else Amount(row.spend)


def left_cells(row: BuyRow) -> tuple[Cell, Cell]:
    """Return what is left over and its worth; both unknown where nobody can be asked for what is needed."""
    if row.is_short:
        return None, None
    return Amount(row.left, 3, trim=True), None if row.left_value is None else Amount(row.left_value)


def _order_by(row: BuyRow) -> Cell:
    if not row.orders:
        return "" if not row.is_short else None
    days = [order.order_by for order in row.orders]
    known = [day for day in days if day is not None]
    return min(known).isoformat() if len(known) == len(days) else None


def _remarks(product: Product, row: BuyRow) -> Iterator[str]:
    item = product.item(row.part)
    if item is not None and item.in_house:
        yield "made in house"
    missing = _NOUNS.union(*(order.quote.unknown for order in row.orders))
    yield from (f"{words} not known" if words in missing else words for words in row.unknown)
    if row.lacking and row.orders:
        yield f"{quantity(row.lacking)} of {quantity(row.netted.net)} ordered from nobody"
    for order in row.orders:
        yield from (doubt.words for doubt in order.doubts)
    if row.earlier:
        yield "stock and receipts serve earlier builds first"
    if row.netted.late:
        yield f"{quantity(row.netted.late)} on order come too late"
    for reason, qty in row.netted.unusable:
        yield f"{quantity(qty)} {reason}, not counted"


def builds_table(bought: Bought) -> Table:
    """Return what each build needs of each part."""
    columns = (
        Column("part", "part"),
        Column("buyer", "buyer"),
        Column("build", "build"),
        Column("sku", "SKU"),
        Column("day", "needed"),
        Column("demand", "demand", "number"),
        Column("gross", "gross", "number"),
        Column("net", "net", "number"),
    )
    skus = {run.name: run.sku for run in bought.runs.runs}
    rows: list[tuple[Cell, ...]] = []
    for row in bought.rows:
        for (build, wanted), net in zip(row.wanted, row.netted.nets, strict=True):
            demand = sum((use.quantity for use in row.uses if use.run == build), _ZERO)
            rows.append(
                (
                    row.part,
                    row.buyer or "supplied free",
                    build,
                    skus[build],
                    wanted.day.isoformat() if wanted.day is not None else None,
                    Amount(demand, 3, trim=True),
                    Amount(wanted.gross, 3, trim=True),
                    Amount(net, 3, trim=True),
                )
            )
    note = "what a build adds to the gross need of those before it: losses are pooled, rounded up once"
    return Table(key="builds", title="By build", columns=columns, rows=rows, notes=(note,))
