"""Money over time, answered at every price of money that is known: tied up, under other terms, spent and got back."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.bargains import Price
from ferrule.compute.credit import Alternatives, Between, Terms, alternatives, carrying
from ferrule.compute.discounting import internal_rates, net_present_value, payback

__all__ = ["Cycle", "Every", "InReturn", "PaidBack", "TiedUp", "equal_terms", "return_of", "tie_up"]

Every = Literal["year", "quarter", "month", "week"]
#: How many of a period are in a year.
_PERIODS: dict[Every, int] = {"year": 1, "quarter": 4, "month": 12, "week": 52}


class TiedUp(Struct, frozen=True, kw_only=True):
    """An amount really paid, tied up for a span, and what that costs at each price of money."""

    paid: Fraction
    span: Fraction
    year: Fraction
    costs: tuple[tuple[Price, Fraction, Fraction], ...]


class InReturn(Struct, frozen=True, kw_only=True):
    """Agreed and asked terms, and what makes them equal at each price of money, by its yearly rate."""

    agreed: Terms
    asked: Terms
    year: Fraction
    answers: tuple[tuple[Price, Fraction, Alternatives], ...]


class PaidBack(Struct, frozen=True, kw_only=True):
    """Money spent and what comes back: when it is back, its rates of return a period, its worth at each price.

    ``after`` counts periods, None where it never is back. ``worth`` holds the yearly rate, of which a period has
    its even share, and the value now.
    """

    flows: tuple[Fraction, ...]
    every: Every
    periods: int
    after: Fraction | None
    rates: tuple[Between, ...]
    worth: tuple[tuple[Price, Fraction, Fraction], ...]


class Cycle(Struct, frozen=True, kw_only=True):
    """Days that stock lies, that customers take, and that suppliers wait."""

    stock: Fraction
    customers: Fraction
    suppliers: Fraction

    @property
    def days(self) -> Fraction:
        """Return the days from paying suppliers to being paid; negative where customers pay first."""
        return self.stock + self.customers - self.suppliers


def tie_up(paid: Fraction, span: Fraction, year: Fraction, prices: Iterable[Price]) -> TiedUp:
    """Return what an amount really paid costs while it is tied up; raises ValueError for a span of nothing."""
    rates = [(price, price.a_year(span, year)) for price in prices]
    return TiedUp(
        paid=paid,
        span=span,
        year=year,
        costs=tuple((price, rate, carrying(paid, rate, span, year)) for price, rate in rates),
    )


def equal_terms(agreed: Terms, asked: Terms, year: Fraction, prices: Iterable[Price]) -> InReturn:
    """Return what makes asked terms as good as agreed ones; prices without a yearly rate have no say."""
    rates = [(price, price.rate) for price in prices]
    return InReturn(
        agreed=agreed,
        asked=asked,
        year=year,
        answers=tuple(
            (price, rate, alternatives(agreed, asked, rate, year))
            for price, rate in rates
            if rate is not None
        ),
    )


def return_of(flows: tuple[Fraction, ...], every: Every, prices: Iterable[Price]) -> PaidBack:
    """Return when flows are back and what they are worth; a period has its even share of a yearly rate."""
    periods = _PERIODS[every]
    known = [(price, price.rate) for price in prices]
    return PaidBack(
        flows=flows,
        every=every,
        periods=periods,
        after=payback(flows),
        rates=internal_rates(flows),
        worth=tuple(
            (price, rate, net_present_value(rate / periods, flows))
            for price, rate in known
            if rate is not None
        ),
    )
