"""What one good, landed, sellable unit costs, and what each part of that rests on.

Expected cost over expected good units, free of rounding the starts; parts at the price of the pooled order;
the way home by the delivery term; tools and leftovers apart. What is not known makes the cost "at least".
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.buy import Ask, Bought, BuyRow, buy
from ferrule.compute.demand import Demand, Run, Use, demand_of, us
from ferrule.compute.explode import explode
from ferrule.compute.factory import CONSIGNED, Contribution, Priced, factory_costs, prices_of, rounded_up
from ferrule.compute.landing import Element, Landed, Shipment, duty_for, landed
from ferrule.compute.memory import Memory
from ferrule.compute.packing import Load, load_of
from ferrule.compute.purchase import Strategy
from ferrule.compute.quotes import age
from ferrule.compute.rates import Rates, rates_of
from ferrule.compute.runs import PlanRuns
from ferrule.compute.sourcing import Choice
from ferrule.compute.structure import Context, structure_of
from ferrule.compute.tooling import ToolCost, tool_costs
from ferrule.compute.workings import units_of
from ferrule.model.exact import total
from ferrule.model.incoterms import Incoterm
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.firms import Duty, Lane
from ferrule.model.records.product import Conventions

__all__ = [
    "LANDING_ORDER",
    "CostAsk",
    "Offer",
    "Offered",
    "StepWorth",
    "UnitCost",
    "duty_at",
    "landed_offers",
    "unit_cost",
]

_ZERO, _ONE = Fraction(0), Fraction(1)
Basis = Literal["freight-exclusive", "freight-inclusive"]
_Pool = tuple[str, str | None]
_Spot = tuple[str, str, str, int]
_HALF_POINT = Fraction(1, 200)
_PERFECT = dict.fromkeys(range(1000), _ONE)
#: Names of the landing elements in the cost of a unit.
_LANDING = {
    "origin haul": "origin haul",
    "export": "export clearance",
    "loading": "loading",
    "carriage": "freight",
    "insurance": "insurance",
    "arrival": "terminal at arrival",
    "import": "import clearance",
    "duty": "duty",
    "entry fee": "entry fees",
    "import tax": "import tax",
    "delivery": "delivery to the door",
}
#: What the state asks; all else on the way is the lane's.
_DUES = ("duty", "entry fee", "import tax")
#: Elements of the landed cost in the order of the way.
LANDING_ORDER = tuple(_LANDING.values())


class CostAsk(Struct, frozen=True, kw_only=True):
    """For which unit the cost is asked: SKU, quantity made at once, day, way home and term.

    Without a lane the cost ends at the factory. ``planned`` units spread assists that no unit share spreads.
    """

    sku: str
    qty: Fraction
    name: str
    day: dt.date
    factory: str | None = None
    lane: str | None = None
    term: Incoterm | None = None
    planned: Fraction = _ZERO
    strategy: Strategy = "least cash now"
    choice: Choice = "preferred"


class StepWorth(Struct, frozen=True, kw_only=True):
    """What half a point more yield at a step takes off the cost of a good unit, starts counted again."""

    assembly: str
    step: str
    saved: Fraction


class Offer(Struct, frozen=True, kw_only=True):
    """A term and a lane to compare, with the price of one unit asked under it, and the basis of the duty.

    Without a price the factory's own counts, which holds for its own term only: under another it is unknown.
    """

    term: Incoterm
    lane: str
    price: Money | None = None
    basis: Basis | None = None


class Offered(Struct, frozen=True, kw_only=True):
    """An offer landed; ``other`` is the same on the other valuation basis, None without a duty record."""

    offer: Offer
    basis: Basis | None
    landed: Landed
    other: Landed | None


class UnitCost(Struct, frozen=True, kw_only=True):
    """The cost of one good unit, in the home currency.

    ``contributions`` add up to ``total``; those of the factory come first, then parts we send, then the way.
    ``yield_cost`` is what yields below one add to the plain sum. ``left_value`` is paid for and left over,
    for each unit, and in no total; so is what a need is rounded up by. ``tools`` stand apart as well.
    """

    ask: CostAsk
    demand: Demand
    contributions: tuple[Contribution, ...]
    landed: Landed | None
    tools: tuple[ToolCost, ...]
    yield_cost: Fraction
    worth: tuple[StepWorth, ...]
    left_value: Fraction
    unknown: tuple[str, ...]
    notes: tuple[str, ...] = ()
    #: What is bought for the run alone, so that prices and packs can be compared between quantities.
    bought: Bought
    #: How the run's units are packed.
    load: Load

    @property
    def cash(self) -> Fraction:
        """Return what the whole run takes: its units and what is left over of their parts."""
        return (self.total + self.left_value) * self.ask.qty

    @property
    def total(self) -> Fraction:
        """Return the cost of one good unit: landed where there is a lane, else at the factory."""
        return _sum(self.contributions)

    @property
    def factory(self) -> Fraction:
        """Return the factory's price of one good unit."""
        return _sum(cost for cost in self.contributions if not _is_beside(cost))

    @property
    def consigned(self) -> Fraction:
        """Return the parts of one good unit that we buy and send."""
        return _sum(cost for cost in self.contributions if cost.element == CONSIGNED)

    @property
    def elements(self) -> dict[str, Fraction]:
        """Return the known amounts by element, in the order in which the elements first arise."""
        found: dict[str, Fraction] = {}
        for cost in self.contributions:
            found[cost.element] = found.get(cost.element, _ZERO) + (cost.amount or _ZERO)
        return found

    @property
    def is_bound(self) -> bool:
        """Return whether something is unknown, so that the cost is at least this much."""
        return bool(self.unknown) or any(cost.amount is None for cost in self.contributions)

    @property
    def tool_share(self) -> Fraction:
        """Return the tools' shares in a unit, which the total leaves out."""
        return sum((tool.each or _ZERO for tool in self.tools), _ZERO)


