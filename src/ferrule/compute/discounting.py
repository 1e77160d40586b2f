"""What a row of payments is worth: now, as a yearly rate, and how soon the money is back.

One payment a period, the first of them at 0. Rates are those of one period, as fractions of one. Exact where a
fraction is; an internal rate that is none lies between two that are near enough.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import gcd, lcm

from ferrule.compute.credit import TOLERANCE, Between

__all__ = ["internal_rates", "net_present_value", "payback", "present_value"]

_ZERO, _ONE = Fraction(0), Fraction(1)
#: The largest denominator of a rate that is tried for being exact: 7.25 % is 29/400.
_PLAIN = 10**6
_Polynomial = tuple[int, ...]


def present_value(amount: Fraction, rate: Fraction, periods: int) -> Fraction:
    """Return what an amount that comes after whole periods is worth now; ``rate`` is that of one period.

    Raises ValueError for a rate of -100 % or less.
    """
    if rate <= -1:
        raise ValueError("a rate of -100 % or less leaves nothing to discount")
    return amount / (1 + Fraction(rate)) ** periods


def net_present_value(rate: Fraction, flows: Iterable[Fraction]) -> Fraction:
    """Return what flows are worth at the first of them, one a period; raises ValueError as `present_value`."""
    return sum((present_value(flow, rate, period) for period, flow in enumerate(flows)), _ZERO)


def payback(flows: Iterable[Fraction]) -> Fraction | None:
    """Return after how many periods the flows have first paid for themselves, None if they never do.

    Within a period money comes evenly. The first flow is at 0. Later losses do not count, nor does time: so it
    says when the money is back, never whether the plan is good.
    """
    total = _ZERO
    for period, flow in enumerate(flows):
        if total + flow >= 0:
            return period - 1 - total / flow if period else _ZERO
        total += flow
    return None


def internal_rates(flows: Sequence[Fraction], *, tolerance: Fraction = TOLERANCE) -> tuple[Between, ...]:
    """Return every rate above -100 % at which the flows are worth nothing, the lowest first.

    Empty where no rate does, or every one (flows of nothing). More than one where the flows change sign more
    than once: then no rate says how good they are, and the net present value must. A rate with a small
    denominator is exact, others lie between bounds no wider than ``tolerance``.
    Formula: with y = 1 + rate the roots above zero of the flows as a polynomial, counted by Sturm's theorem.
    """
    if tolerance <= 0:
        raise ValueError("the tolerance must be above zero")
    polynomial = _whole_numbers(_trimmed(flows))
    if len(polynomial) < 2:
        return ()
    chain = _sturm(polynomial)
    bound = _ONE + Fraction(max(map(abs, polynomial)), abs(polynomial[0]))
    apart = _isolated(chain, _ZERO, bound)
    found = [_narrowed(chain[0], *pair, tolerance) for pair in apart]
    return tuple(Between(each.low - 1, each.high - 1) for each in found)


def _trimmed(flows: Sequence[Fraction]) -> list[Fraction]:
    """Return flows without the periods at either end in which nothing happens; they move no rate."""
    front = list(itertools.dropwhile(lambda flow: not flow, flows))
    return list(itertools.dropwhile(lambda flow: not flow, reversed(front)))[::-1]


def _whole_numbers(numbers: Sequence[Fraction]) -> _Polynomial:
    """Return the numbers times what makes them whole, as small as they can be; signs stay."""
    scale = lcm(*(Fraction(number).denominator for number in numbers))
    whole = [int(number * scale) for number in numbers]
    shared = gcd(*whole) or 1
    return tuple(number // shared for number in whole)


def _at(polynomial: _Polynomial, y: Fraction) -> int:
    """Return a number with the sign of the polynomial at y, the highest power first."""
    value, scale = 0, 1
    for number in polynomial:
        value = value * y.numerator + number * scale
        scale *= y.denominator
    return value


def _sturm(polynomial: _Polynomial) -> list[_Polynomial]:
    """Return Sturm's chain of the polynomial, each of its roots made a single one."""
    chain = _chain(polynomial)
    if len(chain[-1]) == 1:
        return chain
    quotient, _ = _divided(polynomial, chain[-1])
    return _chain(_whole_numbers(quotient))


def _chain(polynomial: _Polynomial) -> list[_Polynomial]:
    degree = len(polynomial) - 1
    slope = _whole_numbers([Fraction(number * (degree - i)) for i, number in enumerate(polynomial[:-1])])
    chain = [polynomial, slope]
    while len(chain[-1]) > 1:
        _, rest = _divided(chain[-2], chain[-1])
        if not rest:
            return chain
        chain.append(tuple(-number for number in _whole_numbers(rest)))
    return chain


def _divided(polynomial: _Polynomial, by: _Polynomial) -> tuple[list[Fraction], list[Fraction]]:
    """Return quotient and rest, the rest without leading zeros."""
    rest, quotient = [Fraction(number) for number in polynomial], []
    while len(rest) >= len(by):
        factor = rest[0] / by[0]
        quotient.append(factor)
        rest = [
            number - factor * other for number, other in itertools.zip_longest(rest[1:], by[1:], fillvalue=0)
        ]
    return quotient, list(itertools.dropwhile(lambda number: not number, rest))


def _changes(chain: Sequence[_Polynomial], y: Fraction) -> int:
    """Return how often the sign changes along the chain; the roots in (a, b] are those at a less those at b."""
    signs = [value > 0 for value in (_at(each, y) for each in chain) if value]
    return sum(1 for one, other in itertools.pairwise(signs) if one != other)


def _isolated(chain: Sequence[_Polynomial], low: Fraction, high: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Return a stretch for each root above ``low`` and up to ``high``, in their order."""
    found, waiting = [], [(low, high, _changes(chain, low), _changes(chain, high))]
    while waiting:
        low, high, at_low, at_high = waiting.pop()
        if at_low - at_high == 1:
            found.append((low, high))
        elif at_low > at_high:
            middle = (low + high) / 2
            at_middle = _changes(chain, middle)
            waiting += [(middle, high, at_middle, at_high), (low, middle, at_low, at_middle)]
    return found


def _narrowed(polynomial: _Polynomial, low: Fraction, high: Fraction, tolerance: Fraction) -> Between:
    """Return the single root above ``low`` and up to ``high``, exactly where its denominator is small."""
    above = _at(polynomial, high)
    while above and high - low > tolerance:
        middle = (low + high) / 2
        value = _at(polynomial, middle)
        low, high, above = (low, middle, value) if value * above >= 0 else (middle, high, above)
    plain = ((low + high) / 2).limit_denominator(_PLAIN) if above else high
    if low < plain <= high and not _at(polynomial, plain):
        return Between(plain, plain)
    return Between(low, high)
