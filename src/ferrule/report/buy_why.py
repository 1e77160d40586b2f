"""The working behind one part of a purchase list, step by step, with the place of every fact."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from ferrule.compute.buy import Bought, BuyRow, OrderLine
from ferrule.model.product import Product
from ferrule.report.buy_rows import left_cells
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.evidence import evidence_of
from ferrule.report.wording import counted, percent, quantity

__all__ = ["describe_why"]

#: Leads from a record and a path inside it to its file and line.
Where = Callable[..., str]


def describe_why(product: Product, bought: Bought, part: str, label: str, where: Where) -> Document:
    """Return the working of one part, step by step, with the place of every fact."""
    rows: list[tuple[Cell, ...]] = []
    for row in bought.rows:
        if row.part == part:
            rows += _working(product, bought, row, where)
    columns = (
        Column("step", "step"),
        Column("working", "working"),
        Column("result", "result", "number"),
        Column("place", "place", whole=True),
    )
    item = product.item(part)
    return Document(
        key="buy_why",
        title=f"Why {part} {item.name if item is not None and item.name else ''}".rstrip(),
        facts=(
            ("part", part),
            ("unit", item.unit if item is not None else "each"),
            ("state", label),
            ("currency", product.head.currency),
        ),
        tables=(Table(key="working", columns=columns, rows=rows),),
    )


def _working(product: Product, bought: Bought, row: BuyRow, where: Where) -> Iterator[tuple[Cell, ...]]:
    yield from _demand_steps(product, row, where)
    gross = row.gross
    kind = "part" if row.part in product.parts else "assembly"
    lost = Amount(gross.attrition, 3, trim=True)
    yield ("attrition", _attrition(product, row), lost, where(kind, row.part, "attrition"))
    if gross.setup:
        reels = counted(gross.mounts, "reel or strip", "reels or strips")
        working = f"{reels} mounted, {counted(gross.runs, 'set-up')}"
        yield ("set-up loss", working, Amount(gross.setup, 3, trim=True), where(kind, row.part, "setup_loss"))
    if gross.offcut:
        yield ("offcut", "what is too short for a piece", Amount(gross.offcut, 3, trim=True), "")
    yield ("gross", "pooled, rounded up once", Amount(gross.total, 3, trim=True), "")
    yield from _stock_steps(product, row, where)
    if row.earlier:
        yield ("earlier builds", "take of stock and receipts first", Amount(row.earlier, 3, trim=True), "")
    yield ("net", "need by need, in the order of their dates", Amount(row.netted.net, 3, trim=True), "")
    for order in row.orders:
        yield from _order_steps(product, row, order, bought.ask.strategy, where)
    if row.is_short:
        yield ("order", "no source can be asked", None, where(kind, row.part))
    left, value = left_cells(row)
    yield ("left", "over when all is built", left, "")
    yield ("value left", "ordered pieces at the price paid, stock at its own", value, "")


def _attrition(product: Product, row: BuyRow) -> str:
    """Return the rates and floors of a row's uses, with the convention they are meant by."""
    rates = sorted({use.attrition for use in row.uses if use.attrition is not None})
    floors = sorted({use.floor for use in row.uses if use.floor})
    words = [
        f"{product.conventions.attrition} {', '.join(percent(rate, 2) for rate in rates) or 'not stated'}"
    ]
    words += [f"at least {quantity(floor)} a set-up" for floor in floors]
    return ", ".join(words)


def _demand_steps(product: Product, row: BuyRow, where: Where) -> Iterator[tuple[Cell, ...]]:
    days = {name: wanted.day for name, wanted in row.wanted}
    for use in row.uses:
        line = product.lines[use.parent][use.index]
        cut = f" x {quantity(use.cut)}" if use.cut is not None else ""
        day = days.get(use.run)
        working = f"{quantity(use.units)} of {use.assembly} enter x {quantity(use.each)}{cut}" + (
            f", needed {day}" if day is not None else ""
        )
        place = where("assembly", use.parent, "line", use.index, "qty" if line.qty is not None else "part")
        yield (f"demand of {use.run}", working, Amount(use.quantity, 3, trim=True), place)


def _stock_steps(product: Product, row: BuyRow, where: Where) -> Iterator[tuple[Cell, ...]]:
    for index, stock in enumerate(product.stock):
        if stock.part == row.part:
            words = f"{stock.status} at {stock.place}, counted {stock.counted}"
            yield ("stock", words, Amount(Fraction(stock.qty), 3, trim=True), where("stock", index, "qty"))
    for index, order in enumerate(product.orders):
        if order.part == row.part:
            words = f"{order.id} from {order.seller}, due {order.due or 'on no stated day'}"
            yield ("on order", words, Amount(Fraction(order.qty), 3, trim=True), where("order", index, "qty"))
    net = row.netted
    yield ("usable stock", "counted, not blocked", Amount(net.usable, 3, trim=True), "")
    yield ("receipts in time", "due before a day of need", Amount(net.in_time, 3, trim=True), "")
    if net.safety:
        yield ("safety stock", "never planned away", Amount(net.safety, 3, trim=True), "")


def _order_steps(
    product: Product, row: BuyRow, order: OrderLine, strategy: str, where: Where
) -> Iterator[tuple[Cell, ...]]:
    source, index = order.quote.source, order.quote.index
    kind = "part" if row.part in product.parts else "assembly"
    rank = f"rank {source.rank}" if source.rank is not None else "no rank stated"
    firms = f"{source.maker or 'maker not known'} from {source.seller or 'seller not known'}"
    words = f"{firms}, {rank}; {evidence_of(product, (kind, row.part, 'source', index)) or 'no quote'}"
    yield ("source", words, "", where(kind, row.part, "source", index))
    for name, basket in order.purchase.baskets.items():
        chosen = " (chosen)" if name == strategy else ""
        for lot in basket.lots:
            form = lot.form.label or "loose"
            path = (*lot.form.path, lot.form.break_at(lot.qty))
            own = f"{quantity(lot.form.own[lot.form.break_at(lot.qty)], 6)} {order.quote.currency}"
            working = (
                f"{quantity(lot.qty)} as {form} at {own} = {quantity(lot.price, 6)} {product.head.currency}"
            )
            place = where(kind, row.part, "source", index, *path)
            yield (f"{name}{chosen}", working, Amount(lot.qty * lot.price), place)
        if basket.charges:
            yield (f"{name}{chosen}", "charges beside the price", Amount(basket.charges), "")
    if order.purchase.pays_from is not None:
        low, target = order.purchase.pays_from
        words = f"from {quantity(low)} on, ordering {quantity(target)} costs no more"
        yield ("buying up", words, "", "")
    if order.basket is None:
        yield ("order", f"{quantity(order.qty)} ordered, no price is known", None, "")
    if order.order_by is not None:
        lead = where(kind, row.part, "source", index, "lead_time")
        yield (
            "order by",
            f"lead time {source.lead_time or 'in legs'}, in the seller's calendar",
            order.order_by.isoformat(),
            lead,
        )
    else:
        yield ("order by", "lead time or day of need is not known", None, "")
    for doubt in order.doubts:
        yield ("doubt", doubt.words, "", where(kind, row.part, "source", index))