def _is_beside(cost: Contribution) -> bool:
    return cost.element == CONSIGNED or cost.element in LANDING_ORDER


def _sum(costs: Iterable[Contribution]) -> Fraction:
    return total(cost.amount for cost in costs if cost.amount is not None)


def landed_offers(
    product: Product, ask: CostAsk, offers: Iterable[Offer], bought: Bought | None = None
) -> tuple[Offered, ...]:
    """Return the landed cost of a unit under several offers, in their order. Lanes must exist."""
    return _Coster(product, ask, bought).offers(offers)


def unit_cost(  # noqa: PLR0913  a unit, at which prices, and what is known of it before
    product: Product,
    ask: CostAsk,
    bought: Bought | None = None,
    *,
    effects: bool = True,
    memory: Memory | None = None,
    shape: Product | None = None,
) -> UnitCost:
    """Return the cost of one good unit of a SKU.

    It never falls when the only price of a part rises, or a whole list in proportion. When one price of a list
    rises it may, because a larger order at a lower price is then the cheapest; ``cash`` never falls.

    ``bought`` is a purchase list whose pooled orders set the prices; without one the quantity asked about
    buys for itself, stock left aside. ``effects`` False leaves out what yields cost and are worth, and tools.
    A ``memory`` keeps what the next call can use. ``shape`` is a product of the same structure, yields and
    packing, by which the memory knows these again where ``product`` differs in prices and mark-ups.
    Raises ValueError where assemblies contain themselves.
    """
    return _Coster(product, ask, bought, memory, shape).cost(effects=effects)


