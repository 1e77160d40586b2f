"""Buying up for a first need and only the remainder for a second: the best way to split two builds.

Every order is chosen as `buy` chooses: the same sources, shares and allocations, at another quantity.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.buy import BuyRow
from ferrule.compute.purchase import Basket, Later
from ferrule.compute.quotes import Quote
from ferrule.compute.sourcing import Way, choose, usable
from ferrule.compute.worth import each_of, summed

__all__ = ["Paid", "Split", "best_split", "paid_for"]

_ZERO = Fraction(0)


class Paid(Struct, frozen=True):
    """What covering a need takes: the quantity ordered, what it costs, and the price of one without charges.

    ``taken`` is the quantity by source.
    """

    need: Fraction
    qty: Fraction
    spend: Fraction
    each: Fraction
    taken: dict[int, Fraction]


class Split(Struct, frozen=True):
    """Buy more now and only the remainder later: quantities and total with carrying.

    ``upfront`` is what of the total comes whether or not the second build does.
    """

    now: Fraction
    later: Fraction
    upfront: Fraction
    total: Fraction


def paid_for(row: BuyRow) -> Paid:
    """Return what the orders of a row take; raises ValueError where a price is missing."""
    if row.spend is None:
        raise ValueError(f"{row.part} has no known price")
    orders = ((order.quote, order.basket) for order in row.orders)
    return _paid(row.netted.net, orders, row.spend)


def _paid(need: Fraction, orders: Iterable[tuple[Quote, Basket | None]], spend: Fraction) -> Paid:
    priced = [(quote.index, basket) for quote, basket in orders if basket is not None]
    taken: dict[int, Fraction] = {}
    for index, basket in priced:
        taken[index] = taken.get(index, _ZERO) + basket.qty
    each = each_of([basket for _, basket in priced])
    return Paid(need, sum(taken.values(), _ZERO), spend, each or _ZERO, taken)


def best_split(first: BuyRow, both: BuyRow, way: Way, rate: Fraction) -> Split | None:
    """Return the cheapest of ordering the first need or any price break above it now, and the rest later.

    ``rate`` is the cost of carrying from one need to the other, as a share of value.
    """
    alone = paid_for(first)
    higher = (_asked(both, start, way, {}) for start in _breaks(both, alone.qty))
    options = [alone, *(found for found in higher if found is not None)]
    splits = (_split(both, now, alone.need, way, rate) for now in options)
    found_splits = [split for split in splits if split is not None]
    return min(found_splits, key=lambda split: (split.total, split.now), default=None)


def _breaks(row: BuyRow, above: Fraction) -> list[Fraction]:
    """Return the price breaks of the sources that may be asked, from some quantity on."""
    forms = [form for quote in usable(row.quotes) for form in quote.forms if form.pack not in row.unfit]
    return sorted({start for form in forms for start, _ in form.breaks if start > above})


def _split(both: BuyRow, now: Paid, first: Fraction, way: Way, rate: Fraction) -> Split | None:
    """Return what ordering some now and only the rest later comes to; None where the rest cannot be had."""
    need = both.netted.net
    later = _asked(both, max(_ZERO, need - now.qty), way, now.taken)
    if later is None:
        return None
    kept = min(max(_ZERO, now.qty - first), max(_ZERO, need - first))
    upfront = now.spend + kept * now.each * rate
    return Split(now.qty, later.qty, upfront, upfront + later.spend)


def _asked(row: BuyRow, amount: Fraction, way: Way, taken: Mapping[int, Fraction]) -> Paid | None:
    """Return what covering an amount takes of the row's sources; None where it cannot be had.

    ``taken`` is what has been ordered already of what they have allocated.
    """
    if not amount:
        return _paid(_ZERO, (), _ZERO)
    quotes = [_after(quote, taken.get(quote.index, _ZERO)) for quote in row.quotes]
    sourced = choose(quotes, _fit(row), lambda _: amount, Later(), way)
    orders = [(each.purchase.quote, each.purchase.baskets.get(way.strategy)) for each in sourced.orders]
    spend = summed(basket.spend if basket is not None else None for _, basket in orders)
    return None if sourced.lacking or not orders or spend is None else _paid(amount, orders, spend)


def _after(quote: Quote, taken: Fraction) -> Quote:
    return quote if quote.most is None else replace(quote, most=max(_ZERO, quote.most - taken))


def _fit(row: BuyRow) -> Callable[[Quote], Quote | None]:
    """Return what leaves a quote the forms whose packs can serve, None where none can."""

    def fit(quote: Quote) -> Quote | None:
        if not quote.forms:
            return quote if quote.bare.pack not in row.unfit else None
        forms = tuple(form for form in quote.forms if form.pack not in row.unfit)
        return replace(quote, forms=forms) if forms else None

    return fit
