"""What one order of every quantity costs at a source: the least over all mixes of its forms, as one curve.

A source sells in forms (reels, cut strips, boxes), each with price breaks that hold for the whole quantity in
that form, a least quantity and a step. Orders come in whole multiples of the common measure of all steps; over
these the least cost is straight in stretches, form added to form. It is the cost that a single order pays, so
whatever plans several orders by it agrees with the single one to the cent.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.quotes import Form
from ferrule.compute.stretches import NOTHING, Curve, Stretch, added, cost_at, lowest, origin, trimmed

__all__ = ["Grid", "common_measure", "grid_of"]

_ZERO = Fraction(0)


class Grid(Struct, frozen=True):
    """Whole numbers for quantities and money: ``unit`` is one step, money is multiplied by ``scale``."""

    unit: Fraction
    scale: int

    def steps(self, quantity: Fraction) -> int | None:
        """Return a quantity in steps, None where it is no whole number of them."""
        count = quantity / self.unit
        return count.numerator if count.denominator == 1 else None

    def scaled(self, amount: Fraction) -> int:
        """Return money as a whole number."""
        return int(amount * self.scale)

    def curve(self, forms: Sequence[Form], need: int) -> Curve:
        """Return the cost of an order by steps; beyond ``need`` only where more costs less.

        Raises ValueError where a form has no price, a negative one, or breaks that do not rise.
        """
        return [
            stretch._replace(lo=max(stretch.lo, 1)) for stretch in self._curves(forms, need)[-1] if stretch.hi
        ]

    def mix(self, forms: Sequence[Form], quantity: Fraction) -> list[tuple[Form, Fraction]] | None:
        """Return the quantity in each form used of the cheapest order of exactly that quantity, None if none is."""
        x = self.steps(quantity)
        if x is None or x <= 0:
            return None
        curves = self._curves(forms, x + 1)
        spent = cost_at(curves[-1], x)
        if spent is None:
            return None
        found = []
        for form, before in zip(reversed(forms), reversed(curves[:-1]), strict=True):
            if cost_at(before, x) == spent:
                continue
            prices = list(self._prices(form, x + 1))
            spent -= self.scaled(form.charge)
            y = origin(before, prices, x, spent)
            assert y is not None, "a cost on the curve has been reached by some order"  # noqa: S101
            found.append((form, (x - y) * self.unit))
            x, spent = y, cost_at(before, y) or 0
        return found[::-1]

    def _curves(self, forms: Sequence[Form], need: int) -> list[Curve]:
        """Return the cost of orders of the first forms, one more each time."""
        curves = [NOTHING]
        for form in forms:
            charge = self.scaled(form.charge)
            pairs = itertools.product(curves[-1], self._prices(form, need))
            more = (list(added(before, price, charge)) for before, price in pairs)
            curves.append(trimmed(lowest([curves[-1], *more]), need))
        return curves

    def _prices(self, form: Form, need: int) -> Iterator[Stretch]:
        """Yield each break's price over the steps at which it holds; no more of a form than covers ``need``."""
        width = int(form.step / self.unit)
        prices = [(price + form.per_unit) * self.unit for _, price in form.breaks]
        starts = [start for start, _ in form.breaks]
        if not prices or min(prices) < 0 or starts != sorted(starts):
            raise ValueError("prices need breaks in rising order, none negative")
        first = [math.ceil(max(start, form.least) / form.step) for start in starts]
        for index, lo in enumerate(first):
            most = max(lo, math.ceil(need / width))
            hi = min(most, first[index + 1] - 1) if index + 1 < len(first) else most
            price = self.scaled(prices[index])
            if width == 1 and lo <= hi:
                yield Stretch(lo, hi, 0, price)
            elif width > 1:
                yield from (Stretch(n * width, n * width, n * width * price, 0) for n in range(lo, hi + 1))


def grid_of(forms: Iterable[Form], amounts: Iterable[Fraction] = (), finer: int = 1) -> Grid:
    """Return the grid on which all steps, prices and ``amounts`` (money by quantity or not) are whole.

    ``finer`` multiplies the scale. Amounts by quantity have to be given for one step.
    """
    every = list(forms)
    unit = functools.reduce(common_measure, (form.step for form in every)) if every else Fraction(1)
    money = [*amounts, *(form.charge for form in every)]
    money += [(price + form.per_unit) * unit for form in every for _, price in form.breaks]
    return Grid(unit, math.lcm(*(amount.denominator for amount in money)) * finer)


def common_measure(one: Fraction, other: Fraction) -> Fraction:
    """Return the largest step of which both steps are whole multiples."""
    scale = math.lcm(one.denominator, other.denominator)
    return Fraction(math.gcd(int(one * scale), int(other * scale)), scale)
