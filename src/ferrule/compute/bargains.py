"""Offers of money for time, each as what it is: having some money for a span, at a cost. Take it, or leave it.

A discount left keeps the money until the due day; a premium buys days; a customer's discount and the sale of a
receivable bring money early. The rate that decides is the asker's: what money costs them, and when cash binds
what their next best source of it costs. The gain is in money on the later day.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.credit import (
    YearlyCost,
    carrying,
    discount_worth_giving,
    premium_worth,
    yearly_cost,
)

__all__ = ["Bargain", "Kind", "Price", "Priced", "Verdict", "by_price", "price_bargain", "verdict"]

#: A supplier's discount for paying early, a supplier's premium for paying late, our discount to a customer who
#: pays early, a receivable sold.
Kind = Literal["discount", "premium", "early payment", "factoring"]
_YEAR = Fraction(365)


class Bargain(Struct, frozen=True, kw_only=True):
    """Having ``money`` for a ``span`` at a ``cost``; ``base`` is the amount that percentages are stated of.

    ``span`` is in days of a ``year`` of 365 or 360, or in weeks of one of 52. Whoever takes a supplier's
    discount gives the money up, whoever takes one of the others has it.
    """

    kind: Kind
    base: Fraction
    money: Fraction
    cost: Fraction
    span: Fraction
    year: Fraction = _YEAR

    @classmethod
    def of_discount(
        cls, kind: Kind, amount: Fraction, discount: Fraction, span: Fraction, year: Fraction = _YEAR
    ) -> Bargain:
        """Return a discount, a share of the amount, for paying a span earlier: given to us, or by us."""
        cost = amount * discount
        return cls(kind=kind, base=amount, money=amount - cost, cost=cost, span=span, year=year)

    @classmethod
    def of_premium(
        cls, amount: Fraction, premium: Fraction, span: Fraction, year: Fraction = _YEAR
    ) -> Bargain:
        """Return a premium, a share of the amount, for paying a span later."""
        return cls(kind="premium", base=amount, money=amount, cost=amount * premium, span=span, year=year)

    @classmethod
    def of_receivable(  # noqa: PLR0913  the terms of the sale
        cls,
        amount: Fraction,
        advance: Fraction,
        fee: Fraction,
        span: Fraction,
        year: Fraction = _YEAR,
        *,
        fee_first: bool = False,
    ) -> Bargain:
        """Return the sale of a receivable: a share of it advanced, the rest less the fee when it is paid.

        ``fee`` is a share of the receivable; ``fee_first`` takes it off the advance.
        """
        cost, held = amount * fee, amount * advance
        money = held - cost if fee_first else held
        return cls(kind="factoring", base=amount, money=money, cost=cost, span=span, year=year)

    @property
    def gives_up(self) -> bool:
        """Return whether taking it gives money up early, as a supplier's discount does."""
        return self.kind == "discount"

    @property
    def yearly(self) -> YearlyCost:
        """Return what having the money costs a year; raises ValueError where an amount is not above zero."""
        return yearly_cost(self.money, self.money + self.cost, self.span, self.year)

    @property
    def per_thousand(self) -> Fraction:
        """Return what having a thousand for the span costs."""
        return self.cost * 1000 / self.money

    def carried(self, rate: Fraction) -> Fraction:
        """Return what the money costs for the span at a rate, on what is really paid or had."""
        return carrying(self.money, rate, self.span, self.year)

    def gain(self, rate: Fraction) -> Fraction:
        """Return what taking it gains over leaving it, on the later day; negative: leave it."""
        held = self.carried(rate) - self.cost
        return -held if self.gives_up else held

    def limit(self, rate: Fraction) -> Fraction:
        """Return the share of the base at which taking and leaving are worth the same at a rate.

        The least discount worth taking, the highest premium or fee worth paying, the most discount worth giving.
        """
        if self.kind == "premium":
            return premium_worth(rate, self.span, self.year)
        if self.kind == "factoring":
            return self.carried(rate) / self.base
        return discount_worth_giving(rate, self.span, self.year)


class Price(Struct, frozen=True, kw_only=True):
    """What money costs: a ``rate`` a year, or ``per_thousand`` once, however long it is had.

    ``binds`` says that it is what money costs when there is not enough of it; ``note`` says how much there is.
    """

    words: str
    rate: Fraction | None = None
    per_thousand: Fraction | None = None
    binds: bool = False
    note: str = ""

    def a_year(self, span: Fraction, year: Fraction) -> Fraction:
        """Return it as a yearly rate over a span; raises ValueError for a span of nothing."""
        if self.rate is not None:
            return self.rate
        if span <= 0:
            raise ValueError("over no time, money has no yearly price")
        return (self.per_thousand or Fraction(0)) / 1000 * year / span


class Verdict(Struct, frozen=True, kw_only=True):
    """A bargain at one price of money: its yearly rate, the money's cost for the span, gain and limit."""

    price: Price
    rate: Fraction
    carrying: Fraction
    gain: Fraction
    limit: Fraction

    @property
    def answer(self) -> Literal["take", "leave", "either"]:
        """Return what to do: take it where that gains, leave it where it loses."""
        return "take" if self.gain > 0 else "leave" if self.gain < 0 else "either"


def verdict(bargain: Bargain, price: Price) -> Verdict:
    """Return whether to take a bargain at a price of money, and what that gains."""
    rate = price.a_year(bargain.span, bargain.year)
    return Verdict(
        price=price,
        rate=rate,
        carrying=bargain.carried(rate),
        gain=bargain.gain(rate),
        limit=bargain.limit(rate),
    )


def by_price(prices: Iterable[Price], span: Fraction, year: Fraction) -> tuple[Price, ...]:
    """Return prices of money for a span, those of plenty first, then where it binds the cheapest first."""
    return tuple(sorted(prices, key=lambda price: (price.binds, price.a_year(span, year), price.words)))


class Priced(Struct, frozen=True, kw_only=True):
    """A bargain and what it comes to at every price of money that is known, plenty first."""

    bargain: Bargain
    verdicts: tuple[Verdict, ...]


def price_bargain(bargain: Bargain, prices: Iterable[Price]) -> Priced:
    """Return a bargain with its answer at every price of money."""
    ordered = by_price(prices, bargain.span, bargain.year)
    return Priced(bargain=bargain, verdicts=tuple(verdict(bargain, price) for price in ordered))
