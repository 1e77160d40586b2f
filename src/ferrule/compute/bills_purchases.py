"""Bills of parts: what we order ourselves, what is on order already, and what a factory's leftovers come to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from ferrule.compute.billing import Bill, Purse, end_of, order_day, terms_of
from ferrule.compute.buy import Bought, BuyRow, OrderLine
from ferrule.compute.leads import rough_days, source_legs
from ferrule.compute.memory import Memory
from ferrule.compute.owners import Book, Owners
from ferrule.compute.terms import days_after
from ferrule.model.duration import Duration
from ferrule.model.percent import Percent
from ferrule.model.records.assembly import Assembly
from ferrule.model.records.counts import OpenOrder
from ferrule.model.records.firms import Firm
from ferrule.model.records.part import Item, Part

__all__ = ["leftover_bills", "open_order_bills", "purchase_bills"]

_ZERO = Fraction(0)
_Items = Mapping[str, Part] | Mapping[str, Assembly]


def purchase_bills(  # noqa: PLR0913, PLR0917  what the bills are made from
    memory: Memory,
    purse: Purse,
    bought: Bought,
    parts: Mapping[str, Part],
    assemblies: Mapping[str, Assembly],
    firms: Mapping[str, Firm],
    book: Book,
) -> tuple[Bill, ...]:
    """Return a bill for everything we order ourselves."""
    today = bought.ask.today
    return memory.tuple_of(
        memory.of(
            _purchase_bill,
            purse,
            row,
            order,
            parts.get(row.part) or assemblies.get(row.part),
            firms.get(order.quote.source.seller or ""),
            book,
            today,
        )
        for row in bought.rows
        if row.buyer == purse.own
        for order in row.orders
    )


def _purchase_bill(  # noqa: PLR0913, PLR0917  what the bill is made from
    purse: Purse,
    row: BuyRow,
    order: OrderLine,
    item: Item | None,
    firm: Firm | None,
    book: Book,
    today: dt.date,
) -> Bill:
    source = order.quote.source
    currency = order.quote.currency or purse.currency_of(firm)
    spend = None if order.spend is None else order.spend + order.one_off
    own = item.source[order.quote.index].payment if item is not None else ()
    return Bill(
        name=f"order of {row.part}",
        kind="own purchases",
        payer=purse.own,
        payee=source.seller or "seller not known",
        amount=purse.amount_in(currency, spend),
        currency=currency,
        payments=terms_of(firm, own),
        events=_source_events(row, order, book, today),
        reason=f"{row.part}: we buy and send it",
        home=("part" if isinstance(item, Part) else "assembly", row.part, "source", order.quote.index),
        facts=(f"order quantity {order.qty}", f"order by {order.order_by}"),
    )


def _source_events(row: BuyRow, order: OrderLine, book: Book, today: dt.date) -> dict[str, dt.date | None]:
    source = order.quote.source
    day = order_day(order.order_by, today)
    legs = source_legs(source, Owners(seller=source.seller), book, "likely", order.qty)
    inbound = 1 if source.inbound is not None else 0
    sent, there = end_of(legs[: len(legs) - inbound], day), end_of(legs, day)
    return {
        "order": day,
        "kick-off": day,
        "shipment": sent,
        "invoice": sent,
        "arrival": there,
        "receipt": there,
        "start": min((each.day for _, each in row.wanted if each.day is not None), default=None),
    }


def leftover_bills(
    memory: Memory, purse: Purse, bought: Bought, firms: Mapping[str, Firm]
) -> tuple[Bill, ...]:
    """Return what we must take over of a factory's leftovers, where its terms say after how long."""
    found: list[Bill] = []
    for row in bought.rows:
        firm = firms.get(row.buyer or "")
        terms = firm.factory if firm is not None and row.buyer != purse.own else None
        if terms is not None and terms.covers_stock is not None:
            asked = (terms.covers_stock, terms.stock_markup, terms.stock_storage)
            found += memory.of(_leftover, purse, row, purse.currency_of(firm), *asked)
    return memory.tuple_of(found)


def _leftover(  # noqa: PLR0913, PLR0917  what the factory's terms say of it
    purse: Purse,
    row: BuyRow,
    currency: str,
    after: Duration,
    markup: Percent | None,
    storage: Percent | None,
) -> tuple[Bill, ...]:
    left = min(row.left, sum((order.qty for order in row.orders), _ZERO))
    if left <= 0 or row.left_value is None:
        return ()
    added = Fraction(markup.fraction) if markup is not None else _ZERO
    stored = Fraction(storage.fraction) * _months(after) if storage is not None else _ZERO
    last = max((each.day for _, each in row.wanted if each.day is not None), default=None)
    bill = Bill(
        name=f"leftover of {row.part}",
        kind="leftovers",
        payer=purse.own,
        payee=row.buyer or "",
        amount=purse.amount_in(currency, row.left_value * left / row.left * (1 + added + stored)),
        currency=currency,
        payments=(),
        events={"": None if last is None else days_after(last, after)},
        reason=f"{row.part}: the factory's leftover, taken over after {after}",
        home=("firm", row.buyer or "", "factory", "covers_stock"),
    )
    return (bill,)


def _months(span: Duration) -> Fraction:
    """Return a span in months of thirty days, for storage charged by the month."""
    return rough_days(span) / 30


def open_order_bills(
    purse: Purse,
    orders: Sequence[OpenOrder],
    parts: Mapping[str, Part],
    assemblies: Mapping[str, Assembly],
    firms: Mapping[str, Firm],
) -> tuple[Bill, ...]:
    """Return what is still to pay on orders already placed."""
    return tuple(_open_orders(purse, orders, (parts, assemblies), firms))


def _open_orders(
    purse: Purse, orders: Sequence[OpenOrder], items: Sequence[_Items], firms: Mapping[str, Firm]
) -> Iterator[Bill]:
    for index, order in enumerate(orders):
        firm = firms.get(order.seller)
        item = next((table[order.part] for table in items if order.part in table), None)
        sources = item.source if item is not None else ()
        source = next((each for each in sources if each.seller == order.seller), None)
        each = order.each
        yield Bill(
            name=f"{order.id}, {order.part}",
            kind="open orders",
            payer=purse.own,
            payee=order.seller,
            amount=None if each is None else Fraction(order.qty) * Fraction(each.number),
            currency=(each.currency if each is not None else "") or purse.currency_of(firm),
            payments=terms_of(firm, source.payment if source is not None else ()),
            events={
                **dict.fromkeys(("order", "kick-off"), order.ordered),
                **dict.fromkeys(("shipment", "invoice", "arrival", "receipt"), order.due),
            },
            reason=f"{order.part}, ordered {order.ordered or 'on no stated day'}",
            home=("order", index),
            paid=Fraction(order.paid.fraction) if order.paid is not None else _ZERO,
        )
