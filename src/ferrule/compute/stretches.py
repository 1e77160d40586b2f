"""Costs over whole numbers as straight stretches: adding one more purchase, the least of several, walking back.

Price breaks make a cost that jumps and bends. Kept as stretches between whole numbers it stays exact for
*every* number, and the work grows with the number of stretches, never with the quantities.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

__all__ = ["NOTHING", "Curve", "Stretch", "added", "cost_at", "joined", "lowest", "origin", "trimmed"]


class Stretch(NamedTuple):
    """Whole numbers from ``lo`` to ``hi``, both in, on which a cost is ``base + slope * x``."""

    lo: int
    hi: int
    base: int
    slope: int

    def at(self, x: int) -> int:
        """Return the cost of ``x``, which has to lie inside."""
        return self.base + self.slope * x


#: A cost by quantity: stretches in rising order, none overlapping, gaps where the quantity cannot be.
Curve = list[Stretch]
#: Nothing bought, at no cost.
NOTHING: Curve = [Stretch(0, 0, 0, 0)]


def added(before: Stretch, more: Stretch, fixed: int) -> Iterator[Stretch]:
    """Yield the least cost of a number from each of two stretches together: the cheaper slope is used up first."""
    first, then = (before, more) if before.slope <= more.slope else (more, before)
    start, turn, end = before.lo + more.lo, first.hi + then.lo, before.hi + more.hi
    value = fixed + before.at(before.lo) + more.at(more.lo)
    yield Stretch(start, turn, value - first.slope * start, first.slope)
    if turn < end:
        value += first.slope * (turn - start)
        yield Stretch(turn + 1, end, value - then.slope * turn, then.slope)


def lowest(curves: Iterable[Curve]) -> Curve:
    """Return the least of all at each number, merged in pairs so that each round halves their number."""
    left = list(curves)
    while len(left) > 1:
        if len(left) % 2:
            left.append([])
        left = [joined(_lower(one, other)) for one, other in zip(left[::2], left[1::2], strict=True)]
    return left[0] if left else []


def trimmed(curve: Curve, need: int) -> Curve:
    """Return a rising cost without what is beyond a need and no cheaper than less of it."""
    kept = [stretch._replace(hi=min(stretch.hi, need - 1)) for stretch in curve if stretch.lo < need]
    ends = sorted((max(stretch.lo, need), stretch) for stretch in curve if stretch.hi >= need)
    least: int | None = None
    for x, stretch in ends:
        value = stretch.at(x)
        if least is None or value < least:
            kept.append(Stretch(x, x, value, 0))
            least = value
    return kept


def cost_at(curve: Curve, x: int) -> int | None:
    """Return the cost of a number, None where it cannot be."""
    return next((stretch.at(x) for stretch in curve if stretch.lo <= x <= stretch.hi), None)


def origin(before: Sequence[Stretch], prices: Iterable[Stretch], x: int, spent: int) -> int | None:
    """Return the least number from which an order that brings ``x`` has cost ``spent``, None if there is none.

    ``before`` is the cost up to the order, ``prices`` what the order itself costs. A line is least at an end.
    """
    found = None
    for start, price in itertools.product(before, prices):
        lo, hi = max(start.lo, x - price.hi), min(start.hi, x - price.lo)
        if lo <= hi:
            for y in (lo, hi):
                if start.at(y) + price.at(x - y) == spent and (found is None or y < found):
                    found = y
    return found


def _lower(one: Curve, other: Curve) -> Iterator[Stretch]:
    """Yield the lower of two curves, in small pieces."""
    edges = sorted({edge for lo, hi, _, _ in (*one, *other) for edge in (lo, hi + 1)})
    left, right = iter(one), iter(other)
    a, b = next(left, None), next(right, None)
    for lo, after in itertools.pairwise(edges):
        while a is not None and a.hi < lo:
            a = next(left, None)
        while b is not None and b.hi < lo:
            b = next(right, None)
        here = [stretch._replace(lo=lo, hi=after - 1) for stretch in (a, b) if stretch and stretch.lo <= lo]
        yield from _lower_lines(*here) if len(here) == 2 else here


def _lower_lines(one: Stretch, other: Stretch) -> Iterator[Stretch]:
    """Yield the lower of two lines over the same numbers, changed over at the last number where the first holds."""
    first, then = sorted((one, other), key=lambda line: (line.at(line.lo), line.slope))
    if first.at(first.hi) <= then.at(then.hi):
        yield first
        return
    last = first.lo + (then.at(first.lo) - first.at(first.lo)) // (first.slope - then.slope)
    yield first._replace(hi=last)
    yield then._replace(lo=last + 1)


def joined(stretches: Iterable[Stretch]) -> Curve:
    """Return the stretches with neighbours on one line made one."""
    curve: Curve = []
    for stretch in stretches:
        if curve and curve[-1].hi + 1 == stretch.lo and curve[-1][2:] == stretch[2:]:
            curve[-1] = curve[-1]._replace(hi=stretch.hi)
        else:
            curve.append(stretch)
    return curve
