"""What terms of payment cannot change: runs and their dates, purchases, the cost of each build's unit.

It is worked out layer by layer, each from the one below and the product: what a lower layer rests on need not be
done again where only a higher one changes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import Ask, Before, Bought, BuyRow, buy
from ferrule.compute.cost import CostAsk, UnitCost, unit_cost
from ferrule.compute.covers import jobs_of
from ferrule.compute.memory import Memory
from ferrule.compute.owners import Book, book_of
from ferrule.compute.pooling import Market
from ferrule.compute.runs import PlanRuns, PublicDays, runs_of
from ferrule.compute.schedule import PlanDates, books_of, schedule
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Framed", "Ground", "Purchased", "costed", "framed", "ground_of", "purchased", "purchased_again"]

_ZERO = Fraction(0)


class Ground(Struct, frozen=True, kw_only=True):
    """What terms of payment cannot change: purchases, the cost of each build's unit, dates."""

    today: dt.date
    bought: Bought
    costs: Mapping[str, UnitCost]
    dates: PlanDates
    book: Book


class Framed(Struct, frozen=True, kw_only=True):
    """The lowest layer: a product and a plan, and the plan's builds as dated runs."""

    product: Product
    plan: PlanFile
    today: dt.date
    public: PublicDays | None
    runs: PlanRuns

    @property
    def book(self) -> Book:
        """Return the calendars."""
        return self.runs.book or book_of(self.product, self.public)


class Purchased(Struct, frozen=True, kw_only=True):
    """The second layer: what the runs buy, once with stock taken off and once as a pool at whose prices units are costed.

    ``product`` may differ from that of the layer below in what the sources of parts ask.
    """

    framed: Framed
    product: Product
    bought: Bought
    pooled: Bought
    dates: PlanDates


def ground_of(product: Product, plan: PlanFile, today: dt.date, public: PublicDays | None = None) -> Ground:
    """Return what a plan buys, costs and when.

    Raises ValueError where assemblies contain themselves, and NoSuchDay.
    """
    return costed(purchased(framed(product, plan, today, public)))


def framed(product: Product, plan: PlanFile, today: dt.date, public: PublicDays | None = None) -> Framed:
    """Return the runs of a plan; raises as `ground_of`."""
    runs = runs_of(product, plan, (), public)
    return Framed(product=product, plan=plan, today=today, public=public, runs=runs)


def purchased(frame: Framed) -> Purchased:
    """Return what the runs of a plan buy, and the dates that come of it; raises as `ground_of`."""
    product, ask, market = frame.product, Ask(today=frame.today), Market(frame.product)
    bought = buy(product, frame.runs, ask, market=market)
    alike = Before(bought, _with_supplies(product))  # what nothing is taken off costs the same in the pool
    return Purchased(
        framed=frame,
        product=product,
        bought=bought,
        pooled=buy(product, frame.runs, ask, netted=False, market=market, before=alike),
        dates=_dates(frame, product, bought),
    )


def _with_supplies(product: Product) -> frozenset[str]:
    """Return the parts of which something is in stock, on order, or kept back."""
    kept = {number for _, number, item in product.items() if item.safety_stock}
    return frozenset(kept | {row.part for row in product.stock} | {order.part for order in product.orders})


def purchased_again(old: Purchased, product: Product) -> Purchased:
    """Return what the same runs buy from a product in which only what the sources of parts ask is different."""
    frame, ask = old.framed, old.bought.ask
    changed = frozenset(
        number for number, part in product.parts.items() if part is not old.product.parts.get(number)
    )
    market = Market(product)
    bought = buy(product, frame.runs, ask, market=market, before=Before(old.bought, changed))
    same = len(bought.rows) == len(old.bought.rows) and all(
        map(_is_dated_alike, bought.rows, old.bought.rows)
    )
    return Purchased(
        framed=frame,
        product=product,
        bought=bought,
        pooled=buy(product, frame.runs, ask, netted=False, market=market, before=Before(old.pooled, changed)),
        dates=old.dates if same else _dates(frame, product, bought),
    )


def _is_dated_alike(one: BuyRow, other: BuyRow) -> bool:
    """Return whether two rows lead to the same dates: the same needs of the same part from the same sources."""
    return one is other or (
        (one.part, one.buyer, one.wanted) == (other.part, other.buyer, other.wanted)
        and [order.quote.index for order in one.orders] == [order.quote.index for order in other.orders]
    )


def _dates(frame: Framed, product: Product, bought: Bought) -> PlanDates:
    return schedule(jobs_of(product, frame.plan, bought), books_of(product, frame.public), frame.today)


def costed(bought: Purchased, product: Product | None = None, memory: Memory | None = None) -> Ground:
    """Return the ground with the cost of a unit of each build at the plan's pooled prices.

    ``product`` may differ from that of the layer below in what the way home, the border and mark-ups cost.
    """
    frame, kept = bought.framed, memory if memory is not None else Memory()
    own = product if product is not None else bought.product
    days = {run.name: run.day for run in frame.runs.runs}
    costs = {}
    for build in frame.plan.build:
        if build.sku not in own.assemblies:
            continue
        planned = sum((run.qty for run in frame.runs.runs if run.sku == build.sku), _ZERO)
        ask = CostAsk(
            sku=build.sku,
            qty=Fraction(build.qty),
            name=build.name,
            day=days[build.name],
            factory=build.factory,
            lane=build.lane,
            planned=planned,
        )
        costs[build.name] = unit_cost(
            own, ask, bought.pooled, effects=False, memory=kept, shape=frame.product
        )
    return Ground(today=frame.today, bought=bought.bought, costs=costs, dates=bought.dates, book=frame.book)
