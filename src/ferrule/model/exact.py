"""Exact arithmetic: decimals that raise instead of rounding, fractions where no decimal is exact."""

from __future__ import annotations

import decimal
import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from fractions import Fraction

from ferrule.model.number import plain

__all__ = ["Exact", "added", "as_decimal", "exact", "in_full", "shown", "shown_amount", "times", "total"]

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


def total(numbers: Iterable[Fraction]) -> Fraction:
    """Return the sum of fractions, exactly: over one common denominator, which is quicker than one by one."""
    found = list(numbers)
    parts = math.lcm(*{number.denominator for number in found})
    return Fraction(sum(number.numerator * (parts // number.denominator) for number in found), parts)


def as_decimal(number: Exact) -> Decimal | None:
    """Return the number as a decimal, or None where no decimal is exact."""
    if isinstance(number, Decimal):
        return number
    rest = number.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest != 1:
        return None
    with exact():
        return Decimal(number.numerator) / Decimal(number.denominator)


def shown(number: Exact) -> str:
    """Return the number in full: plain decimals, or ``125/3`` where no decimal is exact."""
    ended = as_decimal(number)
    return str(number) if ended is None else plain(ended)


#: Decimals of an amount that no decimal can hold exactly, in machine forms.
_PLACES = 12


def in_full(number: Exact) -> str:
    """Return the number as plain decimals: exactly where they end, else to twelve places, a half up."""
    text = shown(number)
    return text if "/" not in text else shown_amount(number, _PLACES, separator=False)


def shown_amount(number: Exact, places: int, *, half_even: bool = False, separator: bool = True) -> str:
    """Return the number with ``places`` decimals, its thousands parted by commas: ``1,234.50``.

    A half goes away from zero (1.005 to 1.01, -1.005 to -1.01), or with ``half_even`` to the even digit.
    What rounds to nothing has no sign. Takes the number exactly, however many digits it has.
    """
    whole = _rounded(abs(Fraction(number)) * 10**places, half_even=half_even)
    front, behind = divmod(whole, 10**places)
    sign = "-" if whole and number < 0 else ""
    point = f".{behind:0{places}d}" if places else ""
    return f"{sign}{front:{',' if separator else ''}d}{point}"


def _rounded(number: Fraction, *, half_even: bool) -> int:
    """Return the nearest integer to a number that is not negative."""
    return round(number) if half_even else math.floor(number + Fraction(1, 2))
