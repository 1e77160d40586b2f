"""What a delay does to the arrival, and what must be ordered in a week.

A delay is judged against the plan as it stands: everything on its latest day, or as soon as it can be where that
day has passed. So a slip moves the arrival only by what no slack takes up; and where it pushes a leg across a
closure, one day can cost four weeks.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterable, Iterator

from msgspec import Struct

from ferrule.compute.activities import Network
from ferrule.compute.passes import Lies, forward
from ferrule.compute.schedule import BuildDates, OrderDates, PlanDates

__all__ = ["Slip", "Week", "cliff", "orders_of_week", "slip", "slips"]

_WEEK = dt.timedelta(days=7)


class Slip(Struct, frozen=True, kw_only=True):
    """An item (or the build itself) that begins some days later than planned, and the arrival then.

    ``moved`` is how many calendar days later the build arrives; ``bound`` says that an unknown length lies on
    the way, so that both arrivals are no earlier than.
    """

    build: str
    item: str
    days: int
    begins: dt.date
    arrival: dt.date
    moved: int
    bound: bool


class Week(Struct, frozen=True, kw_only=True):
    """The orders of an ISO week: overdue ones, those due in it, and next week's with a week's slip of each.

    Each order stands once, with the build that asks for it first. An order's day is its seller's last open one,
    so whatever waits a week beyond it is late: ``next`` says what that does to the arrival.
    """

    monday: dt.date
    overdue: tuple[OrderDates, ...]
    due: tuple[OrderDates, ...]
    next: tuple[tuple[OrderDates, Slip], ...]


def slip(dates: BuildDates, item: str, days: int) -> Slip | None:
    """Return what it does if an item, or the build by its own name, begins ``days`` later than planned.

    Of an item that comes from several sources or goes to several places, all slip. None if the build has no
    such item. Raises NoSuchDay.
    """
    return next(_slips(dates, item, (days,)), None)


def _slips(dates: BuildDates, item: str, many: Iterable[int]) -> Iterator[Slip]:
    """Yield what each number of days does; nothing if the build has no such item."""
    network, floors = dates.network, _floors(dates)
    firsts = _begins(network, dates, item)
    as_planned = forward(network, dates.today, floors=floors) if firsts else ()
    for days in many if firsts else ():
        later = {index: as_planned[index].start + dt.timedelta(days=days) for index in firsts}
        begun = {index: day for index, day in later.items() if network.activities[index].begun is not None}
        slipped = forward(
            network,
            dates.today,
            floors={**floors, **later},
            ordered=begun,
            like=as_planned,
            moved=later,
        )
        yield Slip(
            build=dates.build,
            item=item,
            days=days,
            begins=min(slipped[index].start for index in firsts),
            arrival=slipped[-1].finish,
            moved=(slipped[-1].finish - as_planned[-1].finish).days,
            bound=_beyond(slipped[-1]),
        )


def slips(dates: BuildDates, item: str, days: Iterable[int]) -> tuple[Slip, ...]:
    """Return the slips of an item by each of some numbers of days; none if the build has no such item."""
    return tuple(_slips(dates, item, days))


def cliff(dates: BuildDates, item: str, within: int = 28) -> tuple[Slip, Slip] | None:
    """Return the first two slips, a day apart, between which the arrival jumps by more than a week.

    That is a closure waiting behind the plan. None if there is no such jump within so many days.
    """
    found = _slips(dates, item, range(within + 1))
    pairs = itertools.pairwise(found)
    return next(((before, after) for before, after in pairs if after.moved - before.moved > 7), None)


def _floors(dates: BuildDates) -> dict[int, dt.date]:
    """Return the day on which each activity is planned to begin: its latest, an order on its seller's day."""
    floors = {index: strip.late.start for index, strip in enumerate(dates.strips) if strip.late is not None}
    return floors | {each.order.first: each.order_by for each in dates.orders if each.order_by is not None}


def _begins(network: Network, dates: BuildDates, item: str) -> list[int]:
    if item == dates.build:
        return [network.runs[dates.job.build.sku][0]]
    return [order.first for order in network.orders if order.item == item]


def _beyond(lies: Lies) -> bool:
    return lies.bound or lies.walked is None


def orders_of_week(plan: PlanDates, day: dt.date) -> Week:
    """Return what to order in the ISO week (Monday to Sunday) of a day, earliest first.

    What is ordered already is left out. Raises NoSuchDay.
    """
    monday = day - dt.timedelta(days=day.weekday())
    following, later = monday + _WEEK, monday + 2 * _WEEK
    builds = {build.build: build for build in plan.builds}
    open_ = _open_orders(plan)
    waiting = [each for by, each in open_ if following <= by < later]
    slipped = [(each, slip(builds[each.build], each.item, 7)) for each in waiting]
    return Week(
        monday=monday,
        overdue=tuple(each for by, each in open_ if by < monday),
        due=tuple(each for by, each in open_ if monday <= by < following),
        next=tuple((each, moved) for each, moved in slipped if moved is not None),
    )


def _open_orders(plan: PlanDates) -> list[tuple[dt.date, OrderDates]]:
    """Return what is still to be ordered by its day, each item of a source for the build that needs it first."""
    dated = [
        (each.order_by, each)
        for each in plan.orders
        if each.order_by is not None and each.order.ordered is None
    ]
    firsts: dict[tuple[str, int | None], tuple[dt.date, OrderDates]] = {}
    for by, each in sorted(dated, key=lambda pair: (pair[0], pair[1].item)):
        firsts.setdefault((each.item, each.order.source), (by, each))
    return list(firsts.values())
