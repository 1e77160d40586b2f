"""Supply risk in days: how much float the orders have, what a week late costs, and what buys days back.

And the last order of a part that is no longer made: how many for all that is still planned, against a redesign.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import Ask, BuyRow, buy
from ferrule.compute.calendars import walk_forward
from ferrule.compute.cash import Ground
from ferrule.compute.cost import CostAsk, unit_cost
from ferrule.compute.leads import lane_legs
from ferrule.compute.outlays import last_day
from ferrule.compute.pooling import Market
from ferrule.compute.rates import rates_of
from ferrule.compute.risk import Measure
from ferrule.compute.runs import runs_of
from ferrule.compute.schedule import OrderDates
from ferrule.compute.selling_rate import SellingRate
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Lifecycle
from ferrule.model.records.plan import Build, PlanFile

__all__ = ["EndRisk", "LaneRisk", "LeadRisk", "end_risks", "lane_risks", "lead_risks"]

_ZERO = Fraction(0)


class LeadRisk(Struct, frozen=True, kw_only=True):
    """An order with its float in calendar days, its lead, and what a week late costs its build.

    ``slack`` below zero is late already. ``bound`` says that a length is unknown: the float is no more than.
    ``measures`` are the expedite quotes of its source, each with the days it gains worth at the plan's sales.
    """

    item: str
    build: str
    order_by: dt.date | None
    slack: int
    lead: int
    worth: Fraction | None
    bound: bool
    measures: tuple[Measure, ...]


class LaneRisk(Struct, frozen=True, kw_only=True):
    """Another way home for a build: what it costs more in all, the days it gains, and what those are worth."""

    build: str
    lane: str
    other: str
    days: int
    cost: Fraction | None
    worth: Fraction | None

    @property
    def removed(self) -> Fraction | None:
        """Return what the days gained are worth when all of them would be lost otherwise."""
        return None if self.worth is None else self.worth * self.days / 7


class EndRisk(Struct, frozen=True, kw_only=True):
    """A part that ends, and its last order: what plans still need with losses, reserve and service, less stock.

    ``service`` is None where no share for service was asked for. ``cash`` is what the quantity costs,
    ``redesign`` what qualifying a replacement costs; None is not known.
    """

    part: str
    kind: str
    status: str
    last_order: dt.date | None
    last_shipment: dt.date | None
    need: Fraction
    service: Fraction | None
    reserve: Fraction
    stock: Fraction
    qty: Fraction
    cash: Fraction | None
    redesign: Fraction | None
    plans: tuple[str, ...]


def lead_risks(ground: Ground, rates: Mapping[str, SellingRate]) -> tuple[LeadRisk, ...]:
    """Return the orders of a plan that are still to be placed, the one with the least float first."""
    skus = {run.name: run.sku for run in ground.bought.runs.runs}
    found = []
    for order in ground.dates.orders:
        if order.slack is None or order.order.ordered is not None:
            continue
        rate = rates.get(skus.get(order.build, ""))
        worth = None if rate is None else rate.worth_a_week
        found.append(
            LeadRisk(
                item=order.item,
                build=order.build,
                order_by=order.order_by,
                slack=order.slack,
                lead=(order.ready - order.planned).days,
                worth=worth,
                bound=order.bound,
                measures=tuple(_expedites(ground, order, worth)),
            )
        )
    return tuple(sorted(found, key=lambda risk: (risk.slack, risk.item, risk.build)))


def _expedites(ground: Ground, order: OrderDates, worth: Fraction | None) -> Iterator[Measure]:
    product = ground.dates.builds[0].job.product
    rates, home = rates_of(product), product.head.currency
    qty = sum(
        (
            line.qty
            for row in ground.bought.rows
            if row.part == order.item
            for line in row.orders
            if line.quote.index == order.order.source
        ),
        _ZERO,
    )
    for faster in order.faster:
        quote = faster.expedite
        item = product.item(order.item)
        source = (
            item.source[order.order.source] if item is not None and order.order.source is not None else None
        )
        own = (source.currency if source is not None else None) or home
        fee = _ZERO if quote.fee is None else rates.money(quote.fee, own, home)
        each = _ZERO if quote.each is None else rates.money(quote.each, own, home)
        days = max(0, (order.ready - faster.there).days)
        yield Measure(
            words=f"expedited, {days} days sooner",
            once=None if fee is None or each is None else fee + each * qty,
            a_year=_ZERO,
            removed=None if worth is None else worth * days / 7,
        )


def lane_risks(
    product: Product, plan: PlanFile, ground: Ground, rates: Mapping[str, SellingRate]
) -> tuple[LaneRisk, ...]:
    """Return for each build the faster ways home to the same border, with what they cost more, landed."""
    pooled = None
    found = []
    for build in plan.build:
        base = product.lanes.get(build.lane or "")
        cost = ground.costs.get(build.name)
        dates = next((each for each in ground.dates.builds if each.build == build.name), None)
        if base is None or cost is None or dates is None:
            continue
        day = dates.ships or plan.plan.start
        rate = rates.get(build.sku)
        for name, lane in sorted(product.lanes.items()):
            gained = _days(product, ground, build, build.lane, day) - _days(product, ground, build, name, day)
            if name == build.lane or lane.destination != base.destination or gained <= 0:
                continue
            pooled = pooled or buy(product, ground.bought.runs, Ask(today=ground.today), netted=False)
            ask = CostAsk(
                sku=cost.ask.sku,
                qty=cost.ask.qty,
                name=cost.ask.name,
                day=cost.ask.day,
                factory=cost.ask.factory,
                lane=name,
                planned=cost.ask.planned,
            )
            other = unit_cost(product, ask, pooled, effects=False)
            known = not other.unknown and not cost.unknown
            found.append(
                LaneRisk(
                    build=build.name,
                    lane=build.lane or "",
                    other=name,
                    days=gained,
                    cost=(other.total - cost.total) * Fraction(build.qty) if known else None,
                    worth=None if rate is None else rate.worth_a_week,
                )
            )
    return tuple(found)


def _days(product: Product, ground: Ground, build: Build, lane: str | None, day: dt.date) -> int:
    """Return the calendar days of a way home at its longest, from a day on."""
    legs = lane_legs(product.lanes.get(lane or ""), build.factory, None, ground.book, "worst")
    return (walk_forward(legs, day).finish - day).days + 1


def end_risks(product: Product, today: dt.date, service: Fraction | None) -> tuple[EndRisk, ...]:
    """Return the parts that end and their last orders, the earliest last day first.

    Needs are those of all plans that are not over; ``service`` is the share of that need kept for repairs.
    Raises ValueError where assemblies contain themselves.
    """
    ending = [
        (kind, number, item, item.lifecycle)
        for kind, number, item in sorted(product.items(), key=lambda each: each[1])
        if item.lifecycle is not None
        and (item.lifecycle.last_order is not None or item.lifecycle.status in ("last-time-buy", "obsolete"))
    ]
    if not ending:
        return ()
    rows = [
        (plan.plan.id, row)
        for _, plan in sorted(product.plans.items())
        if plan.build and last_day(plan.plan) >= today
        for row in buy(product, runs_of(product, plan), Ask(today=today)).rows
    ]
    market = Market(product)
    found = [
        _end_risk(market, (kind, number), (item, lifecycle), rows, service)
        for kind, number, item, lifecycle in ending
    ]
    return tuple(sorted(found, key=lambda risk: (risk.last_order or dt.date.max, risk.part)))


def _end_risk(
    market: Market,
    key: tuple[str, str],
    record: tuple[Item, Lifecycle],
    rows: Iterable[tuple[str, BuyRow]],
    service: Fraction | None,
) -> EndRisk:
    kind, number = key
    item, lifecycle = record
    own = [(plan, row) for plan, row in rows if row.part == number]
    need = sum((row.gross.total for _, row in own), _ZERO)
    kept = None if service is None else need * service
    stock = _stock(market.product, number)
    reserve = Fraction(item.safety_stock or 0)
    short = max(_ZERO, need + (kept or _ZERO) + reserve - stock)
    qty, cash = _last_order(market, number, short)
    home = market.product.head.currency
    return EndRisk(
        part=number,
        kind=kind,
        status=lifecycle.status,
        last_order=lifecycle.last_order,
        last_shipment=lifecycle.last_shipment,
        need=need,
        service=kept,
        reserve=reserve,
        stock=stock,
        qty=qty,
        cash=cash,
        redesign=None if item.qualify_cost is None else market.rates.money(item.qualify_cost, home, home),
        plans=tuple(dict.fromkeys(plan for plan, _ in own)),
    )


def _stock(product: Product, part: str) -> Fraction:
    """Return what is usable of a part and what is on order."""
    stock = sum(
        (Fraction(row.qty) for row in product.stock if row.part == part and row.status == "usable"), _ZERO
    )
    return stock + sum((Fraction(order.qty) for order in product.orders if order.part == part), _ZERO)


def _last_order(market: Market, part: str, short: Fraction) -> tuple[Fraction, Fraction | None]:
    """Return what can be ordered for a need and what it costs at the first source with a price."""
    if not short:
        return _ZERO, _ZERO
    for quote in market.quotes(part):
        for form in quote.forms[:1]:
            qty = form.rounded(short)
            return qty, qty * form.price(qty) + form.charge + quote.per_order
    return short, None
