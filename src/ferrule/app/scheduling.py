"""`schedule`: the dates of a plan's builds, in everybody's calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from ferrule.app.buying import Buying, runs_named
from ferrule.compute.buy import Ask, buy
from ferrule.compute.covers import jobs_of
from ferrule.compute.leads import Kind
from ferrule.compute.schedule import BuildDates, OrderDates, PlanDates, books_of, schedule
from ferrule.compute.slips import Slip, Week, orders_of_week, slip
from ferrule.errors import FerruleError
from ferrule.model.text import nearest

__all__ = ["dates_of", "find_order", "slips_of", "week_of"]


def dates_of(buying: Buying, ask: Ask, kind: Kind, builds: Sequence[str]) -> PlanDates:
    """Return the dates of a plan's builds, or of those named; raises FerruleError."""
    from ferrule.compute.calendars import NoSuchDay

    result = buy(buying.product, runs_named(buying, builds), ask)
    try:
        books = books_of(buying.product, buying.holidays.days)
        return schedule(jobs_of(buying.product, buying.plan, result, kind), books, ask.today)
    except NoSuchDay as error:
        raise FerruleError(
            str(error), "look at the closures and weekends of the calendars in product.toml"
        ) from None


def find_order(plan: PlanDates, item: str) -> tuple[BuildDates, OrderDates]:
    """Return the most pressing order of a part or tool; raises FerruleError where nothing of it is ordered."""
    for order in plan.orders:
        if order.item == item:
            build = next(build for build in plan.builds if build.build == order.build)
            return build, order
    known = sorted({order.item for order in plan.orders})
    best = nearest(item, known)
    raise FerruleError(
        f"nothing called {item} has to be ordered",
        f"did you mean {best}?" if best else "`ferrule schedule` lists what has",
    )


def slips_of(plan: PlanDates, item: str, days: Sequence[int]) -> Iterator[Slip]:
    """Yield what delays of an item or build do, build by build; raises FerruleError where there is none."""
    found = False
    for build in plan.builds:
        for count in days:
            moved = slip(build, item, count)
            if moved is not None:
                found = True
                yield moved
    if not found:
        known = sorted({order.item for order in plan.orders} | {build.build for build in plan.builds})
        best = nearest(item, known)
        raise FerruleError(
            f"nothing called {item} is in the schedule",
            f"did you mean {best}?" if best else "name a part, a tool, an assembly or a build",
        )


def week_of(plan: PlanDates, day: dt.date) -> Week:
    """Return the orders of the ISO week of a day."""
    return orders_of_week(plan, day)
