"""The price of terms: what it costs to pay later, what it earns to pay earlier, and what is worth the same.

Rates are fractions of one (15 % is 0.15), for a year of 365 days unless another is given (360 in some contracts, 52
where spans are in weeks). A rate is the asker's: what money costs them, or, when cash binds, what their next best
source of it costs. Results are exact; where no fraction is, they lie between two that are near enough.
Nothing here decides: both ways and the gain of one over the other come back.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from msgspec import Struct

__all__ = [
    "TOLERANCE",
    "Alternatives",
    "Between",
    "Terms",
    "YearlyCost",
    "alternatives",
    "carrying",
    "cost_of_discount",
    "cost_of_stretching",
    "days_tied",
    "discount_worth_giving",
    "premium_worth",
    "yearly_cost",
]

_ZERO, _ONE = Fraction(0), Fraction(1)
_YEAR = Fraction(365)
#: How near a rate is found: a ten-millionth of a percent.
TOLERANCE = Fraction(1, 10**9)


class Between(Struct, frozen=True):
    """A number by its bounds, ends included; both are the number itself where it is a fraction."""

    low: Fraction
    high: Fraction

    @property
    def exact(self) -> bool:
        """Return whether the number is known exactly."""
        return self.low == self.high

    @property
    def near(self) -> Fraction:
        """Return the middle, at most half of the tolerance off."""
        return (self.low + self.high) / 2


class YearlyCost(Struct, frozen=True):
    """What paying later costs a year: simple, and with the cost of each span carried into the next."""

    simple: Fraction
    effective: Between


def yearly_cost(
    now: Fraction,
    later: Fraction,
    span: Fraction,
    year: Fraction = _YEAR,
    *,
    tolerance: Fraction = TOLERANCE,
) -> YearlyCost:
    """Return the yearly rate of paying ``later`` instead of ``now``, a span of days (weeks, if ``year`` is 52) on.

    simple = (later - now) / now x year / span; effective = (later / now) ^ (year / span) - 1. The same formula
    prices a discount forgone (now 1 - d, later 1), a premium p for credit (now 1, later 1 + p) and the sale of a
    receivable (now the advance, later the advance and the fee). Raises ValueError where one of them is not
    above zero.
    """
    if min(now, later, span, year, tolerance) <= 0:
        raise ValueError("amounts, spans and the tolerance must be above zero")
    turns = Fraction(year) / span
    grown = _power(Fraction(later) / now, turns, tolerance)
    return YearlyCost((Fraction(later) / now - 1) * turns, Between(grown.low - 1, grown.high - 1))


def cost_of_discount(
    discount: Fraction, within: Fraction, paid: Fraction, year: Fraction = _YEAR
) -> YearlyCost:
    """Return what it costs a year to leave a discount and pay on day ``paid`` instead of day ``within``.

    2/10 net 30 is a discount of 0.02, within 10, paid 30: 37.2 %. Raises ValueError for a discount that leaves
    nothing to pay or a day that is no later.
    """
    return yearly_cost(1 - discount, _ONE, paid - within, year)


def cost_of_stretching(  # noqa: PLR0913, PLR0917  the terms and what is done with them
    discount: Fraction,
    within: Fraction,
    due: Fraction,
    late: Fraction,
    penalty: Fraction = _ZERO,
    year: Fraction = _YEAR,
) -> YearlyCost:
    """Return what it costs a year to leave a discount and pay ``late`` days after the due day, with a penalty.

    ``penalty`` is a fraction of the amount. Without one the rate falls the later one pays; what it does to trust
    and to the next delivery is in no rate. Without a discount (0, on day 0) it is the price of the penalty alone.
    Raises ValueError as `yearly_cost`.
    """
    since = within if discount else due
    return yearly_cost(1 - discount, 1 + penalty, due + late - since, year)


def premium_worth(rate: Fraction, span: Fraction, year: Fraction = _YEAR) -> Fraction:
    """Return the highest surcharge, as a fraction of the price, worth paying to pay a span later.

    rate x span / year. Net 60 at 15 %: 2.47 %.
    """
    return rate * span / year


def discount_worth_giving(rate: Fraction, span: Fraction, year: Fraction = _YEAR) -> Fraction:
    """Return the highest discount worth giving a customer who pays a span earlier.

    p / (1 + p) with the premium p for that span: so that d / (1 - d) x year / span is the rate.
    """
    premium = premium_worth(rate, span, year)
    return premium / (1 + premium)


def carrying(amount: Fraction, rate: Fraction, span: Fraction, year: Fraction = _YEAR) -> Fraction:
    """Return what it costs to have an amount tied up for a span: amount x rate x span / year.

    The amount is what is actually paid: with a discount taken, what is left after it.
    """
    return amount * premium_worth(rate, span, year)


def days_tied(balance: Fraction, yearly: Fraction, year: Fraction = _YEAR) -> Fraction:
    """Return how many days of a yearly flow a balance is.

    Stock over cost of goods, plus receivables over sales, less payables over cost of goods is the cash cycle.
    Raises ValueError where nothing flows.
    """
    if yearly <= 0:
        raise ValueError("without a yearly flow a balance is no number of days")
    return balance / yearly * year


class Terms(Struct, frozen=True):
    """A price and when its parts are paid: the share of each (together 1) and its days after the order."""

    price: Fraction
    parts: tuple[tuple[Fraction, Fraction], ...]

    @classmethod
    def of(cls, price: Fraction, deposit: Fraction, lag: Fraction, deposit_lag: Fraction = _ZERO) -> Terms:
        """Return a deposit (a share, by default paid with the order) and the balance after a lag of days."""
        return cls(price, ((deposit, deposit_lag), (1 - deposit, lag)))

    def value(self, rate: Fraction, year: Fraction = _YEAR) -> Fraction:
        """Return what the terms cost on the day of the order: each part / (1 + rate x days / year)."""
        return self.price * sum((share * _worth(days, rate, year) for share, days in self.parts), _ZERO)


class Alternatives(Struct, frozen=True, kw_only=True):
    """What to ask for in return, each alone; None where no lag or no deposit makes up for it.

    ``worse`` is what the asked terms cost more on the day of the order; negative where they are better.
    ``price`` holds with the asked shares and lags, ``lag`` is that of the balance in days at the asked price
    and deposit, ``deposit`` the share at the asked price and lag.
    """

    worse: Fraction
    price: Fraction
    lag: Fraction | None
    deposit: Fraction | None


def alternatives(agreed: Terms, asked: Terms, rate: Fraction, year: Fraction = _YEAR) -> Alternatives:
    """Return what makes asked terms worth as much as the agreed ones; ``asked`` has a deposit and a balance.

    Days and shares are exact, not rounded to what one can agree on. Raises ValueError where the asked terms have
    other than two parts, or cost nothing.
    """
    if len(asked.parts) != 2:
        raise ValueError("the asked terms need a deposit and a balance")
    goal, cost = agreed.value(rate, year), asked.value(rate, year)
    if cost <= 0:
        raise ValueError("terms that cost nothing have no equal")
    share = goal / asked.price
    return Alternatives(
        worse=cost - goal,
        price=asked.price * goal / cost,
        lag=_equal_lag(asked, share, rate, year),
        deposit=_equal_deposit(asked, share, rate, year),
    )


def _worth(days: Fraction, rate: Fraction, year: Fraction) -> Fraction:
    return 1 / (1 + premium_worth(rate, days, year))


def _equal_lag(asked: Terms, goal: Fraction, rate: Fraction, year: Fraction) -> Fraction | None:
    """Return the lag of the balance at which the parts are worth a share of the price; none before the order."""
    (deposit, days), (balance, _) = asked.parts
    if not balance or not rate:
        return None
    worth = (goal - deposit * _worth(days, rate, year)) / balance
    return (1 / worth - 1) * year / rate if 0 < worth <= 1 else None


def _equal_deposit(asked: Terms, goal: Fraction, rate: Fraction, year: Fraction) -> Fraction | None:
    early, late = (_worth(days, rate, year) for _, days in asked.parts)
    if early == late:
        return None
    deposit = (goal - late) / (early - late)
    return deposit if 0 <= deposit <= 1 else None


def _power(base: Fraction, exponent: Fraction, tolerance: Fraction) -> Between:
    """Return a power of a number above zero, exact where it is a fraction.

    On the grid of the tolerance: the largest k with (k / grid) ^ q no more than base ^ p, in whole numbers.
    """
    raised, root = base**exponent.numerator, exponent.denominator
    exactly = [_whole_root(number, root) for number in (raised.numerator, raised.denominator)]
    if [number**root for number in exactly] == [raised.numerator, raised.denominator]:
        return Between(Fraction(*exactly), Fraction(*exactly))
    grid = ceil(1 / tolerance)
    low = _whole_root(raised.numerator * grid**root // raised.denominator, root)
    return Between(Fraction(low, grid), Fraction(low + 1, grid))


def _whole_root(number: int, root: int) -> int:
    """Return the largest whole number whose power is no more than the number."""
    low, high = 0, 1 << (number.bit_length() // root + 1)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if middle**root <= number else (low, middle)
    return low
