"""The tables that `export` writes: an indented list, every source with its prices, a plan's purchases."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from ferrule.compute.buy import Bought, BuyRow
from ferrule.compute.explode import walk
from ferrule.compute.structure import Structure
from ferrule.exchange.table_out import OutColumn, OutTable, Value
from ferrule.model.designators import compact
from ferrule.model.exact import Exact, in_full
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Pack, Part, PriceBreak, Source

__all__ = ["list_table", "purchase_table", "sources_table"]

#: Headings of a list are words that `import` knows, so that a list comes back as it went.
_LIST = (
    OutColumn("level", "level", "integer", "Level below the assembly, from 1."),
    OutColumn("item", "item", "integer", "Item reference in its assembly (ISO 6433)."),
    OutColumn("part", "part number", "string", "Part or assembly used."),
    OutColumn("name", "name", "string", "Name in words."),
    OutColumn("revision", "revision", "string", "Revision of its documents."),
    OutColumn("qty", "quantity", "number", "How many in one of the assembly above."),
    OutColumn("unit", "unit", "string", "Unit of the quantity."),
    OutColumn("total", "total quantity", "number", "How many in the whole quantity asked for."),
    OutColumn("designators", "designators", "string", "Places on the board."),
    OutColumn("class", "category", "string", "Class of the part."),
    OutColumn("maker", "maker", "string", "Who makes it, by the first source that may be bought."),
    OutColumn("maker_part", "maker part number", "string", "The maker's own number."),
    OutColumn("seller", "seller", "string", "Who sells it."),
    OutColumn("seller_part", "seller part number", "string", "The seller's number."),
)

_SOURCES = (
    OutColumn("part", "part number", "string", "Part or assembly."),
    OutColumn("name", "name", "string", "Name in words."),
    OutColumn("maker", "maker", "string", "Who makes it."),
    OutColumn("maker_part", "maker part number", "string", "The maker's own number."),
    OutColumn("seller", "seller", "string", "Who sells it."),
    OutColumn("seller_part", "seller part number", "string", "The seller's number."),
    OutColumn("status", "status", "string", "Whether it may be bought."),
    OutColumn("form", "form", "string", "Form it comes in, where it has its own prices."),
    OutColumn("from", "from quantity", "number", "Smallest order quantity of this price."),
    OutColumn("each", "unit price", "number", "Price of one."),
    OutColumn("pack", "pack price", "number", "Price of one pack instead."),
    OutColumn("currency", "currency", "string", "Currency, ISO 4217."),
    OutColumn("moq", "least order", "number", "Least quantity of an order."),
    OutColumn("multiple", "multiple", "number", "Steps of an order."),
    OutColumn("lead_time", "lead time", "string", "From order to the end of the seller's work."),
    OutColumn("origin", "country of origin", "string", "ISO 3166."),
    OutColumn("quoted", "quoted", "date", "Day of the quote."),
    OutColumn("valid_until", "valid until", "date", "Last day of the quote."),
)

_PURCHASE = (
    OutColumn("part", "part number", "string", "What to buy."),
    OutColumn("name", "name", "string", "Name in words."),
    OutColumn("buyer", "buyer", "string", "Who buys it."),
    OutColumn("seller", "seller", "string", "From whom."),
    OutColumn("seller_part", "seller part number", "string", "The seller's number."),
    OutColumn("maker", "maker", "string", "Who makes it."),
    OutColumn("maker_part", "maker part number", "string", "The maker's own number."),
    OutColumn("order", "order quantity", "number", "How many to order."),
    OutColumn("unit", "unit", "string", "Unit of the quantity."),
    OutColumn("spend", "spend", "number", "What it costs, in the home currency."),
    OutColumn("currency", "currency", "string", "Home currency."),
    OutColumn("net", "net need", "number", "Need after stock and open orders."),
    OutColumn("left", "left over", "number", "Pieces left over."),
    OutColumn("order_by", "order by", "date", "Latest day of the order."),
)


def list_table(product: Product, structure: Structure, root: str, qty: Decimal) -> OutTable:
    """Return the indented list below an assembly, a row a line; a phantom takes a level like any other.

    Raises ValueError where assemblies form a ring.
    """
    rows = []
    way = [root]
    for row in walk(product, structure, root, qty):
        while way[-1] != row.edge.parent:
            way.pop()
        level = len(way)
        way.append(row.edge.child)
        item = product.item(row.edge.child)
        line = product.lines[row.edge.parent][row.edge.index]
        source = _first_source(item)
        rows.append(
            (
                level,
                line.item,
                row.edge.child,
                _said(item.name if item is not None else None),
                _said(item.rev if item is not None else None),
                _number(row.edge.qty),
                item.unit if item is not None else "each",
                _number(row.extended),
                compact(line.designators.names) if line.designators is not None else None,
                _class(item),
                *_firms(product, source),
            )
        )
    return OutTable(name="list", about=f"Indented list of {root}", columns=_LIST, rows=tuple(rows))


def sources_table(product: Product) -> OutTable:
    """Return every price of every source of a product, a row a price; a source without a price has one row."""
    rows = tuple(
        row
        for _, number, item in sorted(product.items(), key=lambda each: each[1])
        for source in item.source
        for row in _source_rows(product, number, item, source)
    )
    return OutTable(name="sources", about=f"Sources of {product.head.name}", columns=_SOURCES, rows=rows)


def _source_rows(product: Product, number: str, item: Item, source: Source) -> Iterator[tuple[Value, ...]]:
    lists: list[tuple[str | None, tuple[PriceBreak, ...], Source | Pack]] = [(None, source.price, source)]
    lists += [(pack.form, pack.price, pack) for pack in source.pack]
    prices: list[tuple[str | None, PriceBreak | None, Source | Pack]] = [
        (form, price, terms) for form, breaks, terms in lists for price in breaks
    ]
    for form, price, terms in prices or [(None, None, source)]:
        yield (
            number,
            _said(item.name),
            *_firms(product, source),
            source.status,
            form,
            Decimal(price.from_) if price is not None else None,
            price.each.number if price is not None and price.each is not None else None,
            price.pack.number if price is not None and price.pack is not None else None,
            source.currency,
            None if terms.moq is None else Decimal(terms.moq),
            None if terms.multiple is None else Decimal(terms.multiple),
            None if source.lead_time is None else str(source.lead_time),
            source.origin,
            source.quoted,
            source.valid_until,
        )


def purchase_table(product: Product, bought: Bought) -> OutTable:
    """Return what a plan orders: a row an order, and one for a part that is needed and nobody can be asked for."""
    rows = [row for each in bought.rows for row in _purchase_rows(product, each)]
    return OutTable(
        name="purchase", about=f"Purchases of {bought.runs.title}", columns=_PURCHASE, rows=tuple(rows)
    )


def _purchase_rows(product: Product, row: BuyRow) -> Iterator[tuple[Value, ...]]:
    item = product.item(row.part)
    unit = item.unit if item is not None else "each"
    start = (row.part, _said(item.name if item is not None else None), row.buyer)
    home, net, left = product.head.currency, _number(row.netted.net), _number(row.left)
    for order in row.orders:
        source = order.quote.source
        maker, maker_part, seller, seller_part = _firms(product, source)
        yield (
            *start, seller, seller_part, maker, maker_part, _number(order.qty), unit, _number(order.spend), home,
            net, left, order.order_by,
        )  # fmt: skip
    if row.is_short:
        yield (*start, None, None, None, None, None, unit, None, home, net, None, None)


def _first_source(item: Item | None) -> Source | None:
    if item is None:
        return None
    return next(
        (source for source in item.source if source.status == "approved"), next(iter(item.source), None)
    )


def _firms(product: Product, source: Source | None) -> tuple[Value, ...]:
    if source is None:
        return (None, None, None, None)
    maker, seller = (_firm(product, firm) for firm in (source.maker, source.seller))
    return (maker, source.maker_part, seller, source.seller_part)


def _firm(product: Product, number: str | None) -> str | None:
    return product.firms[number].name if number is not None and number in product.firms else number


def _class(item: Item | None) -> Value:
    if item is None:
        return None
    return item.class_ if isinstance(item, Part) else "assembly"


def _said(text: str | None) -> Value:
    return text or None


def _number(number: Exact | None) -> Decimal | None:
    """Return a number as a decimal; one that never ends to twelve places, as all machine forms have it."""
    return None if number is None else Decimal(in_full(number))
