"""Exact arithmetic: decimals that raise instead of rounding, fractions where no decimal is exact."""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from fractions import Fraction

from ferrule.model.number import plain

__all__ = ["Exact", "added", "exact", "shown", "times"]

#: Digits kept. A 400-layer chain of quantities of ten digits still fits.
DIGITS = 4096

#: A number without rounding: a decimal, or a fraction where the decimal would never end (1 carton per 24).
Exact = Decimal | Fraction


@contextmanager
def exact() -> Iterator[None]:
    """Compute with Decimal exactly inside; an inexact result raises `decimal.Inexact`."""
    with decimal.localcontext() as context:
        context.prec = DIGITS
        context.Emax, context.Emin = decimal.MAX_EMAX, decimal.MIN_EMIN
        context.traps[decimal.Inexact] = True
        yield


def times(one: Exact, other: Exact) -> Exact:
    """Return the product; decimals stay decimals. Decimals must be multiplied inside `exact`."""
    if isinstance(one, Decimal) and isinstance(other, Decimal):
        return one * other
    return Fraction(one) * Fraction(other)


def added(one: Exact, other: Exact) -> Exact:
    """Return the sum; decimals stay decimals. Decimals must be added inside `exact`."""
    if isinstance(one, Decimal) and isinstance(other, Decimal):
        return one + other
    return Fraction(one) + Fraction(other)


def shown(number: Exact) -> str:
    """Return the number in full: plain decimals, or ``125/3`` where no decimal is exact."""
    if isinstance(number, Decimal):
        return plain(number)
    rest = number.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest != 1:
        return str(number)
    with exact():
        return plain(Decimal(number.numerator) / Decimal(number.denominator))
