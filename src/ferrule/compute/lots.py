"""When to order one part for several builds, and how much: the plan of least cost, with simple rules beside it.

Wagner and Whitin (Management Science 5(1), 1958) order only when stock is empty. With prices that fall for
the whole quantity, a least quantity and an order step that is no longer best: a lot may reach a price break
and leave stock, and the next lot then starts before that stock is used up. So the plan here looks at every
stock level, but by stretches instead of one by one.

Why it is exact. What one order of every quantity costs, over all forms and packs of a source, is known as a
curve (``order_curve``), straight in stretches over whole steps; so what counts is the whole number x of steps
ordered so far. By the end of period t it must be at least ceil((demand so far - opening stock) / m). Holding
counted on x differs from holding on the real stock by an amount that no plan can change. Let V(t, x) be the
least cost of x steps by the end of period t. V starts as one point. To order is to add a straight line to a
straight line, the cheaper slope first, which gives two straight lines; the least of straight lines is again
straight in stretches, cut at whole numbers. So V is kept for *every* x as a list of stretches, nothing is left
out, and the work grows with the number of stretches (some tens where prices fall), never with the quantities.

Two facts keep x below the whole need N. Nothing is ordered once x is N or more, since no order earns money.
And from there on only holding follows, known beforehand, so of all x from N only the cheapest is kept.

Money is scaled to whole numbers first, so nothing rounds.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.order_curve import Grid, grid_of
from ferrule.compute.quotes import Form
from ferrule.compute.stretches import NOTHING, Curve, Stretch, added, cost_at, lowest, origin

__all__ = [
    "Ladder",
    "Lot",
    "LotPlan",
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
    """What orders of one part cost at one source: its forms, and the fixed cost of one order.

    ``per_order`` is one amount, or one for each period. A form's own ``charge`` comes on top where it is used.
    """

    forms: tuple[Form, ...]
    per_order: Fraction | tuple[Fraction, ...] = _ZERO


class Lot(Struct, frozen=True):
    """One order: the period (from 0) in which it is needed, its quantity, and its cost with the fixed part.

    ``ladder`` is the index of the source, ``mix`` the quantity in each form used.
    """

    period: int
    quantity: Fraction
    cost: Fraction
    ladder: int = 0
    mix: tuple[tuple[Form, Fraction], ...] = ()


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


def plan_lots(
    demand: Sequence[Fraction],
    ladders: Sequence[Ladder],
    holding: Rate,
    *,
    opening: Fraction = _ZERO,
    most: Fraction | None = None,
) -> LotPlan:
    """Return the lots of least total cost that never leave a shortage, each at the cheapest of the sources.

    ``demand`` is what each period needs, earliest first, at its start; a lot of a period is there in time.
    ``holding`` is the cost of one unit that is in stock at the end of a period, up to the next one; ``most``
    the most that can be had in all. Of equal plans: fewest lots, then least stock left, then the last lot as
    late and as large as can be, then so for the lot before it. Raises ValueError on a negative amount, a list
    of another length than ``demand``, prices that are missing or whose breaks do not rise, and where ``most``
    is not enough.
    """
    task = _task_of(demand, ladders, holding, opening)
    curves = _least_costs(task, None if most is None else math.floor(most / task.grid.unit))
    lots = {period: steps * task.grid.unit for period, steps in _traced(task, curves)}
    return cost_lots(lots, demand, ladders, holding, opening=opening)


def cost_lots(
    lots: Mapping[int, Fraction],
    demand: Sequence[Fraction],
    ladders: Sequence[Ladder],
    holding: Rate,
    *,
    opening: Fraction = _ZERO,
) -> LotPlan:
    """Return what given lots (quantity by period, from 0) cost, each bought in the cheapest way there is.

    Raises ValueError on a shortage, a quantity that cannot be ordered, a negative demand, holding or
    order cost, a list of another length than ``demand``, and a lot in none of its periods.
    """
    periods = len(demand)
    needs, rates = _by_period(demand, periods, "demand"), _by_period(holding, periods, "holding")
    if not all(0 <= period < periods for period in lots):
        raise ValueError(f"a lot lies outside the {periods} periods")
    task = _task_of(demand, ladders, holding, opening, upto=max(lots.values(), default=_ZERO))
    priced = tuple(_lot(task, ladders, t, lots[t]) for t in sorted(lots))
    stock, held = Fraction(opening), _ZERO
    for period, (need, rate) in enumerate(zip(needs, rates, strict=True)):
        stock += lots.get(period, _ZERO) - need
        if stock < 0:
            raise ValueError(f"period {period} is short of {-stock}")
        held += rate * stock
    ordering = sum((lot.cost for lot in priced), _ZERO)
    return LotPlan(lots=priced, ordering=ordering, holding=held, ending_stock=stock)


def lot_for_lot(
    demand: Sequence[Fraction],
    ladders: Sequence[Ladder],
    holding: Rate,
    *,
    opening: Fraction = _ZERO,
    most: Fraction | None = None,
) -> LotPlan:
    """Return a lot for each period that is short, bought as cheaply as for it alone. Raises as `plan_lots`."""
    task = _task_of(demand, ladders, holding, opening)
    lots = _covering(task, lambda period: period + 1, _cheapest, most)
    return cost_lots(lots, demand, ladders, holding, opening=opening)


def one_lot(
    demand: Sequence[Fraction],
    ladders: Sequence[Ladder],
    holding: Rate,
    *,
    opening: Fraction = _ZERO,
    most: Fraction | None = None,
) -> LotPlan:
    """Return one lot for everything, in the first period that is short, at least spend. Raises as `plan_lots`."""
    task = _task_of(demand, ladders, holding, opening)
    lots = _covering(task, lambda _: len(demand), _cheapest, most)
    return cost_lots(lots, demand, ladders, holding, opening=opening)


def silver_meal(
    demand: Sequence[Fraction], ladders: Sequence[Ladder], holding: Rate, *, opening: Fraction = _ZERO
) -> LotPlan:
    """Return lots that each cover periods until the average cost of a period first rises. Raises as `cost_lots`.

    E. A. Silver, H. C. Meal, Production and Inventory Management 14(2), 1973. The rule weighs the fixed cost
    of the first source against holding and sees no price breaks; least quantity and step are applied to the
    lots afterwards.
    """
    task = _task_of(demand, ladders, holding, opening)
    fixed, rates = _fixed(ladders[0], len(demand)), _by_period(holding, len(demand), "holding")

    def until(period: int) -> int:
        averages = itertools.pairwise(_averages(demand[period:], fixed[period], rates[period:]))
        return period + next((n for n, (one, more) in enumerate(averages, 1) if more > one), len(demand))

    lots = _covering(task, until, _smallest)
    return cost_lots(lots, demand, ladders, holding, opening=opening)


def _averages(demand: Sequence[Fraction], fixed: Fraction, rates: Sequence[Fraction]) -> Iterator[Fraction]:
    """Yield the average cost of a period when the lot covers one period, two periods and so on."""
    cost, carrying = fixed, _ZERO
    for periods, need in enumerate(demand, 1):
        cost += need * carrying
        yield cost / periods
        carrying += rates[periods - 1]


class _Task(Struct, frozen=True, kw_only=True):
    """The same question in whole numbers: order steps, and money scaled up.

    ``due`` is the steps that must have been ordered by the end of each period. ``orders`` holds, for each
    source, what an order costs without its fixed part, ``fixed`` that part by period. Every order costs 1 more
    than its scaled cost, too little to outweigh any difference in money, so that of equal plans the one of
    fewest lots comes out.
    """

    grid: Grid
    due: tuple[int, ...]
    orders: tuple[Curve, ...]
    fixed: tuple[tuple[int, ...], ...]
    holding: tuple[int, ...]

    @property
    def need(self) -> int:
        return self.due[-1] if self.due else 0

    def ways(self, period: int) -> Iterator[tuple[Stretch, int]]:
        """Yield each stretch of what an order costs in a period, with its fixed part."""
        for curve, fixed in zip(self.orders, self.fixed, strict=True):
            yield from ((stretch, fixed[period]) for stretch in curve)


def _task_of(
    demand: Sequence[Fraction],
    ladders: Sequence[Ladder],
    holding: Rate,
    opening: Fraction,
    upto: Fraction = _ZERO,
) -> _Task:
    """Return the task; the curves of orders are complete to the need and to ``upto``."""
    periods = len(demand)
    _by_period(demand, periods, "demand")
    fixed = [_fixed(ladder, periods) for ladder in ladders]
    rates = _by_period(holding, periods, "holding")
    forms = [form for ladder in ladders for form in ladder.forms]
    unit = grid_of(forms).unit
    amounts = [*itertools.chain(*fixed), *(rate * unit for rate in rates)]
    grid = grid_of(forms, amounts, periods + 1)
    steps = [math.ceil((so_far - opening) / unit) for so_far in itertools.accumulate(demand)]
    due = tuple(max(0, step) for step in steps)
    reach = max(due[-1] if due else 0, math.floor(upto / unit) + 1)
    return _Task(
        grid=grid,
        due=due,
        orders=tuple(grid.curve(ladder.forms, reach) for ladder in ladders),
        fixed=tuple(tuple(grid.scaled(cost) + 1 for cost in costs) for costs in fixed),
        holding=tuple(grid.scaled(rate * unit) for rate in rates),
    )


def _fixed(ladder: Ladder, periods: int) -> tuple[Fraction, ...]:
    """Return the fixed cost of an order in each period; raises ValueError where one is missing."""
    if not ladder.forms:
        raise ValueError("prices need breaks in rising order, none negative")
    return _by_period(ladder.per_order, periods, "per_order")


def _by_period(amounts: Rate, periods: int, name: str) -> tuple[Fraction, ...]:
    """Return one amount for each period; raises ValueError if there are others, or one is negative."""
    each = tuple(amounts) if isinstance(amounts, Sequence) else (amounts,) * periods
    if len(each) != periods or any(amount < 0 for amount in each):
        raise ValueError(f"{name} needs {periods} amounts, none negative")
    return each


def _lot(task: _Task, ladders: Sequence[Ladder], period: int, quantity: Fraction) -> Lot:
    """Return a lot at its cheapest source and in its cheapest forms; raises ValueError if none sells it."""
    x = task.grid.steps(quantity) or 0
    costs = [
        (cost + fixed[period], place)
        for place, (curve, fixed) in enumerate(zip(task.orders, task.fixed, strict=True))
        if (cost := cost_at(curve, x)) is not None
    ]
    if not costs:
        raise ValueError(f"{quantity} cannot be ordered")
    cost, place = min(costs)
    mix = task.grid.mix(ladders[place].forms, quantity) or ()
    return Lot(period, quantity, Fraction(cost - 1, task.grid.scale), place, tuple(mix))


#: Picks the steps of a lot from the possible ones: each with its cost.
_Pick = Callable[[Iterable[tuple[int, int]]], int]


def _covering(
    task: _Task, until: Callable[[int], int], pick: _Pick, most: Fraction | None = None
) -> dict[int, Fraction]:
    """Return lots that start where stock is short and cover the periods before ``until(start)``.

    Raises ValueError where ``most`` is not enough.
    """
    ordered, lots = 0, {}
    for period, due in enumerate(task.due):
        if ordered < due:
            need = task.due[min(until(period), len(task.due)) - 1] - ordered
            left = math.inf if most is None else math.floor(most / task.grid.unit) - ordered
            steps = pick(
                (way.at(x) + fixed, x)
                for way, fixed in task.ways(period)
                if (x := max(way.lo, need)) <= min(way.hi, left)
            )
            if not steps:
                raise ValueError(f"period {period} cannot be covered by what can be had")
            lots[period] = steps * task.grid.unit
            ordered += steps
    return lots


def _cheapest(lots: Iterable[tuple[int, int]]) -> int:
    return min(lots, default=(0, 0))[1]


def _smallest(lots: Iterable[tuple[int, int]]) -> int:
    return min((steps for _, steps in lots), default=0)


def _least_costs(task: _Task, most: int | None) -> list[Curve]:
    """Return V before the first period and after each; raises ValueError where ``most`` is not enough."""
    curves = [NOTHING]
    for period, due in enumerate(task.due):
        before = curves[-1]
        ordered = [
            list(added(stretch, way, fixed))
            for stretch, (way, fixed) in itertools.product(_open(before, task.need), task.ways(period))
            if stretch.hi + way.hi >= due
        ]
        rate = task.holding[period]
        # Once all has to be there only its cheapest end counts, whatever overlaps.
        least = lowest([before, *ordered]) if due < task.need else list(itertools.chain(before, *ordered))
        held = [
            Stretch(max(lo, due), min(hi, hi if most is None else most), base, slope + rate)
            for lo, hi, base, slope in least
            if hi >= due and (most is None or lo <= most)
        ]
        if most is not None and most < due:
            raise ValueError(f"period {period} needs more than can be had")
        curves.append(_closed(held, task.need, sum(task.holding[period + 1 :])))
        if not curves[-1]:
            raise ValueError(f"period {period} cannot be covered by what can be had")
    return curves


def _open(curve: Curve, need: int) -> Curve:
    """Return what is below the need; `_closed` leaves no stretch on both sides of it."""
    return [stretch for stretch in curve if stretch.hi < need]


def _closed(curve: Curve, need: int, carrying: int) -> Curve:
    """Return the curve with only the cheapest point from the need on, all later holding counted."""
    below = [stretch._replace(hi=min(stretch.hi, need - 1)) for stretch in curve if stretch.lo < need]
    ends = [(stretch.at(x), x) for stretch in curve if stretch.hi >= need for x in (max(stretch.lo, need),)]
    if ends:
        value, x = min(ends, key=lambda end: (end[0] + carrying * end[1], end[1]))
        below.append(Stretch(x, x, value, 0))
    return below


def _traced(task: _Task, curves: Sequence[Curve]) -> Iterator[tuple[int, int]]:
    """Yield period and steps of each lot, latest first, walking back along the least cost."""
    x = curves[-1][0].lo
    for period in reversed(range(len(task.due))):
        spent = (cost_at(curves[period + 1], x) or 0) - task.holding[period] * x
        before = _open(curves[period], task.need)
        found = [
            y
            for curve, fixed in zip(task.orders, task.fixed, strict=True)
            if (y := origin(before, curve, x, spent - fixed[period])) is not None
        ]
        start = min(found, default=x)
        if start < x:
            yield period, x - start
            x = start
