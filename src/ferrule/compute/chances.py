"""A plan drawn many times: each draw with its own times on the way, lead times and sales, and the cash they lead to."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct, structs

from ferrule.compute.activities import Activity, Network
from ferrule.compute.calendars import walk_forward
from ferrule.compute.cash import Ground, plan_cash
from ferrule.compute.covers import jobs_of
from ferrule.compute.draws import (
    Chance,
    Outcome,
    Spread,
    drawn_days,
    ready_day,
    spread_of,
    spreads,
    triangular,
    uniform,
    walked,
)
from ferrule.compute.leads import Kind, lane_legs
from ferrule.compute.network import network_of
from ferrule.compute.schedule import Books, BuildDates, schedule
from ferrule.model.duration import Duration
from ferrule.model.exact import exact
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.records.common import Leg
from ferrule.model.records.firms import Lane
from ferrule.model.records.plan import PlanFile, Sales

__all__ = ["Luck", "chance_of_plan"]

_KINDS: tuple[Kind, ...] = ("best", "likely", "worst")
_ALL = 1000


class Luck(Struct, frozen=True, kw_only=True):
    """What is drawn: how often, from which seed, how much of forecast sales sells (in thousandths).

    ``times`` says on which of a leg's times orders are placed: as late as its worst or its likely ones allow.
    """

    draws: int
    seed: int
    demand: Spread = Spread(_ALL, _ALL, _ALL)
    times: Kind = "worst"
    hoped: bool = False


class _Build(Struct, frozen=True):
    """One build ready to be drawn: its network, what is uncertain in it, when its orders go out and it ships."""

    dates: BuildDates
    network: Network
    spreads: tuple[tuple[int, Spread], ...]
    ordered: Mapping[int, dt.date]
    ships: dt.date
    planned: dt.date


def chance_of_plan(product: Product, plan: PlanFile, ground: Ground, books: Books, luck: Luck) -> Chance:
    """Return what so many draws of a plan come to, the same for the same seed. Raises NoSuchDay.

    In one draw all builds on a lane meet the same times on it. A build ships as planned or, where parts or tools
    are late, when they let it; all its payments are late with it. Only sales that are not firm are drawn: whether
    they happen, by their probability, and how much of them sells.
    """
    return _Plan(product, plan, ground, books, luck).chance()


class _Plan:
    def __init__(self, product: Product, plan: PlanFile, ground: Ground, books: Books, luck: Luck) -> None:
        self.product, self.plan, self.ground, self.luck = product, plan, ground, luck
        self.book = books.real
        self.builds = tuple(self._builds(books))
        self.lanes = sorted({name for build in plan.build if (name := build.lane) in product.lanes and name})
        self.walks: dict[tuple[int, int, int | None, dt.date], dt.date] = {}
        self.random = random.Random(luck.seed)  # noqa: S311  chance, not secrets: the same draws for a seed

    def _builds(self, books: Books) -> Iterator[_Build]:
        jobs = {kind: jobs_of(self.product, self.plan, self.ground.bought, kind) for kind in _KINDS}
        planned = schedule(jobs[self.luck.times], books, self.ground.today).builds
        agreed = {build.build: build for build in self.ground.dates.builds}
        for three, dates in zip(zip(*jobs.values(), strict=True), planned, strict=True):
            networks = [network_of(job, self.book) for job in three]
            base = agreed[dates.build]
            if dates.ships is None or base.ships is None:
                continue
            yield _Build(
                base,
                networks[2],
                tuple(spreads(networks)),
                _order_days(dates),
                dates.ships,
                base.ships,
            )

    def chance(self) -> Chance:
        agreed = plan_cash(self.product, self.plan, self.ground, hoped=self.luck.hoped)
        return Chance(
            draws=self.luck.draws,
            seed=self.luck.seed,
            outcomes=tuple(self._draw() for _ in range(self.luck.draws)),
            season=self.plan.plan.season,
            floor=agreed.floor or Fraction(0),
        )

    def _draw(self) -> Outcome:
        lanes = {name: self._drawn_lane(self.product.lanes[name]) for name in self.lanes}
        shipped = {build.dates.build: self._ships(build) for build in self.builds}
        product = structs.replace(self.product, lanes={**self.product.lanes, **lanes})
        plan = structs.replace(self.plan, sales=tuple(self._drawn_sales()))
        dates = structs.replace(
            self.ground.dates, builds=tuple(_late(build, shipped) for build in self.ground.dates.builds)
        )
        cash = plan_cash(product, plan, structs.replace(self.ground, dates=dates), hoped=self.luck.hoped)
        trough = cash.ledger.trough
        return Outcome(
            arrival=min(self._arrivals(lanes, shipped), default=None),
            trough=trough.balance,
            week=trough.number,
        )

    def _drawn_lane(self, lane: Lane) -> Lane:
        return structs.replace(lane, leg=tuple(self._drawn_leg(leg) for leg in lane.leg))

    def _drawn_leg(self, leg: Leg) -> Leg:
        spread = spread_of((leg.best, leg.likely, leg.worst))
        if spread is None or leg.likely is None:
            return leg
        unit = "days" if leg.likely.unit == "weeks" else leg.likely.unit
        time = Duration(Decimal(drawn_days(self.random, spread)), unit)
        return structs.replace(leg, best=time, likely=time, worst=time)

    def _ships(self, build: _Build) -> dt.date:
        times = {
            index: drawn_days(self.random, spread)
            for index, spread in build.spreads
            if index < build.network.ships
        }
        number = self.builds.index(build)
        positions = {id(activity): index for index, activity in enumerate(build.network.activities)}

        def finish(activity: Activity, count: int | None, start: dt.date) -> dt.date:
            key = (number, positions[id(activity)], count, start)
            if key not in self.walks:
                self.walks[key] = walked(activity, count, start)
            return self.walks[key]

        ready = ready_day(build.network, times, build.ordered, self.ground.today, finish)
        return max(ready, build.ships)

    def _arrivals(self, lanes: Mapping[str, Lane], shipped: Mapping[str, dt.date]) -> Iterator[dt.date]:
        for build in self.plan.build:
            day, lane = shipped.get(build.name), lanes.get(build.lane or "")
            if day is not None and lane is not None:
                legs = lane_legs(lane, None, None, self.book, "likely")
                yield walk_forward(legs, day).finish

    def _drawn_sales(self) -> Iterator[Sales]:
        for sale in self.plan.sales:
            if sale.firm:
                yield sale
                continue
            chance = sale.probability
            if (
                chance is not None
                and 0 < chance.fraction < 1
                and uniform(self.random) >= Fraction(chance.fraction)
            ):
                continue
            if chance is not None and not chance.number:
                continue
            demand = self.luck.demand
            if demand.best == demand.worst == _ALL:
                yield sale
            else:
                share = (
                    demand.best if demand.best == demand.worst else triangular(uniform(self.random), demand)
                )
                yield _scaled(sale, share)


def _order_days(dates: BuildDates) -> dict[int, dt.date]:
    """Return by first activity when what is not ordered yet is ordered: as late as it may, else as soon as it can."""
    return {
        each.order.first: each.planned if each.order_by is None else max(each.order_by, each.planned)
        for each in dates.orders
        if each.order.ordered is None
    }


def _late(build: BuildDates, shipped: Mapping[str, dt.date]) -> BuildDates:
    """Return a build as late as its shipping is after its last day for it."""
    day = shipped.get(build.build)
    if day is None or build.ships is None or build.due is None:
        return build
    return structs.replace(build, earliest=build.due + max(dt.timedelta(0), day - build.ships))


def _scaled(sale: Sales, thousandths: int) -> Sales:
    """Return sales of so many thousandths of the units, whole ones, rounded down."""
    part = Fraction(thousandths, _ALL)
    with exact():
        percent = None if sale.share is None else Percent((sale.share.number * thousandths).scaleb(-3))
    return structs.replace(
        sale,
        qty=None if sale.qty is None else Decimal(int(Fraction(sale.qty) * part)),
        share=percent,
        curve=tuple(
            structs.replace(each, qty=Decimal(int(Fraction(each.qty) * part))) for each in sale.curve
        ),
    )
