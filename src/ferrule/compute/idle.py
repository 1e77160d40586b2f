"""Stock and open orders that a change leaves without a use, in money.

For each part: what is idle after the change less what would have been idle without it, of what lies and is on
order today. Needs use up what lies first, then what cannot be cancelled; what is left of orders that can be is the
first to be idle. All plans' gross needs count; nothing is counted as scrap, for another product may use it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.figures import Figures
from ferrule.compute.leads import rough_days
from ferrule.compute.pooling import Market
from ferrule.model.product import Product
from ferrule.model.records.counts import OpenOrder
from ferrule.model.records.part import Source

__all__ = ["IdleStock", "cancel_fee", "idle_stock", "is_fixed", "order_price", "price_of", "source_of"]

_ZERO = Fraction(0)


class IdleStock(Struct, frozen=True, kw_only=True):
    """What of a part is idle through the change, in its unit, with its value in the home currency.

    ``fee`` is what cancelling the cancellable part costs today. Values are None where a price is not known.
    """

    part: str
    on_hand: Fraction
    on_hand_value: Fraction | None
    fixed: Fraction
    fixed_value: Fraction | None
    cancellable: Fraction
    cancellable_value: Fraction | None
    fee: Fraction | None

    @property
    def lost(self) -> Fraction | None:
        """Return the money gone or bound: what lies, what must be taken, and what cancelling costs."""
        parts = (self.on_hand_value, self.fixed_value, self.fee)
        return None if any(part is None for part in parts) else sum((part or _ZERO for part in parts), _ZERO)


class _Lot(Struct, frozen=True, kw_only=True):
    """Some of a part in one place or order: what one is worth, and what cancelling one costs (None: not to be had)."""

    qty: Fraction
    each: Fraction | None
    sort: str
    fee: Fraction | None = None


def idle_stock(before: Figures, after: Figures) -> tuple[IdleStock, ...]:
    """Return the parts of which the change leaves something idle, by number."""
    old, new = _needs(before), _needs(after)
    product = after.product
    market = Market(product)
    parts = {stock.part for stock in product.stock} | {order.part for order in product.orders}
    rows = []
    for part in sorted(parts):
        lots = list(_lots(market, part, after.today))
        was, now = old.get(part, _ZERO), new.get(part, _ZERO)
        if now < was and was > 0:
            row = _idle(part, lots, was, now)
            if row is not None:
                rows.append(row)
    return tuple(rows)


def _needs(figures: Figures) -> dict[str, Fraction]:
    """Return the gross need of every part in all plans."""
    found: dict[str, Fraction] = {}
    for plan in figures.plans.values():
        for row in plan.ground.bought.rows:
            found[row.part] = found.get(row.part, _ZERO) + row.gross.total
    return found


def _lots(market: Market, part: str, today: dt.date) -> Iterator[_Lot]:
    """Yield what there is of a part in the order in which needs use it up."""
    product, home = market.product, market.product.head.currency
    for stock in product.stock:
        if stock.part == part and stock.ours and stock.status != "quarantined":
            each = (
                market.rates.money(stock.value, home, home)
                if stock.value is not None
                else price_of(market, part, None, Fraction(stock.qty))
            )
            yield _Lot(qty=Fraction(stock.qty), each=each, sort="on hand")
    orders = [order for order in product.orders if order.part == part]
    for order in sorted(orders, key=lambda each: not is_fixed(product, each)):
        sort = "fixed" if is_fixed(product, order) else "cancellable"
        fee = cancel_fee(product, order, today) if sort == "cancellable" else None
        yield _Lot(qty=Fraction(order.qty), each=order_price(market, order), sort=sort, fee=fee)


def _idle(part: str, lots: Iterable[_Lot], was: Fraction, now: Fraction) -> IdleStock | None:
    amounts: dict[str, Fraction] = {"on hand": _ZERO, "fixed": _ZERO, "cancellable": _ZERO}
    values: dict[str, Fraction | None] = {"on hand": _ZERO, "fixed": _ZERO, "cancellable": _ZERO}
    fee: Fraction | None = _ZERO
    at = _ZERO
    for lot in lots:
        # Idle of this lot: what the new need does not reach and the old one did.
        reached = min(max(was - at, _ZERO), lot.qty) - min(max(now - at, _ZERO), lot.qty)
        at += lot.qty
        if not reached:
            continue
        amounts[lot.sort] += reached
        known = values[lot.sort]
        values[lot.sort] = None if known is None or lot.each is None else known + reached * lot.each
        if lot.sort == "cancellable":
            share = None if lot.fee is None or lot.each is None else lot.fee * reached * lot.each
            fee = None if fee is None or share is None else fee + share
    if not any(amounts.values()):
        return None
    return IdleStock(
        part=part,
        on_hand=amounts["on hand"],
        on_hand_value=values["on hand"],
        fixed=amounts["fixed"],
        fixed_value=values["fixed"],
        cancellable=amounts["cancellable"],
        cancellable_value=values["cancellable"],
        fee=fee,
    )


def source_of(product: Product, part: str, seller: str | None) -> Source | None:
    """Return the source of a part at a seller, else its first approved one; None where there is none."""
    item = product.item(part)
    sources = item.source if item is not None else ()
    named = [source for source in sources if seller is not None and source.seller == seller]
    approved = [source for source in sources if source.status == "approved"]
    return next(iter([*named, *approved]), None)


def is_fixed(product: Product, order: OpenOrder) -> bool:
    """Return whether an open order can neither be cancelled nor returned: as it says, else as its source says."""
    if order.ncnr is not None:
        return order.ncnr
    source = source_of(product, order.part, order.seller)
    return bool(source is not None and source.ncnr)


def order_price(market: Market, order: OpenOrder) -> Fraction | None:
    """Return the price of one of an order in the home currency: its own, else its source's; None if not known."""
    if order.each is None:
        return price_of(market, order.part, order.seller, Fraction(order.qty))
    source = source_of(market.product, order.part, order.seller)
    home = market.product.head.currency
    return market.rates.money(order.each, (source.currency if source is not None else None) or home, home)


def price_of(market: Market, part: str, seller: str | None, qty: Fraction) -> Fraction | None:
    """Return what one costs when so many are ordered, by the main form of a source; None if not known."""
    source = source_of(market.product, part, seller)
    quote = next((each for each in market.quotes(part) if each.source is source), None)
    form = quote.forms[0] if quote is not None and quote.forms else None
    return None if form is None else form.price(max(form.least, qty))


def cancel_fee(product: Product, order: OpenOrder, today: dt.date) -> Fraction | None:
    """Return the share of an order's value that cancelling it today costs.

    The highest step whose time before delivery has begun; nothing where the source states no steps. None where
    the order has no promised day and the source states steps.
    """
    source = source_of(product, order.part, order.seller)
    steps = source.cancellation if source is not None else ()
    if not steps:
        return _ZERO
    if order.due is None:
        return None
    left = (order.due - today).days
    begun = (step for step in steps if left < rough_days(step.before))
    return max((Fraction(step.fee.fraction) for step in begun), default=_ZERO)
