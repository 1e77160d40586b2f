"""When a build needs its parts, reckoned without calendars: calendar days, working days as seven for five.

A first answer for netting and order-by dates; it knows no closures.
"""

from __future__ import annotations

import calendar
import datetime as dt
import math
from collections.abc import Iterable, Mapping

from ferrule.compute.demand import Made
from ferrule.model.duration import Duration
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly
from ferrule.model.records.common import Leg
from ferrule.model.records.part import Source
from ferrule.model.records.plan import Build, Plan

__all__ = ["arrival_day", "before", "lead_days", "order_by", "ship_day", "start_days"]


def before(day: dt.date, span: Duration | None) -> dt.date:
    """Return the day that lies a span before another; no span, no change."""
    return day if span is None else _shift(day, span, -1)


def _after(day: dt.date, span: Duration | None) -> dt.date:
    return day if span is None else _shift(day, span, 1)


def _shift(day: dt.date, span: Duration, sign: int) -> dt.date:
    if span.unit in ("months", "years"):
        months = math.ceil(span.count * (12 if span.unit == "years" else 1))
        return _months(day, sign * months)
    days = span.in_days if span.in_days is not None else span.count * 7 / 5
    return day + sign * dt.timedelta(days=math.ceil(days))


def _months(day: dt.date, months: int) -> dt.date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return dt.date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def _of_leg(leg: Leg, kind: str) -> Duration | None:
    """Return the asked time of a leg, or the nearest that is stated."""
    order = {"worst": (leg.worst, leg.likely, leg.best), "likely": (leg.likely, leg.worst, leg.best)}[kind]
    return next((span for span in order if span is not None), None)


def ship_day(product: Product, plan: Plan, build: Build) -> dt.date | None:
    """Return the day a build leaves: stated, or the receive-by day less the lane's worst legs."""
    if build.ship is not None:
        return build.ship.on(plan.start)
    if build.receive_by is None:
        return None
    day = build.receive_by.on(plan.start)
    lane = product.lanes.get(build.lane or "")
    for leg in reversed(lane.leg if lane is not None else ()):
        day = before(day, _of_leg(leg, "worst"))
    return day


def arrival_day(product: Product, plan: Plan, build: Build) -> dt.date | None:
    """Return the day a build is likely to arrive: the ship day and the lane's likely legs."""
    day = ship_day(product, plan, build)
    if day is None:
        return None
    lane = product.lanes.get(build.lane or "")
    for leg in lane.leg if lane is not None else ():
        day = _after(day, _of_leg(leg, "likely"))
    return day


def start_days(
    product: Product, plan: Plan, build: Build, made: Iterable[Made]
) -> Mapping[str, dt.date] | None:
    """Return the day each assembly of a build starts, when all its parts are taken to be needed.

    ``made`` lists assemblies, parents first, as a demand does. None where the build has no date.
    """
    order = [each.assembly for each in made]
    due = build.start.on(plan.start) if build.start is not None else ship_day(product, plan, build)
    if due is None:
        return None
    if build.start is None:
        due = before(due, build.inspection)
    wanted: dict[str, dt.date] = {}
    starts: dict[str, dt.date] = {}
    for number in order:
        assembly = product.assemblies.get(number)
        finish = min(wanted.get(number, due), due)
        starts[number] = (
            finish if build.start is not None and number == build.sku else _start(assembly, finish)
        )
        for line in product.lines.get(number, ()):
            wanted[line.part] = min(wanted.get(line.part, starts[number]), starts[number])
    return starts


def _start(assembly: Assembly | None, finish: dt.date) -> dt.date:
    if assembly is None:
        return finish
    spans = [step.time for step in assembly.steps if step.time is not None]
    if not spans and assembly.lead_time is not None:
        spans = [assembly.lead_time]
    for span in reversed(spans):
        finish = before(finish, span)
    return finish


def order_by(source: Source, need: dt.date) -> dt.date | None:
    """Return the last day to order so that the part is there on the day of need; None without a lead time."""
    spans = (
        [source.lead_time] if source.lead_time is not None else [_of_leg(leg, "worst") for leg in source.leg]
    )
    if not spans or any(span is None for span in spans):
        return None
    day = before(need, source.inbound)
    for span in spans:
        day = before(day, span)
    return day


def lead_days(source: Source) -> int | None:
    """Return the days from order to use, for comparing sources; None without a lead time."""
    day = dt.date(2000, 1, 1)
    first = order_by(source, day)
    return None if first is None else (day - first).days
