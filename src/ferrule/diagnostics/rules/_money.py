"""The money of the plans that state some, worked out once for all rules that ask."""

from __future__ import annotations

import datetime as dt
import functools

from msgspec import Struct

from ferrule.compute.buy import Ask, buy
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.cash import Cash, plan_cash
from ferrule.compute.ground import Framed, Ground, Purchased, costed
from ferrule.diagnostics.rules._plans import Planned, planned
from ferrule.diagnostics.rules._use import Same
from ferrule.model.product import Product

__all__ = ["Moneyed", "moneyed"]


class Moneyed(Struct, frozen=True):
    """A plan that is not over and states its opening cash, with what it rests on and its weeks."""

    plan: Planned
    ground: Ground
    cash: Cash


def moneyed(product: Product, today: dt.date) -> tuple[Moneyed, ...]:
    """Return the plans whose money can be worked out, by id; a plan that states no opening cash has none."""
    return _moneyed(Same(product), today)


@functools.lru_cache(maxsize=1)
def _moneyed(key: Same, today: dt.date) -> tuple[Moneyed, ...]:
    product = key.product
    found = []
    for plan in planned(product, today):
        if plan.file.plan.opening is None or plan.dates is None:
            continue
        try:
            ground = _ground(product, plan, today)
            found.append(Moneyed(plan, ground, plan_cash(product, plan.file, ground)))
        except (NoSuchDay, OverflowError, ValueError):  # the rules of dates and calendars speak
            continue
    return tuple(found)


def _ground(product: Product, plan: Planned, today: dt.date) -> Ground:
    """Return what a plan rests on, from the purchase list and the dates that are there already."""
    runs = plan.bought.runs
    pooled = buy(product, runs, Ask(today=today), netted=False)
    frame = Framed(product=product, plan=plan.file, today=today, public=None, runs=runs)
    dates = plan.dates
    if dates is None:
        raise ValueError("a plan without dates has no money by week")
    return costed(Purchased(framed=frame, product=product, bought=plan.bought, pooled=pooled, dates=dates))