class _Coster:
    def __init__(
        self,
        product: Product,
        ask: CostAsk,
        bought: Bought | None,
        memory: Memory | None = None,
        shape: Product | None = None,
    ) -> None:
        self.product, self.ask = product, ask
        self.memory, self.shape = memory or Memory(), shape or product
        self.rates: Rates = rates_of(product)
        self.own = us(product)
        self.run = Run(name=ask.name, sku=ask.sku, qty=ask.qty, day=ask.day, factory=ask.factory, whole=False)
        self.load = self.memory.of(_load, self.shape, ask.sku, int(ask.qty), ask.day)
        self.bought = bought or self._alone()
        self.prices = prices_of(self.bought.rows, product.conventions, self.memory)
        self.shares = self.memory.of(_shares, self.bought.rows)
        self.demand = self.memory.of(_demand, self.shape, ask.name, ask.sku, ask.qty, ask.day, ask.factory)
        self.used = self.memory.of(_used, self.memory.of(_bought, self.demand, self.shares))

    def _alone(self) -> Bought:
        runs = PlanRuns(plan="", title="", runs=(self.run,))
        ask = Ask(today=self.ask.day, strategy=self.ask.strategy, choice=self.ask.choice)
        return buy(self.product, runs, ask, netted=False)

    def cost(self, *, effects: bool) -> UnitCost:
        """Return the cost of a unit."""
        demand = self.demand
        made = self._factory(demand)
        known = _sum(made)
        perfect = self._factory(self._raised(_perfect(demand))) if effects else made
        tools = self._tools()
        home = self._landed(made, tools)
        way = self._way(home) if home is not None else ()
        unpriced = [f"price of {cost.name}" for cost in made if cost.amount is None]
        return UnitCost(
            ask=self.ask,
            demand=demand,
            contributions=(*made, *way),
            landed=home,
            tools=tools,
            yield_cost=known - _sum(perfect),
            worth=tuple(self._worth(demand, known)) if effects else (),
            left_value=self._left(),
            unknown=tuple(
                dict.fromkeys(
                    [
                        *unpriced,
                        *demand.unknown,
                        *self._unknown_beside(demand),
                        *(home.unknown if home is not None else ()),
                    ]
                )
            ),
            notes=home.notes if home is not None else (),
            bought=self.bought,
            load=self.load,
        )

    def _factory(self, demand: Demand) -> tuple[Contribution, ...]:
        bought = self.memory.of(_bought, demand, self.shares)
        return factory_costs(self.product, self.rates, bought, self._held(bought), self.own, self.memory)

    def _held(self, demand: Demand) -> dict[_Pool, Priced]:
        """Return the prices for a run with other yields: what comes once with an order stays what it is."""
        used = self.memory.of(_used, demand)
        found = dict(self.prices)
        for pool, quantity in used.items():
            if quantity and quantity != self.used[pool] and pool in found:
                more, old = self.used[pool] / quantity, found[pool]
                found[pool] = replace(old, setup=old.setup * more, charge=old.charge * more)
        return found

    def _left(self) -> Fraction:
        """Return what is paid for and in no unit, for each unit: leftovers, and what rounding up adds."""
        left = self.memory.of(_left_of, self.memory, self.bought, self.product.conventions)
        return left / self.bought.good

    def _unknown_beside(self, demand: Demand) -> Iterator[str]:
        """Yield what counts as none beside the prices: losses nobody states, charges that cannot be counted."""
        parts = {use.part for use in _as_bought(demand.uses, self.shares)}
        for row in self.bought.rows:
            if row.part in parts:
                yield from (f"{words} of {row.part}" for words in row.gross.unknown)
                charges = (words for order in row.orders for words in order.quote.charges_unknown)
                yield from (f"{words} of {row.part}" for words in charges)

    def _raised(self, raised: Mapping[str, Mapping[int, Fraction]]) -> Demand:
        return demand_of(self.product, replace(self.run, raised=raised))

    def _worth(self, demand: Demand, known: Fraction) -> list[StepWorth]:
        found = []
        for made in demand.made:
            assembly = self.product.assemblies.get(made.assembly)
            for index, step in enumerate(assembly.steps if assembly is not None else ()):
                if step.yield_ is None or step.yield_.number >= 100 or made.covered_by is not None:
                    continue
                better = self._factory(self._raised({made.assembly: {index: _HALF_POINT}}))
                found.append(StepWorth(assembly=made.assembly, step=step.name, saved=known - _sum(better)))
        return sorted(found, key=lambda worth: (-worth.saved, worth.assembly, worth.step))

    def _tools(self) -> tuple[ToolCost, ...]:
        planned = self.ask.planned or self.ask.qty
        return tool_costs(self.product, self.rates, self._pieces(), self.ask.qty, planned)

    def _pieces(self) -> dict[str, Fraction]:
        """Return how many of each part and assembly are in one unit, those inside a quoted price included."""
        return self.memory.of(_pieces, self.shape, self.ask.sku, self.ask.name, self.ask.day)

    def _shipment(self, made: Iterable[Contribution], tools: Iterable[ToolCost], term: Incoterm) -> Shipment:
        assists = [tool.in_customs_value for tool in tools]
        known = None if any(each is None for each in assists) else sum((a or _ZERO for a in assists), _ZERO)
        return Shipment(
            term=term,
            load=self.load,
            currency=self.product.head.currency,
            price=_sum(cost for cost in made if cost.element != CONSIGNED),
            consigned=_sum(cost for cost in made if cost.element == CONSIGNED),
            tools=known,
            on=self.ask.day,
        )

    def _landed(self, made: tuple[Contribution, ...], tools: tuple[ToolCost, ...]) -> Landed | None:
        lane = self.product.lanes.get(self.ask.lane or "")
        if lane is None:
            return None
        term = self._own_term(lane)
        return landed(
            self._shipment(made, tools, term), lane, duty_at(self.product, self.ask.sku, lane), self._money
        )

    def _own_term(self, lane: Lane) -> Incoterm:
        """Return the term the factory's price is for: the asked one, else the lane's first."""
        return self.ask.term or (lane.incoterm[0] if lane.incoterm else Incoterm("FCA"))

    def _money(self, money: Money, own: str) -> Fraction | None:
        home = self.product.head.currency
        return self.rates.money(money, own or home, home)

    def offers(self, offers: Iterable[Offer]) -> tuple[Offered, ...]:
        """Return what the unit costs landed under each offer, with the duty on either valuation basis."""
        made, tools = self._factory(self.demand), self._tools()
        return tuple(self._offered(offer, self._shipment(made, tools, offer.term)) for offer in offers)

    def _offered(self, offer: Offer, shipment: Shipment) -> Offered:
        lane = self.product.lanes[offer.lane]
        if offer.price is not None:
            shipment = replace(shipment, price=self._money(offer.price, ""))
        elif offer.term.rule != self._own_term(lane).rule:
            shipment = replace(shipment, price=None)  # the price we know is for another division of the way
        duty = duty_at(self.product, self.ask.sku, lane)
        if duty is not None and offer.basis is not None:
            duty = replace(duty, basis=offer.basis)
        found = landed(shipment, lane, duty, self._money)
        other = None
        if duty is not None:
            turned = "freight-exclusive" if duty.basis == "freight-inclusive" else "freight-inclusive"
            other = landed(shipment, lane, replace(duty, basis=turned), self._money)
        return Offered(offer=offer, basis=duty.basis if duty is not None else None, landed=found, other=other)

    def _way(self, home: Landed) -> tuple[Contribution, ...]:
        """Return what the way adds to the unit; goods and parts we send are counted already."""
        kept = [element for element in home.elements if element.kind in _LANDING]
        return tuple(
            Contribution(
                element=_LANDING[element.kind],
                name=element.name,
                amount=element.per_unit,
                words=f"{element.words}, over {units_of(Fraction(home.units))}" if element.words else "",
                home=self._home_of(element.kind),
                weak=self._doubts_of(element),
                count=element.count,
            )
            for element in sorted(kept, key=lambda element: LANDING_ORDER.index(_LANDING[element.kind]))
        )

    def _doubts_of(self, element: Element) -> tuple[str, ...]:
        """Return why an amount of the way is weak on the day of shipment: the lane's quote by the rule of any quote."""
        if element.per_unit is None:
            return ("missing",)
        if element.kind in _DUES:
            return ()
        lane = self.product.lanes[self.ask.lane or ""]
        doubts = age(lane.quoted, lane.valid_until, self.ask.day, self.product.policy.quote_max_age)
        return tuple(doubt.kind for doubt in doubts)

    def _home_of(self, kind: str) -> tuple[str | int, ...]:
        if kind not in _DUES:
            return ("lane", self.ask.lane or "")
        used = duty_at(self.product, self.ask.sku, self.product.lanes[self.ask.lane or ""])
        places = [index for index, duty in enumerate(self.product.duties) if duty is used]
        return ("duty", places[0]) if places else ()


