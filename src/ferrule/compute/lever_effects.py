"""What a term does to the payments of a plan: how much money it holds for how long, what that costs a year, what it moves.

Exact to the day. Events past the plan's end count as well, for a price is often paid there.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.ledger import CashEvent, Ledger

__all__ = ["Shift", "held", "promised", "shifts", "yearly_cost"]

_ZERO = Fraction(0)


class Shift(Struct, frozen=True, kw_only=True):
    """Money that moves from one week to another; a week is None where it only comes or only goes.

    Weeks are numbered from the plan's start and may lie outside it. ``incoming`` tells receipts from payments.
    """

    amount: Fraction
    start: int | None
    end: int | None
    incoming: bool


def held(before: Ledger, after: Ledger) -> Fraction:
    """Return money times days: on every day, how much more there is than before, where it is more."""
    nets: dict[int, Fraction] = {}
    for sign, found in ((-1, before), (1, after)):
        for event in (*found.events, *found.after):
            if event.day is not None and event.amount:
                number = event.day.toordinal()
                nets[number] = nets.get(number, _ZERO) + sign * event.amount
    total = more = _ZERO
    for day, following in itertools.pairwise(sorted(nets)):
        more += nets[day]
        total += max(_ZERO, more) * (following - day)
    return total


def yearly_cost(before: Ledger, after: Ledger, year_days: int) -> Fraction | None:
    """Return what a term costs a year as a share of the money it frees; None where it frees none on any day.

    Profit lost / (money freed x days freed) x days of a year: for a discount d given up to pay t days later
    this is d / (1 - d) x 365 / t, the usual price of trade credit.
    """
    money = held(before, after)
    return (before.profit - after.profit) * year_days / money if money else None


def promised(before: Ledger, afters: Sequence[Ledger]) -> Fraction:
    """Return what several terms free at the trough if each moves the balance by as much as it does alone.

    Exact where no two of them touch the same payments. Weeks past the shortest of the plans are left out.
    """
    count = min(len(each.weeks) for each in (before, *afters))
    base = [week.balance for week in before.weeks[:count]]
    moves = [[week.balance for week in after.weeks[:count]] for after in afters]
    lowest = min(
        at + sum((balances[number] - at for balances in moves), _ZERO) for number, at in enumerate(base)
    )
    return lowest - before.trough.balance


def shifts(before: Ledger, after: Ledger) -> tuple[Shift, ...]:
    """Return what moves from week to week, document by document, added up, the largest first.

    What only comes or only goes stands last. Where the payments of a document move between more than two
    weeks, each week that gives is matched with the weeks that take, in their order.
    """
    sums: dict[tuple[int | None, int | None, bool], Fraction] = {}
    for changes in _changes(before, after):
        for move in _matched(changes):
            key = (move.start, move.end, move.incoming)
            sums[key] = sums.get(key, _ZERO) + move.amount
    found = [
        Shift(amount=amount, start=start, end=end, incoming=incoming)
        for (start, end, incoming), amount in sums.items()
    ]
    return tuple(sorted(found, key=_largest_first))


def _largest_first(each: Shift) -> tuple[object, ...]:
    return each.start is None or each.end is None, -each.amount, each.start or 0, each.end or 0


def _changes(before: Ledger, after: Ledger) -> Iterator[tuple[bool, dict[int, Fraction]]]:
    """Yield for each document that changes whether it comes in, and by week how much more is paid then."""
    first = before.weeks[0].monday.toordinal()
    weeks: dict[tuple[str, str, bool], dict[int, Fraction]] = {}
    for sign, found in ((-1, before), (1, after)):
        for event in _known((*found.events, *found.after)):
            day, amount = event.day, event.amount or _ZERO
            sums = weeks.setdefault((event.kind, event.document, amount > 0), {})
            number = ((day.toordinal() if day is not None else first) - first) // 7
            sums[number] = sums.get(number, _ZERO) + sign * abs(amount)
    for (_, _, incoming), sums in sorted(weeks.items()):
        kept = {number: change for number, change in sorted(sums.items()) if change}
        if kept:
            yield incoming, kept


def _known(events: Iterable[CashEvent]) -> Iterator[CashEvent]:
    return (event for event in events if event.day is not None and event.amount)


def _matched(changes: tuple[bool, dict[int, Fraction]]) -> Iterator[Shift]:
    incoming, sums = changes
    gives = [(number, -change) for number, change in sums.items() if change < 0]
    takes = [(number, change) for number, change in sums.items() if change > 0]
    while gives and takes:
        (start, given), (end, taken) = gives[0], takes[0]
        amount = min(given, taken)
        yield Shift(amount=amount, start=start, end=end, incoming=incoming)
        gives[:1] = [(start, given - amount)] if given > amount else []
        takes[:1] = [(end, taken - amount)] if taken > amount else []
    for number, amount in gives:
        yield Shift(amount=amount, start=number, end=None, incoming=incoming)
    for number, amount in takes:
        yield Shift(amount=amount, start=None, end=number, incoming=incoming)
