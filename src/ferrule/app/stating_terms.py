"""`terms` from arguments: what is stated becomes a bargain, or is refused in the asker's words."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from ferrule.compute.bargains import Bargain, Kind, Price
from ferrule.compute.credit import Terms, YearlyCost, cost_of_stretching, days_tied
from ferrule.compute.money_time import (
    Cycle,
    Every,
    InReturn,
    PaidBack,
    TiedUp,
    equal_terms,
    return_of,
    tie_up,
)
from ferrule.errors import FerruleError
from ferrule.model.money import Money

__all__ = [
    "a_discount",
    "a_premium",
    "a_receivable",
    "cycle_of",
    "in_return",
    "paid_back",
    "paid_late",
    "tied_up",
]

_MOST = 520
_ALL = "nothing would be left to pay"


def a_discount(
    kind: Kind, amount: Money, discount: Fraction, days: tuple[Fraction, Fraction], year: Fraction
) -> Bargain:
    """Return a discount for paying on the first of two days instead of the second; raises FerruleError."""
    by, then = days
    if by >= then:
        raise FerruleError("the discount's day is not before the due day", "--within comes before --net")
    if not 0 < discount < 1:
        raise FerruleError(
            "without a discount there is nothing to weigh" if not discount else _ALL,
            "state it between 0 and 100 %, such as 2%",
        )
    return Bargain.of_discount(kind, _above_zero(amount), discount, then - by, year)


def paid_late(
    discount: Fraction, days: tuple[Fraction, Fraction], late: Fraction, penalty: Fraction, year: Fraction
) -> tuple[Fraction, YearlyCost]:
    """Return how long after the discount's day it is paid, and what leaving it and paying late costs a year."""
    by, then = days
    return then + late - by, cost_of_stretching(discount, by, then, late, penalty, year)


def a_premium(amount: Money, premium: Fraction, span: Fraction, year: Fraction) -> Bargain:
    """Return a premium for paying a span later; raises FerruleError."""
    return Bargain.of_premium(_above_zero(amount), premium, _some_time(span), year)


def a_receivable(  # noqa: PLR0913  the terms of the sale
    amount: Money, advance: Fraction, fee: Fraction, span: Fraction, year: Fraction, *, fee_first: bool
) -> Bargain:
    """Return the sale of an invoice; raises FerruleError where it brings nothing or more than the invoice."""
    most = advance if fee_first else advance + fee
    if not 0 < advance <= 1 or most > 1 or (fee_first and fee >= advance):
        raise FerruleError(
            "advance and fee do not fit into the invoice",
            "the advance is above the fee, and both together at most 100 %",
        )
    return Bargain.of_receivable(
        _above_zero(amount), advance, fee, _some_time(span), year, fee_first=fee_first
    )


def tied_up(
    amount: Money, discount: Fraction, span: Fraction, year: Fraction, prices: Sequence[Price]
) -> TiedUp:
    """Return what an amount tied up costs, on what is left after the discount; raises FerruleError."""
    if discount >= 1:
        raise FerruleError(_ALL, "state the discount below 100 %")
    return tie_up(_above_zero(amount) * (1 - discount), _some_time(span), year, prices)


def in_return(
    agreed: tuple[Money, Fraction, Fraction],
    asked: tuple[Money, Fraction, Fraction],
    year: Fraction,
    prices: Sequence[Price],
) -> InReturn:
    """Return what to ask for in return for other terms: price, deposit and lag of each; raises FerruleError."""
    _same_currency(agreed[0], asked[0])
    now, then = (
        Terms.of(_above_zero(price), _share(deposit), lag) for price, deposit, lag in (agreed, asked)
    )
    if now == then:
        raise FerruleError("the asked terms are the agreed ones", "say what they ask: --asked-deposit 30%")
    return equal_terms(now, then, year, prices)


def paid_back(spend: Money, back: Sequence[Fraction], every: Every, prices: Sequence[Price]) -> PaidBack:
    """Return when money spent is back and what it earns; raises FerruleError for more than ten years of weeks."""
    if len(back) > _MOST:
        raise FerruleError(f"more than {_MOST} periods", "state longer periods with --every")
    return return_of((-_above_zero(spend), *back), every, prices)


def cycle_of(  # noqa: PLR0913, PLR0917  three balances and two yearly flows
    stock: Money, receivables: Money, payables: Money, sales: Money, cost: Money, year: Fraction
) -> Cycle:
    """Return the days money is under way; raises FerruleError where nothing flows."""
    for other in (receivables, payables, sales, cost):
        _same_currency(stock, other)
    sold, bought = _above_zero(sales), _above_zero(cost)
    return Cycle(
        stock=days_tied(Fraction(stock.number), bought, year),
        customers=days_tied(Fraction(receivables.number), sold, year),
        suppliers=days_tied(Fraction(payables.number), bought, year),
    )


def _above_zero(amount: Money) -> Fraction:
    if amount.number <= 0:
        raise FerruleError(f"an amount of {amount} is not above zero", "state what is really paid")
    return Fraction(amount.number)


def _some_time(span: Fraction) -> Fraction:
    if span <= 0:
        raise FerruleError("over no time nothing is gained or lost", "state at least a day")
    return span


def _share(deposit: Fraction) -> Fraction:
    if deposit > 1:
        raise FerruleError("a deposit is above the price", "state it up to 100 %")
    return deposit


def _same_currency(one: Money, other: Money) -> None:
    if one.currency and other.currency and one.currency != other.currency:
        raise FerruleError(
            f"{one} and {other} are in two currencies", "state all amounts in one; no rate is guessed"
        )