def duty_at(product: Product, sku: str, lane: Lane) -> Duty | None:
    """Return the duty record for a SKU where a lane ends: by its tariff number there and its origin."""
    assembly = product.assemblies[sku]
    codes = [each.code for each in assembly.customs_code if each.destination == lane.destination]
    return duty_for(product, lane.destination or "", codes[0], assembly.origin) if codes else None


def _left_of(memory: Memory, bought: Bought, conventions: Conventions) -> Fraction:
    prices = prices_of(bought.rows, conventions, memory)
    rounded = [
        (prices[row.part, row.buyer].each or _ZERO) * memory.of(rounded_up, row, conventions)
        for row in bought.rows
    ]
    return total([*rounded, *(row.left_value for row in bought.rows if row.left_value)])


def _load(product: Product, sku: str, qty: int, day: dt.date) -> Load:
    return load_of(product, sku, qty, Context(day=day))


def _demand(  # noqa: PLR0913, PLR0917  what a run is known by
    product: Product, name: str, sku: str, qty: Fraction, day: dt.date, factory: str | None
) -> Demand:
    return demand_of(product, Run(name=name, sku=sku, qty=qty, day=day, factory=factory, whole=False))


def _pieces(product: Product, sku: str, name: str, day: dt.date) -> dict[str, Fraction]:
    totals = explode(product, structure_of(product, Context(day=day, build=name)), sku)
    return {sku: _ONE} | {part: Fraction(qty) for part, qty in totals.quantities.items()}


