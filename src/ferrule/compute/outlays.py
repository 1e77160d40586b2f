"""Money a plan spends whether or not it sells: overhead by its rhythm, one-off costs, tools."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.calendars import NoSuchDay, months_later
from ferrule.compute.rates import Rates
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.plan import Overhead, Plan, PlanFile
from ferrule.model.when import When

__all__ = ["Outlay", "fixed_outlays", "last_day", "occurrences"]

_MONTHS = {"month": 1, "quarter": 3}


class Outlay(Struct, frozen=True):
    """A fixed cost of a plan in the home currency, with how often it falls due; None where it is not known."""

    name: str
    kind: str
    amount: Fraction | None
    times: int
    home: tuple[str | int, ...]


def last_day(plan: Plan) -> dt.date:
    """Return the last day of a plan: a week's Sunday, ends included."""
    return _last_of(plan.end, plan.start)


def _last_of(when: When, start: dt.date) -> dt.date:
    """Return a day, or the Sunday of a week; no later than a date can be."""
    first = when.on(start)
    return first if when.day is not None else first + min(dt.timedelta(days=6), dt.date.max - first)


def occurrences(plan: Plan, overhead: Overhead) -> Iterator[dt.date]:
    """Yield the days on which an overhead falls due: its first day, then every week, month or quarter.

    A month's day that does not exist falls on that month's last. From and to are the plan's where not said;
    of what began before the plan, the days before its start are the past and left out.
    """
    first = overhead.from_.on(plan.start) if overhead.from_ is not None else plan.start
    last = last_day(plan)
    if overhead.to is not None:
        last = min(last, _last_of(overhead.to, plan.start))
    count = 0
    day: dt.date | None = first
    while day is not None and day <= last:
        if day >= plan.start:
            yield day
        count += 1
        day = _repeated(first, overhead.every, count)


def _repeated(first: dt.date, every: str, count: int) -> dt.date | None:
    """Return the day so many weeks, months or quarters later; None beyond the years a date can have."""
    try:
        if every == "week":
            return first + dt.timedelta(weeks=count)
        return months_later(first, count * _MONTHS[every])
    except (NoSuchDay, OverflowError):
        return None


def fixed_outlays(product: Product, rates: Rates, plan: PlanFile) -> tuple[Outlay, ...]:
    """Return everything a plan spends once or again and again, in the order of its file, tools last."""
    found = []
    for index, overhead in enumerate(plan.overhead):
        times = sum(1 for _ in occurrences(plan.plan, overhead))
        each = _home(product, rates, overhead.amount, None)
        amount = None if each is None else each * times
        home = ("plan", plan.plan.id, "overhead", index)
        found.append(Outlay(overhead.name, overhead.kind, amount, times, home))
    for index, once in enumerate(plan.one_off):
        amount = _home(product, rates, once.amount, once.payee)
        found.append(Outlay(once.name, once.kind, amount, 1, ("plan", plan.plan.id, "one_off", index)))
    for number, tool in sorted(product.tools.items()):
        amount = _home(product, rates, tool.amount, tool.firm) if tool.amount is not None else None
        found.append(Outlay(tool.name, tool.kind, amount, 1, ("tool", number, "amount")))
    return tuple(found)


def _home(product: Product, rates: Rates, amount: Money, firm: str | None) -> Fraction | None:
    payee = product.firms.get(firm or "")
    own = (payee.currency if payee is not None else None) or product.head.currency
    return rates.money(amount, own, product.head.currency)
