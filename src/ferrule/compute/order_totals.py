"""What the orders add up to: by seller with its least order value, by strategy, and against the plain sum.

A least order value binds a seller's whole order, not a part: below it the seller asks a fee, or the order has
to be filled up to it. Filling up is money spent on goods nobody planned.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import Bought, BuyRow, OrderLine
from ferrule.compute.purchase import STRATEGIES, Strategy
from ferrule.compute.rates import Rates, rates_of
from ferrule.model.product import Product

__all__ = [
    "Leftover",
    "PlainSum",
    "SellerTotal",
    "StrategyTotal",
    "by_seller",
    "by_strategy",
    "leftover",
    "plain_sum",
]

_ZERO = Fraction(0)


class SellerTotal(Struct, frozen=True, kw_only=True):
    """One buyer's whole order at one seller, in the home currency.

    ``one_off`` is asked once for a source, however many buy from it: it stands with the first buyer.
    ``minimum`` is the least order value, ``fee`` asked below it, ``filled`` what is added to reach it where
    no fee buys it off. ``unpriced`` counts orders without a known price; the total is then a lower bound.
    """

    buyer: str
    seller: str | None
    orders: int
    goods: Fraction
    charges: Fraction
    one_off: Fraction
    minimum: Fraction | None
    fee: Fraction
    filled: Fraction
    unpriced: int

    @property
    def total(self) -> Fraction:
        """Return goods with everything that comes beside them."""
        return self.goods + self.charges + self.one_off + self.fee + self.filled


class StrategyTotal(Struct, frozen=True, kw_only=True):
    """All orders bought one way: what is spent now, and what it comes to in the end."""

    strategy: Strategy
    spend: Fraction
    one_off: Fraction
    fees: Fraction
    expected: Fraction
    pieces_left: Fraction
    value_left: Fraction

    @property
    def total(self) -> Fraction:
        """Return spend with one-off charges, sellers' fees and fill-ups: what the sellers' totals add up to."""
        return self.spend + self.one_off + self.fees


class Leftover(Struct, frozen=True, kw_only=True):
    """What is left over when all is built: its value, and how many parts' value is not known."""

    value: Fraction
    unknown: int
    spend: Fraction
    good: Fraction

    @property
    def of_spend(self) -> Fraction | None:
        """Return the leftover as a share of the spend; None where nothing is spent."""
        return self.value / self.spend if self.spend else None

    @property
    def each(self) -> Fraction | None:
        """Return the leftover for each good unit."""
        return self.value / self.good if self.good else None


def by_seller(product: Product, rows: Sequence[BuyRow], strategy: Strategy) -> tuple[SellerTotal, ...]:
    """Return one total for each buyer and seller, sorted by both."""
    groups: dict[tuple[str, str | None], list[OrderLine]] = {}
    for row in rows:
        for order in row.orders:
            groups.setdefault((row.buyer or "", order.quote.source.seller), []).append(order)
    rates = rates_of(product)
    return tuple(
        _total(buyer, seller, orders, strategy, _least_order(product, rates, seller))
        for (buyer, seller), orders in sorted(groups.items(), key=lambda kv: (kv[0][0], kv[0][1] or ""))
    )


def _least_order(
    product: Product, rates: Rates, seller: str | None
) -> tuple[Fraction | None, Fraction | None]:
    """Return a seller's least order value and small-order fee in the home currency, None where not stated."""
    firm, home = product.firms.get(seller or ""), product.head.currency
    if firm is None:
        return None, None
    own = firm.currency or home
    stated = (firm.minimum_order, firm.small_order_fee)
    least, fee = (None if amount is None else rates.money(amount, own, home) for amount in stated)
    return least, fee


def _total(
    buyer: str,
    seller: str | None,
    orders: Sequence[OrderLine],
    strategy: Strategy,
    least: tuple[Fraction | None, Fraction | None],
) -> SellerTotal:
    baskets = [order.purchase.baskets.get(strategy) for order in orders]
    goods = sum((basket.goods for basket in baskets if basket is not None), _ZERO)
    minimum, fee = least
    short = max(_ZERO, minimum - goods) if minimum is not None and goods else _ZERO
    return SellerTotal(
        buyer=buyer,
        seller=seller,
        orders=len(orders),
        goods=goods,
        charges=sum((basket.charges for basket in baskets if basket is not None), _ZERO),
        one_off=sum((order.one_off for order in orders), _ZERO),
        minimum=minimum,
        fee=fee if short and fee is not None else _ZERO,
        filled=short if fee is None else _ZERO,
        unpriced=sum(basket is None for basket in baskets),
    )


def by_strategy(product: Product, bought: Bought) -> tuple[StrategyTotal, ...]:
    """Return what every way to buy adds up to, in the order in which they are shown."""
    return tuple(_strategy(product, bought.rows, strategy) for strategy in STRATEGIES)


def _strategy(product: Product, rows: Sequence[BuyRow], strategy: Strategy) -> StrategyTotal:
    sellers = by_seller(product, rows, strategy)
    fees = sum((seller.fee + seller.filled for seller in sellers), _ZERO)
    one_off = sum((seller.one_off for seller in sellers), _ZERO)
    priced = [order for row in rows for order in row.orders if order.purchase.baskets]
    baskets = [order.purchase.baskets[strategy] for order in priced]
    return StrategyTotal(
        strategy=strategy,
        spend=sum((basket.spend for basket in baskets), _ZERO),
        one_off=one_off,
        fees=fees,
        expected=sum((order.purchase.expected[strategy] for order in priced), one_off + fees),
        pieces_left=sum((basket.left for basket in baskets), _ZERO),
        value_left=sum((basket.left * (basket.each or _ZERO) for basket in baskets), _ZERO),
    )


def leftover(bought: Bought, total: Fraction) -> Leftover:
    """Return what is left over; ``total`` is what is spent."""
    values = [row.left_value for row in bought.rows]
    return Leftover(
        value=sum((value for value in values if value is not None), _ZERO),
        unknown=sum(value is None for value in values),
        spend=total,
        good=bought.good,
    )


class PlainSum(Struct, frozen=True, kw_only=True):
    """Demand times price over all parts, as a spreadsheet adds it up, and what it is silent about.

    ``covered`` is what stock and open orders serve of it, ``beside`` what losses, packs, least orders, charges
    and fees add: ``amount - covered + beside`` is what is spent. ``unpriced`` parts have no price to multiply.
    """

    amount: Fraction
    covered: Fraction
    beside: Fraction
    unpriced: int


def plain_sum(rows: Iterable[BuyRow], total: Fraction) -> PlainSum:
    """Return demand times price against what is spent in all."""
    amount, covered, unpriced = _ZERO, _ZERO, 0
    for row in rows:
        if row.buyer is None:
            continue
        if row.plain is None:
            unpriced += 1
            continue
        amount += row.plain
        if row.gross.demand:
            covered += (row.gross.total - row.netted.net) * row.plain / row.gross.demand
    return PlainSum(amount=amount, covered=covered, beside=total - amount + covered, unpriced=unpriced)