def _bought(demand: Demand, shares: Mapping[_Spot, Mapping[str, Fraction]]) -> Demand:
    return replace(demand, uses=tuple(_as_bought(demand.uses, shares)))


def _used(demand: Demand) -> dict[_Pool, Fraction]:
    return _quantities(demand.uses)


def _perfect(demand: Demand) -> dict[str, Mapping[int, Fraction]]:
    """Return what raises every step of a run to a yield of one."""
    return {made.assembly: _PERFECT for made in demand.made}


def _shares(rows: Iterable[BuyRow]) -> dict[_Spot, dict[str, Fraction]]:
    """Return for every line the units that take each part: several where alternates stand in.

    By run, and under no name for all runs together.
    """
    found: dict[_Spot, dict[str, Fraction]] = {}
    for use in (use for row in rows for use in row.uses):
        for run in (use.run, ""):
            units = found.setdefault((run, use.assembly, use.parent, use.index), {})
            units[use.part] = units.get(use.part, _ZERO) + use.units
    return found


def _quantities(uses: Iterable[Use]) -> dict[_Pool, Fraction]:
    """Return what uses take of each part, by part and buyer."""
    found: dict[_Pool, Fraction] = {}
    for use in uses:
        found[use.part, use.buyer] = found.get((use.part, use.buyer), _ZERO) + use.quantity
    return found


def _as_bought(uses: Iterable[Use], shares: Mapping[_Spot, Mapping[str, Fraction]]) -> Iterator[Use]:
    """Yield uses with the alternates that are bought for them, in the same shares."""
    for use in uses:
        spot = (use.assembly, use.parent, use.index)
        units = shares.get((use.run, *spot)) or shares.get(("", *spot)) or {}
        total = sum(units.values(), _ZERO)
        if not total or set(units) == {use.part}:
            yield use
            continue
        for part, many in units.items():
            yield replace(use, part=part, units=use.units * many / total)
