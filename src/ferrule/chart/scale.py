"""Where an amount lies on a scale, and which round numbers are written along it. Exact, but for the logarithm."""

from __future__ import annotations

import decimal
import math
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from ferrule.model.exact import Exact

__all__ = ["Marks", "Scale", "rounded_ends"]

# Set here so that the thread's own context cannot change a picture. The logarithm is rounded correctly by the
# standard for decimals, so it is the same on every machine.
_LOGARITHM = decimal.Context(prec=30, rounding=decimal.ROUND_HALF_EVEN)


class Scale(Struct, frozen=True):
    """From ``low`` to ``high``; with ``ratio`` equal factors take equal room."""

    low: Fraction
    high: Fraction
    ratio: bool = False

    def at(self, value: Exact) -> Fraction:
        """Return where a value lies: 0 at the low end, 1 at the high end, 0 on a scale of one point."""
        low, high, here = (self._on(number) for number in (self.low, self.high, Fraction(value)))
        return (here - low) / (high - low) if high != low else Fraction(0)

    def _on(self, number: Fraction) -> Fraction:
        if not self.ratio:
            return number
        if number <= 0:
            raise ValueError("a scale of equal factors has no place for zero or less")
        quotient = _LOGARITHM.divide(Decimal(number.numerator), Decimal(number.denominator))
        return Fraction(_LOGARITHM.ln(quotient))

    def numbers(self, most: int) -> tuple[Fraction, ...]:
        """Return up to about ``most`` round numbers within the scale, rising."""
        if self.ratio:
            return tuple(_factors(self.low, self.high, most))
        step = _round_step(self.high - self.low, most)
        first = math.ceil(self.low / step)
        return tuple(step * n for n in range(first, math.floor(self.high / step) + 1))


class Marks(Struct, frozen=True):
    """A scale that begins and ends at round numbers, the numbers along it, and the decimals they need."""

    scale: Scale
    numbers: tuple[Fraction, ...]
    places: int


def rounded_ends(low: Exact, high: Exact, most: int) -> Marks:
    """Return a scale from a round number to a round number, at most ``most`` steps long.

    Zero is taken in where that costs no more than half of the scale.
    """
    bottom, top = _with_zero(Fraction(low), Fraction(high))
    step = _round_step(top - bottom, most)
    if math.ceil(top / step) - math.floor(bottom / step) > most:  # both ends may grow by a part of a step
        step = _round_step(top - bottom, most - 1)
    first, last = math.floor(bottom / step), math.ceil(top / step)
    numbers = tuple(step * n for n in range(first, last + 1))
    return Marks(Scale(numbers[0], numbers[-1]), numbers, _decimals(step))


def _with_zero(low: Fraction, high: Fraction) -> tuple[Fraction, Fraction]:
    if low == high:
        return (min(low, Fraction(0)), max(high, Fraction(0))) if low else (low, low + 1)
    if 0 < low <= high / 2:
        return Fraction(0), high
    return (low, Fraction(0)) if low / 2 <= high < 0 else (low, high)


def _round_step(length: Fraction, most: int) -> Fraction:
    """Return the smallest of 1, 2, 5, 10, 20 ... (and their tenths) that goes ``most`` times into a length."""
    if length <= 0:
        return Fraction(1)
    power = _power(length / most)
    return next(power * factor for factor in (1, 2, 5, 10) if power * factor * most >= length)


def _power(number: Fraction) -> Fraction:
    """Return the greatest power of ten that is not above a number."""
    exponent = len(str(number.numerator)) - len(str(number.denominator))
    power = Fraction(10) ** exponent
    return power if power <= number else power / 10


def _factors(low: Fraction, high: Fraction, most: int) -> Iterator[Fraction]:
    """Yield powers of ten, with 2 and 5 between them where there is room."""
    found: list[Fraction] = []
    for factors in ((1,), (1, 3), (1, 2, 5)):
        candidates = list(_between(low, high, factors))
        if len(candidates) <= most or not found:
            found = candidates
    yield from found


def _between(low: Fraction, high: Fraction, factors: tuple[int, ...]) -> Iterator[Fraction]:
    power = _power(low)
    while power <= high:
        yield from (power * factor for factor in factors if low <= power * factor <= high)
        power *= 10


def _decimals(step: Fraction) -> int:
    places = 0
    while (step * 10**places).denominator != 1:
        places += 1
    return places
