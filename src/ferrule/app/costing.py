"""`cost`: what one good unit of a SKU costs at several quantities, under several offers, along a curve."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import cast

from msgspec import Struct, field
from msgspec.structs import replace

from ferrule.app.buying import named_plan, refuse_rings
from ferrule.app.holidays import Holidays, holidays_of
from ferrule.app.loading import Places, load_snapshot
from ferrule.compute.buy import Ask, Bought, buy
from ferrule.compute.cost import Basis, CostAsk, Offer, Offered, UnitCost, landed_offers, unit_cost
from ferrule.compute.curve import Point, cost_curve
from ferrule.compute.economics import Breakeven, breakeven
from ferrule.compute.memory import Memory
from ferrule.compute.packing import load_of
from ferrule.compute.purchase import Strategy
from ferrule.compute.runs import PlanRuns, runs_of
from ferrule.compute.sourcing import Choice
from ferrule.errors import FerruleError
from ferrule.model.bad_value import BadValue
from ferrule.model.incoterms import Incoterm, parse_incoterm
from ferrule.model.money import parse_price
from ferrule.model.product import Product
from ferrule.model.records.plan import Build, PlanFile
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = ["Costing", "costs", "curve", "facts", "offer_quantity", "offers", "open_cost", "plan_breakeven"]

_OFFER = re.compile(
    r"(?:(?P<price>[0-9.]+ ?[A-Z]{3}) )?(?P<term>[A-Z]{3} .+?) via (?P<lane>\S+)"
    r"(?: on (?P<basis>freight-inclusive|freight-exclusive))?"
)
_OFFER_FORM = '"48.20 USD CIP Wexmouth port via halden-sea" or "FCA Port Halden via halden-air"'


class Costing(Struct, frozen=True, kw_only=True):
    """A product, a SKU of it, and how it is made and comes home: from the plan that builds it, if one does."""

    product: Product
    sku: str
    plan: PlanFile | None
    build: Build | None
    lane: str | None
    term: Incoterm | None
    today: dt.date
    strategy: Strategy
    choice: Choice
    faults: int
    label: str
    where: Places
    holidays: Holidays
    #: What one answer works out and the next can use.
    memory: Memory = field(default_factory=Memory)

    def runs_of(self, plan: PlanFile) -> PlanRuns:
        """Return the runs of a plan."""
        return self.memory.of(runs_of, self.product, plan, (), self.holidays.days)

    def ask(self, qty: Fraction, name: str, build: Build | None = None) -> CostAsk:
        """Return the question for a quantity, made and shipped as a build is (the plan's first if none)."""
        build = build or self.build
        day, planned = self.today, Fraction(0)
        if self.plan is not None:
            runs = self.runs_of(self.plan)
            planned = sum((run.qty for run in runs.runs if run.sku == self.sku), Fraction(0))
            day = next((run.day for run in runs.runs if build is not None and run.name == build.name), day)
        return CostAsk(
            sku=self.sku,
            qty=qty,
            name=name,
            day=day,
            factory=build.factory if build is not None else None,
            lane=self.lane or (build.lane if build is not None else None),
            term=self.term,
            planned=planned,
            strategy=self.strategy,
            choice=self.choice,
        )


def open_cost(  # noqa: PLR0913  one argument for each thing one may say about the unit
    snapshot: Snapshot,
    sku: str | None,
    today: dt.date,
    *,
    plan: str | None = None,
    lane: str | None = None,
    term: str | None = None,
    strategy: Strategy = "least cash now",
    choice: Choice = "preferred",
) -> Costing:
    """Return a SKU of a snapshot ready to be costed; raises FerruleError for what is not there."""
    loaded = load_snapshot(snapshot)
    product = loaded.product
    refuse_rings(product)
    sku = _named_sku(product, sku)
    _refuse_unknown_lane(product, lane)
    file = named_plan(product, plan) if plan is not None else _first_plan(product, sku)
    builds = [build for build in file.build if build.sku == sku] if file is not None else []
    return Costing(
        product=product,
        sku=sku,
        plan=file,
        build=builds[0] if builds else None,
        lane=lane or (None if builds else _only_lane(product)),
        term=None if term is None else _named(term),
        today=today,
        strategy=strategy,
        choice=choice,
        faults=len(loaded.findings) + len(snapshot.problems),
        label=snapshot.label,
        where=Places(loaded, snapshot),
        holidays=holidays_of(product),
    )


def _named_sku(product: Product, sku: str | None) -> str:
    known = sorted(product.assemblies)
    skus = product.skus()
    if sku is None and len(skus) == 1:
        return skus[0]
    if sku is None:
        listed = f"SKUs: {', '.join(skus)}" if skus else "a SKU is an assembly with [assembly.sale]"
        raise FerruleError("name the SKU" if skus else "the product has no SKU", listed)
    if sku not in product.assemblies:
        if sku in product.parts:
            raise FerruleError(
                f"{sku} is a part, not an assembly", "`ferrule buy --why` shows what a part costs"
            )
        best = nearest(sku, known)
        raise FerruleError(
            f"no assembly has the number {sku}",
            f"did you mean {best}?" if best else f"SKUs: {', '.join(skus)}",
        )
    return sku


def _refuse_unknown_lane(product: Product, lane: str | None) -> None:
    if lane is not None and lane not in product.lanes:
        known = sorted(product.lanes)
        best = nearest(lane, known)
        raise FerruleError(
            f"there is no lane called {lane}",
            f"did you mean {best}?" if best else f"lanes: {', '.join(known) or 'none'}",
        )


def _first_plan(product: Product, sku: str) -> PlanFile | None:
    """Return the plan that builds a SKU first."""
    plans = [plan for plan in product.plans.values() if any(build.sku == sku for build in plan.build)]
    return min(plans, key=lambda plan: (plan.plan.start, plan.plan.id), default=None)


def _only_lane(product: Product) -> str | None:
    return next(iter(product.lanes)) if len(product.lanes) == 1 else None


def _named(written: str) -> Incoterm:
    try:
        term = parse_incoterm(written)
    except BadValue as error:
        raise FerruleError(error.message, f'write it as "{error.forms[0]}"' if error.forms else "") from None
    if not term.place:
        raise FerruleError(f"{term.rule} names no place", f'write it as "{term.rule} Wexmouth port"')
    return term


def costs(costing: Costing, volumes: Sequence[int]) -> Iterator[UnitCost]:
    """Yield the unit cost at each volume, then for each build of the plan at the plan's pooled prices."""
    for volume in volumes:
        yield unit_cost(costing.product, costing.ask(Fraction(volume), f"{volume:,}"), memory=costing.memory)
    if costing.plan is None:
        return
    pooled = _pooled(costing, costing.plan)
    for build in costing.plan.build:
        if build.sku == costing.sku:
            ask = costing.ask(Fraction(build.qty), build.name, build)
            yield unit_cost(costing.product, ask, pooled, memory=costing.memory)


def _pooled(costing: Costing, plan: PlanFile) -> Bought:
    asked = (costing.today, costing.strategy, costing.choice)
    return costing.memory.of(_pool, costing.product, costing.runs_of(plan), *asked)


def _pool(product: Product, runs: PlanRuns, today: dt.date, strategy: Strategy, choice: Choice) -> Bought:
    return buy(product, runs, Ask(today=today, strategy=strategy, choice=choice), netted=False)


def plan_breakeven(costing: Costing) -> Breakeven | None:
    """Return when the plan's sales have paid for what it spends once; None without a plan that sells."""
    plan = costing.plan
    if plan is None or not plan.sales:
        return None
    pooled = _pooled(costing, plan)
    found = {}
    for sku in dict.fromkeys(sales.sku for sales in plan.sales):
        build = next((build for build in plan.build if build.sku == sku), None)
        if build is None or sku not in costing.product.assemblies:
            continue
        ask = replace(costing, sku=sku).ask(Fraction(build.qty), build.name, build)
        found[sku] = unit_cost(costing.product, ask, pooled, effects=False, memory=costing.memory)
    return breakeven(costing.product, plan, found)


def offers(costing: Costing, written: Sequence[str]) -> tuple[Offered, ...]:
    """Return the landed cost of a unit under offers as they are written, or under every term of every lane.

    Raises FerruleError for one that cannot be read.
    """
    asked = [_offer(costing.product, text) for text in written] or [
        Offer(term=term, lane=name)
        for name, lane in sorted(costing.product.lanes.items())
        for term in lane.incoterm
    ]
    qty = offer_quantity(costing)
    pooled = (
        _pooled(costing, costing.plan) if costing.build is not None and costing.plan is not None else None
    )
    return landed_offers(costing.product, costing.ask(qty, f"{qty}"), asked, pooled)


def offer_quantity(costing: Costing) -> Fraction:
    """Return the quantity at which offers are compared: the plan's first build, else a thousand."""
    return Fraction(costing.build.qty) if costing.build is not None else Fraction(1000)


def facts(costing: Costing) -> list[tuple[str, str]]:
    """Return how the unit is taken to be made and to come home."""
    lane = costing.product.lanes.get(costing.ask(Fraction(1), "").lane or "")
    term = costing.term or (lane.incoterm[0] if lane is not None and lane.incoterm else None)
    return [
        ("plan", costing.plan.plan.id if costing.plan is not None else "none"),
        ("lane", costing.ask(Fraction(1), "").lane or "none: cost ends at the factory"),
        ("term", str(term) if term is not None else "none stated"),
        ("day", costing.today.isoformat()),
        ("strategy", costing.strategy),
    ]


def _offer(product: Product, written: str) -> Offer:
    found = _OFFER.fullmatch(written)
    if found is None:
        raise FerruleError(f"cannot read the offer {written!r}", f"write it as {_OFFER_FORM}")
    _refuse_unknown_lane(product, found["lane"])
    try:
        price = parse_price(found["price"]) if found["price"] else None
    except BadValue as error:
        raise FerruleError(error.message, f"write it as {_OFFER_FORM}") from None
    return Offer(
        term=_named(found["term"]),
        lane=found["lane"],
        price=price,
        basis=cast("Basis | None", found["basis"]),
    )


def curve(costing: Costing, last: int | None) -> Iterator[Point]:
    """Yield unit cost and cash at every carton multiple up to ``last``, else twice the plan's largest build."""
    per_carton = load_of(costing.product, costing.sku, 1).per_carton or 1
    builds = costing.plan.build if costing.plan is not None else ()
    largest = max((int(build.qty) for build in builds if build.sku == costing.sku), default=500)
    end = last or 2 * largest
    step = per_carton if end // per_carton else 1
    yield from cost_curve(costing.product, costing.ask(Fraction(1), ""), range(step, end + 1, step))
