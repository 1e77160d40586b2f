"""When a part changes: use up the old one, or switch in some week, over the same number of units.

What lies and what cannot be cancelled is sunk: it costs the same whatever is decided and is in no row. A row counts
what the decision moves: new parts, what else a new unit costs, open orders that are taken or cancelled, extra
warranty on old units, less what old parts left over are sold for. The write-off stands beside it and is in no sum.
A switch takes effect at the start of its week; a week before which the old part runs short is refused.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

__all__ = ["BreakEven", "CutIn", "CutInAsk", "OpenLot", "Switching", "WeekNeed", "cut_in"]

_ZERO = Fraction(0)
#: So many open orders are tried in every combination; of more, only the earliest ones together.
_TRIED = 5


class WeekNeed(Struct, frozen=True, kw_only=True):
    """A week, numbered from 0 without gaps: units made, and the parts they take if all are old or all are new."""

    number: int
    units: int
    old: Fraction
    new: Fraction


class OpenLot(Struct, frozen=True, kw_only=True):
    """An open order of the old part: its week (None: no promised day, so it serves no week), quantity and value.

    ``fee`` is what cancelling costs, None where it cannot be cancelled.
    """

    name: str
    week: int | None
    qty: Fraction
    value: Fraction
    fee: Fraction | None = None


class CutInAsk(Struct, frozen=True, kw_only=True):
    """What the decision rests on. Money in the home currency; ``other`` is what a new unit costs more beside the part.

    ``warranty`` is the extra cost of an old unit, ``salvage`` what an old part left over is sold for.
    """

    weeks: tuple[WeekNeed, ...]
    stock: Fraction
    stock_value: Fraction
    orders: tuple[OpenLot, ...]
    new_price: Fraction
    other: Fraction = _ZERO
    warranty: Fraction = _ZERO
    salvage: Fraction = _ZERO

    @property
    def units(self) -> int:
        """Return the units made in all weeks."""
        return sum(week.units for week in self.weeks)

    @property
    def sunk(self) -> Fraction:
        """Return the value of what lies and of what cannot be cancelled."""
        return self.stock_value + sum((lot.value for lot in self.orders if lot.fee is None), _ZERO)


class Switching(Struct, frozen=True, kw_only=True):
    """One way to change over. ``week`` is None for use-up.

    ``short`` is what lacks of old parts before the switch, at the worst: such a row is refused and has no sums.
    """

    week: int | None
    old_units: int
    new_units: int
    short: Fraction = _ZERO
    new_parts: Fraction = _ZERO
    other: Fraction = _ZERO
    orders: Fraction = _ZERO
    warranty: Fraction = _ZERO
    salvage: Fraction = _ZERO
    left: Fraction = _ZERO
    write_off: Fraction = _ZERO
    taken: tuple[str, ...] = ()
    cancelled: tuple[str, ...] = ()

    @property
    def total(self) -> Fraction:
        """Return what the decision moves."""
        return self.new_parts + self.other + self.orders + self.warranty - self.salvage


class BreakEven(Struct, frozen=True, kw_only=True):
    """By how much using up is cheaper than switching in week 0, and what would make both equal.

    ``warranty`` is the extra warranty on an old unit, ``salvage`` the price of an old part left over, both beside
    what is asked already; None where using up makes no more old units, or leaves no fewer parts.
    """

    saved: Fraction
    warranty: Fraction | None
    salvage: Fraction | None


class CutIn(Struct, frozen=True, kw_only=True):
    """Every week and use-up, and the cheapest of them: the earliest of equals, use-up last."""

    ask: CutInAsk
    weeks: tuple[Switching, ...]
    use_up: Switching
    best: Switching
    even: BreakEven | None


def cut_in(ask: CutInAsk) -> CutIn:
    """Return the cost of switching at the start of each week, and of using up; the last week is after all units."""
    rows = tuple(_switch(ask, week) for week in range(len(ask.weeks) + 1))
    use_up = _cheapest(_use_ups(ask))
    allowed = [row for row in rows if not row.short]
    best = min([*allowed, use_up], key=lambda row: row.total)
    return CutIn(ask=ask, weeks=rows, use_up=use_up, best=best, even=_even(ask, rows[0], use_up))


def _choices(ask: CutInAsk) -> Iterator[frozenset[int]]:
    """Yield the sets of cancellable orders that may be taken, smaller sets first."""
    free = [index for index, lot in enumerate(ask.orders) if lot.fee is not None]
    if len(free) <= _TRIED:
        for many in range(len(free) + 1):
            yield from map(frozenset, itertools.combinations(free, many))
        return
    ranked = sorted(free, key=lambda index: (ask.orders[index].week is None, ask.orders[index].week or 0))
    yield from (frozenset(ranked[:many]) for many in range(len(ranked) + 1))


def _at_hand(ask: CutInAsk, taken: frozenset[int], week: int) -> Fraction:
    """Return the old parts that have come by the end of a week."""
    come = (
        lot.qty
        for index, lot in enumerate(ask.orders)
        if (lot.fee is None or index in taken) and lot.week is not None and lot.week <= week
    )
    return ask.stock + sum(come, _ZERO)


def _shortage(ask: CutInAsk, taken: frozenset[int], week: int) -> Fraction:
    """Return what lacks of old parts at the worst in the weeks before one."""
    needed = worst = _ZERO
    for each in ask.weeks[:week]:
        needed += each.old
        worst = max(worst, math.ceil(needed) - _at_hand(ask, taken, each.number))
    return worst


def _switch(ask: CutInAsk, week: int) -> Switching:
    fitting = _switches(ask, week)
    if fitting:
        return _cheapest(fitting)
    units = sum(each.units for each in ask.weeks[:week])
    everything = frozenset(range(len(ask.orders)))
    short = _shortage(ask, everything, week)
    return Switching(week=week, old_units=units, new_units=ask.units - units, short=short)


def _switches(ask: CutInAsk, week: int) -> list[Switching]:
    """Return a switch in a week with every choice of orders that feeds the weeks before it."""
    before = ask.weeks[:week]
    units = sum(each.units for each in before)
    used = sum((each.old for each in before), _ZERO)
    new = sum((each.new for each in ask.weeks[week:]), _ZERO)
    fitting = (taken for taken in _choices(ask) if not _shortage(ask, taken, week))
    return [_row(ask, taken, week, units, (used, new)) for taken in fitting]


def _use_ups(ask: CutInAsk) -> list[Switching]:
    """Return the ways to make old units until the old part is gone, with every choice of orders."""
    return [_used_up(ask, taken) for taken in _choices(ask)]


def _used_up(ask: CutInAsk, taken: frozenset[int]) -> Switching:
    units, used, new = 0, _ZERO, _ZERO
    over = False
    for week in ask.weeks:
        many = 0 if over else week.units
        left = _at_hand(ask, taken, week.number) - used
        if many and week.old > left:
            many = max(0, math.floor(week.units * left / week.old))
            over = True
        share = Fraction(many, week.units) if week.units else _ZERO
        units, used, new = units + many, used + week.old * share, new + week.new * (1 - share)
    return _row(ask, taken, None, units, (used, new))


def _row(
    ask: CutInAsk, taken: frozenset[int], week: int | None, units: int, parts: tuple[Fraction, Fraction]
) -> Switching:
    """Return a way to change over; ``parts`` are the old ones used and the new ones needed."""
    used, new = Fraction(math.ceil(parts[0])), Fraction(math.ceil(parts[1]))
    lots = list(enumerate(ask.orders))
    kept = [lot for index, lot in lots if lot.fee is None or index in taken]
    gone = [lot for index, lot in lots if lot.fee is not None and index not in taken]
    left = ask.stock + sum((lot.qty for lot in kept), _ZERO) - used
    new_units = ask.units - units
    return Switching(
        week=week,
        old_units=units,
        new_units=new_units,
        new_parts=new * ask.new_price,
        other=ask.other * new_units,
        orders=sum((ask.orders[index].value for index in taken), _ZERO)
        + sum((lot.fee or _ZERO for lot in gone), _ZERO),
        warranty=ask.warranty * units,
        salvage=ask.salvage * left,
        left=left,
        write_off=_write_off(ask, [ask.orders[index] for index in taken], left),
        taken=tuple(ask.orders[index].name for index in sorted(taken)),
        cancelled=tuple(lot.name for lot in gone),
    )


def _write_off(ask: CutInAsk, taken: Sequence[OpenLot], left: Fraction) -> Fraction:
    """Return the value of what is left: what came last is left first, what lay from the start goes first."""
    fixed = [lot for lot in ask.orders if lot.fee is None]
    value = _ZERO
    for group in (taken, fixed):
        for lot in sorted(group, key=lambda lot: (lot.week is not None, -(lot.week or 0))):
            many = min(left, lot.qty)
            value += lot.value * many / lot.qty if lot.qty else _ZERO
            left -= many
    return value + (ask.stock_value * left / ask.stock if ask.stock else _ZERO)


def _cheapest(rows: Iterable[Switching]) -> Switching:
    """Return the row with the least total; of equals the first, which takes the fewest orders."""
    return min(rows, key=lambda row: row.total)


def _even(ask: CutInAsk, switch: Switching, use_up: Switching) -> BreakEven | None:
    """Return what would make using up and switching at once equal; None where using up saves nothing.

    At another price other orders may be taken or cancelled, on either side, so every choice is looked at.
    """
    saved = switch.total - use_up.total
    if saved <= 0:
        return None
    now, later = _switches(ask, 0), _use_ups(ask)
    return BreakEven(
        saved=saved,
        warranty=_crossing(_lines(now, "old_units", 1), _lines(later, "old_units", 1)),
        salvage=_crossing(_lines(now, "left", -1), _lines(later, "left", -1)),
    )


_Line = tuple[Fraction, Fraction]


def _lines(rows: Iterable[Switching], field: str, sign: int) -> list[_Line]:
    """Return each total as a line over an amount more: where it starts, and how it climbs."""
    return [(row.total, sign * Fraction(getattr(row, field))) for row in rows]


def _crossing(switch: Sequence[_Line], use_up: Sequence[_Line]) -> Fraction | None:
    """Return the least amount more at which the lowest of one lines is as low as the lowest of the others."""
    amounts = sorted(
        {
            (high - low) / (steep - flat)
            for high, flat in switch
            for low, steep in use_up
            if steep != flat and (high - low) / (steep - flat) >= 0
        }
    )
    return next((amount for amount in amounts if _lowest(switch, amount) <= _lowest(use_up, amount)), None)


def _lowest(lines: Iterable[_Line], amount: Fraction) -> Fraction:
    return min(start + slope * amount for start, slope in lines)
