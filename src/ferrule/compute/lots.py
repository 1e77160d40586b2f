"""When to order one part for several builds, and how much: the plan of least cost, with simple rules beside it.

Wagner and Whitin (Management Science 5(1), 1958) order only when stock is empty. With prices that fall for
the whole quantity, a least quantity and an order step that is no longer best: a lot may reach a price break
and leave stock, and the next lot then starts before that stock is used up. So the plan here looks at every
stock level, but by stretches instead of one by one.

Why it is exact. Orders come in steps of m, so what counts is the whole number x of steps ordered so far; by
the end of period t it must be at least ceil((demand so far - opening stock) / m). Holding counted on x differs
from holding on the real stock by an amount that no plan can change. Let V(t, x) be the least cost of x steps
by the end of period t. An order of q steps costs a fixed amount and q times the price of its break: on each
break a straight line over whole numbers. V starts as one point. To order on one break is to add a straight
line to a straight line, the cheaper slope first, which gives two straight lines; the least of straight lines is
again straight in stretches, cut at whole numbers. So V is kept for *every* x as a list of stretches, nothing is
left out, and the work grows with the number of stretches (some tens where prices fall), never with the quantities.

Two facts keep x below the whole need N. Nothing is ordered once x is N or more, since no order earns money.
And from there on only holding follows, known beforehand, so of all x from N only the cheapest is kept.

Money is scaled to whole numbers first, so nothing rounds.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from msgspec import Struct

from ferrule.compute.quotes import Form

__all__ = [
    "Ladder",
    "Lot",
    "LotPlan",
    "Lotted",
    "cost_lots",
    "lot_for_lot",
    "one_lot",
    "plan_lots",
    "silver_meal",
]

_ZERO = Fraction(0)
#: One amount for all periods, or one for each.
Rate = Fraction | Sequence[Fraction]


class Ladder(Struct, frozen=True, kw_only=True):
    """What orders of one part cost: prices and order steps of a form, and the fixed cost of one order.

    ``per_order`` is one amount, or one for each period. The form's own ``charge`` comes on top, once an order.
    """

    form: Form
    per_order: Fraction | tuple[Fraction, ...] = _ZERO

    def fixed(self, periods: int) -> tuple[Fraction, ...]:
        """Return the fixed cost of an order in each period; raises ValueError where one is missing."""
        return tuple(self.form.charge + cost for cost in _by_period(self.per_order, periods, "per_order"))

    def goods(self, quantity: Fraction) -> Fraction:
        """Return what a quantity costs without the fixed cost; raises ValueError if it cannot be ordered."""
        if quantity <= 0 or self.form.rounded(quantity) != quantity:
            raise ValueError(f"{quantity} cannot be ordered")
        return quantity * (self.form.price(quantity) + self.form.per_unit)


class Lot(Struct, frozen=True):
    """One order: the period (from 0) in which it is needed, its quantity, and its cost with the fixed part."""

    period: int
    quantity: Fraction
    cost: Fraction


class LotPlan(Struct, frozen=True, kw_only=True):
    """Lots in order of time and what they cost. ``total`` is ``ordering`` plus ``holding``.

    ``ending_stock`` is left after the last period. It has been paid and held, and counts for nothing more.
    """

    lots: tuple[Lot, ...]
    ordering: Fraction
    holding: Fraction
    ending_stock: Fraction

    @property
    def total(self) -> Fraction:
        """Return the cost of the orders and of holding."""
        return self.ordering + self.holding


class Lotted(Struct, frozen=True, kw_only=True):
    """Order lots of one part over the builds: the least-cost plan, and two simple ones beside it."""

    part: str
    buyer: str | None
    runs: tuple[str, ...]
    demand: tuple[Fraction, ...]
    best: LotPlan
    each_build: LotPlan
    once: LotPlan


def plan_lots(
    demand: Sequence[Fraction], ladder: Ladder, holding: Rate, *, opening: Fraction = _ZERO
) -> LotPlan:
    """Return the lots of least total cost that never leave a shortage.

    ``demand`` is what each period needs, earliest first, at its start; a lot of a period is there in time.
    ``holding`` is the cost of one unit that is in stock at the end of a period, up to the next one. Of equal
    plans: fewest lots, then least stock left, then the last lot as late and as large as can be, then so for
    the lot before it. Raises ValueError on a negative amount, a list of another length than ``demand``, and
    prices that are missing or whose breaks do not rise.
    """
    task = _task_of(demand, ladder, holding, opening)
    lots = {period: steps * ladder.form.step for period, steps in _traced(task, _least_costs(task))}
    return cost_lots(lots, demand, ladder, holding, opening=opening)


def cost_lots(
    lots: Mapping[int, Fraction],
    demand: Sequence[Fraction],
    ladder: Ladder,
    holding: Rate,
    *,
    opening: Fraction = _ZERO,
) -> LotPlan:
    """Return what given lots (quantity by period, from 0) cost.

    Raises ValueError on a shortage, a quantity that cannot be ordered, a negative demand, holding or
    order cost, a list of another length than ``demand``, and a lot in none of its periods.
    """
    periods = len(demand)
    needs, rates = _by_period(demand, periods, "demand"), _by_period(holding, periods, "holding")
    if not all(0 <= period < periods for period in lots):
        raise ValueError(f"a lot lies outside the {periods} periods")
    fixed = ladder.fixed(periods)
    priced = tuple(Lot(t, lots[t], ladder.goods(lots[t]) + fixed[t]) for t in sorted(lots))
    stock, held = Fraction(opening), _ZERO
    for period, (need, rate) in enumerate(zip(needs, rates, strict=True)):
        stock += lots.get(period, _ZERO) - need
        if stock < 0:
            raise ValueError(f"period {period} is short of {-stock}")
        held += rate * stock
    ordering = sum((lot.cost for lot in priced), _ZERO)
    return LotPlan(lots=priced, ordering=ordering, holding=held, ending_stock=stock)


def lot_for_lot(
    demand: Sequence[Fraction], ladder: Ladder, holding: Rate, *, opening: Fraction = _ZERO
) -> LotPlan:
    """Return a lot for each period that is short, as small as can be ordered. Raises as `cost_lots`."""
    lots = _covering(demand, ladder.form, opening, lambda period: period + 1)
    return cost_lots(lots, demand, ladder, holding, opening=opening)


def one_lot(
    demand: Sequence[Fraction], ladder: Ladder, holding: Rate, *, opening: Fraction = _ZERO
) -> LotPlan:
    """Return one lot for everything, in the first period that is short. Raises as `cost_lots`."""
    lots = _covering(demand, ladder.form, opening, lambda _: len(demand))
    return cost_lots(lots, demand, ladder, holding, opening=opening)


def silver_meal(
    demand: Sequence[Fraction], ladder: Ladder, holding: Rate, *, opening: Fraction = _ZERO
) -> LotPlan:
    """Return lots that each cover periods until the average cost of a period first rises. Raises as `cost_lots`.

    E. A. Silver, H. C. Meal, Production and Inventory Management 14(2), 1973. The rule weighs the fixed cost
    against holding and sees no price breaks; least quantity and step are applied to the lots afterwards.
    """
    fixed, rates = ladder.fixed(len(demand)), _by_period(holding, len(demand), "holding")

    def until(period: int) -> int:
        averages = itertools.pairwise(_averages(demand[period:], fixed[period], rates[period:]))
        return period + next((n for n, (one, more) in enumerate(averages, 1) if more > one), len(demand))

    return cost_lots(_covering(demand, ladder.form, opening, until), demand, ladder, holding, opening=opening)


def _averages(demand: Sequence[Fraction], fixed: Fraction, rates: Sequence[Fraction]) -> Iterator[Fraction]:
    """Yield the average cost of a period when the lot covers one period, two periods and so on."""
    cost, carrying = fixed, _ZERO
    for periods, need in enumerate(demand, 1):
        cost += need * carrying
        yield cost / periods
        carrying += rates[periods - 1]


def _covering(
    demand: Sequence[Fraction], form: Form, opening: Fraction, until: Callable[[int], int]
) -> dict[int, Fraction]:
    """Return lots that start where stock is short and cover the periods before ``until(start)``."""
    stock, lots = opening, {}
    for period, need in enumerate(_by_period(demand, len(demand), "demand")):
        if stock < need:
            lots[period] = form.rounded(sum(demand[period : until(period)], _ZERO) - stock)
        stock += lots.get(period, _ZERO) - need
    return lots


def _by_period(amounts: Rate, periods: int, name: str) -> tuple[Fraction, ...]:
    """Return one amount for each period; raises ValueError if there are others, or one is negative."""
    each = tuple(amounts) if isinstance(amounts, Sequence) else (amounts,) * periods
    if len(each) != periods or any(amount < 0 for amount in each):
        raise ValueError(f"{name} needs {periods} amounts, none negative")
    return each


class _Stretch(NamedTuple):
    """Whole numbers from ``lo`` to ``hi``, both in, on which a cost is ``base + slope * x``."""

    lo: int
    hi: int
    base: int
    slope: int

    def at(self, x: int) -> int:
        return self.base + self.slope * x


#: A cost by steps ordered so far: stretches in rising order, none overlapping, gaps where x cannot be.
_Curve = list[_Stretch]


class _Task(Struct, frozen=True, kw_only=True):
    """The same question in whole numbers: order steps, and money scaled up.

    ``due`` is the steps that must have been ordered by the end of each period. ``prices`` cost an order of q
    steps without its fixed part. Every order costs 1 more than its scaled cost, too little to outweigh any
    difference in money, so that of equal plans the one of fewest lots comes out.
    """

    due: tuple[int, ...]
    prices: tuple[_Stretch, ...]
    fixed: tuple[int, ...]
    holding: tuple[int, ...]

    @property
    def need(self) -> int:
        return self.due[-1] if self.due else 0


def _task_of(demand: Sequence[Fraction], ladder: Ladder, holding: Rate, opening: Fraction) -> _Task:
    form, periods = ladder.form, len(demand)
    _by_period(demand, periods, "demand")
    steps = [math.ceil((so_far - opening) / form.step) for so_far in itertools.accumulate(demand)]
    due = tuple(max(0, step) for step in steps)
    fixed = ladder.fixed(periods)
    rates = [rate * form.step for rate in _by_period(holding, periods, "holding")]
    prices = [(price + form.per_unit) * form.step for _, price in form.breaks]
    scale = math.lcm(*(Fraction(amount).denominator for amount in (*fixed, *rates, *prices))) * (periods + 1)
    return _Task(
        due=due,
        prices=tuple(_price_stretches(form, [int(price * scale) for price in prices], max(due, default=0))),
        fixed=tuple(int(cost * scale) + 1 for cost in fixed),
        holding=tuple(int(rate * scale) for rate in rates),
    )


def _price_stretches(form: Form, prices: Sequence[int], need: int) -> Iterator[_Stretch]:
    """Yield the price of each break over the steps at which it holds; an order never needs more than ``need``.

    Raises ValueError if there is no price, one is negative, or the breaks do not rise.
    """
    starts = [start for start, _ in form.breaks]
    if not prices or min(prices) < 0 or starts != sorted(starts):
        raise ValueError("prices need breaks in rising order, none negative")
    first = [math.ceil(max(start, form.least) / form.step) for start in starts]
    for index, lo in enumerate(first):
        most = max(lo, need)
        hi = min(most, first[index + 1] - 1) if index + 1 < len(first) else most
        if lo <= hi:
            yield _Stretch(lo, hi, 0, prices[index])


def _least_costs(task: _Task) -> list[_Curve]:
    """Return V before the first period and after each."""
    curves = [[_Stretch(0, 0, 0, 0)]]
    for period, due in enumerate(task.due):
        before = curves[-1]
        ordered = [
            list(_with_order(stretch, price, task.fixed[period]))
            for stretch, price in itertools.product(_open(before, task.need), task.prices)
        ]
        rate = task.holding[period]
        held = [
            _Stretch(max(lo, due), hi, base, slope + rate)
            for lo, hi, base, slope in _lowest([before, *ordered])
            if hi >= due
        ]
        curves.append(_closed(held, task.need, sum(task.holding[period + 1 :])))
    return curves


def _open(curve: _Curve, need: int) -> _Curve:
    """Return what is below the need; `_closed` leaves no stretch on both sides of it."""
    return [stretch for stretch in curve if stretch.hi < need]


def _closed(curve: _Curve, need: int, carrying: int) -> _Curve:
    """Return the curve with only the cheapest point from the need on, all later holding counted."""
    below = [stretch._replace(hi=min(stretch.hi, need - 1)) for stretch in curve if stretch.lo < need]
    ends = [
        (stretch.at(x), x)
        for stretch in curve
        if stretch.hi >= need
        for x in (max(stretch.lo, need), stretch.hi)
    ]
    if ends:
        value, x = min(ends, key=lambda end: (end[0] + carrying * end[1], end[1]))
        below.append(_Stretch(x, x, value, 0))
    return below


def _with_order(before: _Stretch, price: _Stretch, fixed: int) -> Iterator[_Stretch]:
    """Yield the least cost after one order at one price: the cheaper of the two slopes is used up first."""
    first, then = (before, price) if before.slope <= price.slope else (price, before)
    start, turn, end = before.lo + price.lo, first.hi + then.lo, before.hi + price.hi
    value = fixed + before.at(before.lo) + price.at(price.lo)
    yield _Stretch(start, turn, value - first.slope * start, first.slope)
    if turn < end:
        value += first.slope * (turn - start)
        yield _Stretch(turn + 1, end, value - then.slope * turn, then.slope)


def _lowest(curves: list[_Curve]) -> _Curve:
    """Return the least of all at each x, merged in pairs so that each round halves their number."""
    while len(curves) > 1:
        if len(curves) % 2:
            curves.append([])
        curves = [_joined(_lower(one, other)) for one, other in zip(curves[::2], curves[1::2], strict=True)]
    return curves[0]


def _lower(one: _Curve, other: _Curve) -> Iterator[_Stretch]:
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


def _lower_lines(one: _Stretch, other: _Stretch) -> Iterator[_Stretch]:
    """Yield the lower of two lines over the same numbers, changed over at the last number where the first holds."""
    first, then = sorted((one, other), key=lambda line: (line.at(line.lo), line.slope))
    if first.at(first.hi) <= then.at(then.hi):
        yield first
        return
    last = first.lo + (then.at(first.lo) - first.at(first.lo)) // (first.slope - then.slope)
    yield first._replace(hi=last)
    yield then._replace(lo=last + 1)


def _joined(stretches: Iterable[_Stretch]) -> _Curve:
    """Return the stretches with neighbours on one line made one."""
    curve: _Curve = []
    for stretch in stretches:
        if curve and curve[-1].hi + 1 == stretch.lo and curve[-1][2:] == stretch[2:]:
            curve[-1] = curve[-1]._replace(hi=stretch.hi)
        else:
            curve.append(stretch)
    return curve


def _traced(task: _Task, curves: Sequence[_Curve]) -> Iterator[tuple[int, int]]:
    """Yield period and steps of each lot, latest first, walking back along the least cost."""
    x = curves[-1][0].lo
    for period in reversed(range(len(task.due))):
        reached = next(stretch for stretch in curves[period + 1] if stretch.lo <= x <= stretch.hi)
        spent = reached.at(x) - task.holding[period] * x - task.fixed[period]
        origin = min(_origins(_open(curves[period], task.need), task.prices, x, spent), default=x)
        if origin < x:
            yield period, x - origin
            x = origin


def _origins(curve: _Curve, prices: Iterable[_Stretch], x: int, spent: int) -> Iterator[int]:
    """Yield the levels from which an order that brings ``x`` has cost ``spent``; a line is least at an end."""
    for before, price in itertools.product(curve, prices):
        lo, hi = max(before.lo, x - price.hi), min(before.hi, x - price.lo)
        if lo <= hi:
            yield from (y for y in (lo, hi) if before.at(y) + price.at(x - y) == spent)
