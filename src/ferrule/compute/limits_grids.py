"""The exact values at which a fact is tried, from what suits us best to what suits us least, today's among them."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from fractions import Fraction

__all__ = ["days_from", "points_down", "points_up", "rate_step", "rates_along"]


def points_up(today: Fraction, most: Fraction) -> tuple[Fraction, ...]:
    """Return percentages from zero up to ``most`` by tenths of a point, and today's."""
    tenths = [Fraction(number, 10) for number in range(math.floor(most * 10) + 1)]
    return tuple(sorted({*tenths, today}))


def points_down(today: Fraction, least: Fraction, parts: int = 10) -> tuple[Fraction, ...]:
    """Return percentages from a hundred down to ``least`` by tenths (or other parts) of a point, and today's."""
    steps = [Fraction(number, parts) for number in range(math.ceil(least * parts), 100 * parts + 1)]
    return tuple(sorted({*steps, today}, reverse=True))


def days_from(first: dt.date, last: dt.date) -> tuple[dt.date, ...]:
    """Return the days from one to another, both inclusive; the first alone where the last comes before it."""
    return tuple(first + dt.timedelta(days=number) for number in range(max(0, (last - first).days) + 1))


def rate_step(rate: Fraction) -> Fraction:
    """Return the step by which a rate is tried: one in its third figure (0.01 for 1.08, 1 for 162.5)."""
    step = Fraction(1)
    while rate < 100 * step:
        step /= 10
    while rate >= 1000 * step:
        step *= 10
    return step


def rates_along(today: Fraction, last: Fraction) -> Sequence[Fraction]:
    """Return rates on the far side of today's and on to ``last``, by steps in the third figure of today's.

    The grid begins as far on the good side of today as it ends on the other, never at zero or below.
    """
    step = rate_step(today)
    reach = abs(last - today)
    low, high = max(step, today - reach), today + reach
    on_step = {step * number for number in range(math.ceil(low / step), math.floor(high / step) + 1)}
    return tuple(sorted({*on_step, today}, reverse=last < today))
