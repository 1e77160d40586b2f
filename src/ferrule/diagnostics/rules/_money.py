"""The money of a product's plans, worked out once for all rules that ask, and only for the plans they ask about."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Iterator

from msgspec import Struct

from ferrule.compute.buy import Ask, buy
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.cash import Cash, ground_of, plan_cash
from ferrule.compute.ground import Framed, Ground, Purchased, costed
from ferrule.compute.outlays import last_day
from ferrule.diagnostics.rule import Setting
from ferrule.diagnostics.rules._plans import Planned, planned
from ferrule.diagnostics.rules._use import Same
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Moneyed", "moneyed", "plan_money", "plans_ahead"]

#: Plans whose cash is kept at a time.
_KEPT = 16


class Moneyed(Struct, frozen=True):
    """A plan that is not over and states its opening cash, with what it rests on and its weeks."""

    plan: Planned
    ground: Ground
    cash: Cash


def plans_ahead(product: Product, today: dt.date) -> Iterator[PlanFile]:
    """Yield the plans that are not over, by id."""
    for _, plan in sorted(product.plans.items()):
        try:
            over = last_day(plan.plan) < today
        except OverflowError:  # its days lie beyond the calendar
            continue
        if not over and last_day(plan.plan) >= plan.plan.start:
            yield plan


def moneyed(product: Product, today: dt.date) -> tuple[Moneyed, ...]:
    """Return the plans whose money can be worked out, by id; a plan that states no opening cash has none."""
    found = []
    for plan in planned(product, today):
        known = _money(Same(product), plan.file.plan.id, today)
        if plan.file.plan.opening is not None and plan.dates is not None and known is not None:
            found.append(Moneyed(plan, *known))
    return tuple(found)


def plan_money(product: Product, plan: PlanFile, setting: Setting) -> Cash | None:
    """Return the cash of a plan as agreed, only signed funding counted; None where it cannot be worked out.

    That is where assemblies contain themselves or a calendar never opens: other rules speak of it.
    """
    known = _money(Same(product), plan.plan.id, setting.today)
    return None if known is None else known[1]


@functools.lru_cache(maxsize=_KEPT)
def _money(key: Same, number: str, today: dt.date) -> tuple[Ground, Cash] | None:
    product = key.product
    plan = product.plans[number]
    try:
        bought = next((each for each in planned(product, today) if each.file is plan), None)
        ground = _ground(product, bought, today) if bought is not None else ground_of(product, plan, today)
        return ground, plan_cash(product, plan, ground)
    except (NoSuchDay, OverflowError, ValueError):  # the rules of dates and calendars speak
        return None


def _ground(product: Product, plan: Planned, today: dt.date) -> Ground:
    """Return what a plan rests on, from the purchase list and the dates that are there already."""
    runs = plan.bought.runs
    pooled = buy(product, runs, Ask(today=today), netted=False)
    frame = Framed(product=product, plan=plan.file, today=today, public=None, runs=runs)
    dates = plan.dates
    if dates is None:
        raise ValueError("a plan without dates has no money by week")
    return costed(Purchased(framed=frame, product=product, bought=plan.bought, pooled=pooled, dates=dates))
