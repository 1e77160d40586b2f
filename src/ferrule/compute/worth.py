"""What a part's leftover is worth, and what its demand costs the way a spreadsheet has it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

from ferrule.compute.netting import Supplies
from ferrule.compute.purchase import Basket
from ferrule.compute.quotes import Quote
from ferrule.model.money import Money

__all__ = ["each_of", "left_value", "plain_sum_of", "summed"]

_ZERO = Fraction(0)
#: An amount in the home currency, None where there is no rate.
Home = Callable[[Money], Fraction | None]


def each_of(baskets: Sequence[Basket | None]) -> Fraction | None:
    """Return the price of one over all orders of a part, charges left aside; None where none is known."""
    known = [basket for basket in baskets if basket is not None]
    qty = sum((basket.qty for basket in known), _ZERO)
    if not qty or len(known) < len(baskets):
        return None
    return sum((basket.goods for basket in known), _ZERO) / qty


def left_value(
    left: Fraction, ordered: Fraction, each: Fraction | None, supplies: Supplies, home: Home
) -> Fraction | None:
    """Return the value of what is left: ordered pieces at the price paid, then stock at its own value.

    ``supplies`` are those that could be used at all, ``home`` turns their values into the home currency. None
    where a price is missing.
    """
    if left <= 0:
        return _ZERO
    fresh = min(left, ordered)
    value = fresh * each if each is not None else None if fresh else _ZERO
    rest = left - fresh
    if not rest or value is None:
        return value
    stock = _stock_value(supplies, each, home)
    return None if stock is None else value + rest * stock


def _stock_value(supplies: Supplies, each: Fraction | None, home: Home) -> Fraction | None:
    """Return the average value of one piece in stock or on order, by its own value, else the price paid."""
    total, pieces = _ZERO, _ZERO
    rows = [(row.qty, row.value) for _, row in supplies.stock]
    rows += [(row.qty, row.each) for _, row in supplies.orders]
    for qty, value in rows:
        own = home(value) if value is not None else each
        if own is None:
            return None
        total, pieces = total + Fraction(qty) * own, pieces + Fraction(qty)
    return total / pieces if pieces else _ZERO


def plain_sum_of(demand: Fraction, each: Fraction | None, quotes: Sequence[Quote]) -> Fraction | None:
    """Return demand times price, without losses, packs and charges; None where no price is known.

    ``each`` is the price paid; ``quotes`` stand in for it where nothing has to be ordered.
    """
    if each is None:
        forms = [form for quote in quotes[:1] for form in quote.forms[:1]]
        each = forms[0].price(forms[0].rounded(demand)) if forms and demand else None
    return None if each is None else demand * each


def summed(amounts: Iterable[Fraction | None]) -> Fraction | None:
    """Return a sum, None where an amount is not known."""
    total = _ZERO
    for amount in amounts:
        if amount is None:
            return None
        total += amount
    return total
