"""What the factory asks for one good unit: materials, losses, steps, mark-ups on their declared bases.

Everything is counted for a whole run and divided by its good units, so that each level's yield multiplies
everything below it. Prices are those of the pooled order, never those of the quantity in one unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import BuyRow
from ferrule.compute.demand import Demand, Made, maker_of
from ferrule.compute.gross import Pack, gross_of
from ferrule.compute.memory import Memory
from ferrule.compute.quotes import age
from ferrule.compute.rates import Rates
from ferrule.compute.workings import figure_of, measured, per_unit, units_of
from ferrule.compute.yields import StepFlow
from ferrule.model.exact import total
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly, FactoryPrice, Step
from ferrule.model.records.common import Markup, Tier
from ferrule.model.records.part import Part
from ferrule.model.records.product import Conventions

__all__ = ["CONSIGNED", "Contribution", "Priced", "element_of", "factory_costs", "prices_of", "rounded_up"]

_ZERO = Fraction(0)
#: The element of parts that we buy and send, which are no part of the factory's price.
CONSIGNED = "consigned parts"
#: Cost element of a step by its kind.
_STEP_ELEMENT = {"labour": "labour", "test": "test", "pack": "packing work", "other": "other steps"}
#: Which base of a mark-up a step counts in; the trade names two, so packing and others go with labour.
_STEP_BASE = {"labour": "labour", "test": "test", "pack": "labour", "other": "labour"}
_PACKAGING = ("packaging", "label")
#: A unit in which nothing is rounded to whole pieces.
_NOT_COUNTED = "m"


class Priced(Struct, frozen=True, kw_only=True):
    """What one unit of demand of a part costs where it is bought; None where no price is known.

    ``each`` is the price at the order quantity, ``ratio`` what has to be at hand for each one used up, and
    for each one used up ``setup`` is what setting up loses and ``charge`` what orders cost beside the price:
    both come once, however many are used up. ``weak`` says why the price is weak.
    """

    each: Fraction | None
    ratio: Fraction = Fraction(1)
    setup: Fraction = _ZERO
    charge: Fraction = _ZERO
    weak: tuple[str, ...] = ()
    source: int | None = None
    path: tuple[str | int, ...] = ()


class Contribution(Struct, frozen=True, kw_only=True):
    """One amount in the cost of a good unit, in the home currency; None where it is not known.

    ``element`` is the cost element it belongs to, ``words`` its working, ``home`` the record it comes from
    (kind, number, path), ``weak`` why it may be wrong, ``bases`` the mark-up bases it counts in and
    ``assembly`` the one in which it arises. ``tier`` names the price where it goes by the quantity built,
    ``count`` how many pallets or containers are paid for (what, how many).
    """

    element: str
    name: str
    amount: Fraction | None
    words: str = ""
    home: tuple[str | int, ...] = ()
    weak: tuple[str, ...] = ()
    bases: frozenset[str] = frozenset()
    assembly: str = ""
    tier: str = ""
    count: tuple[str, int] | None = None


def prices_of(
    rows: Iterable[BuyRow], conventions: Conventions, memory: Memory | None = None
) -> dict[tuple[str, str | None], Priced]:
    """Return the price of every pool of a purchase list; a ``memory`` keeps those of rows asked about again."""
    kept = memory or Memory()
    return {(row.part, row.buyer): kept.of(_priced, row, conventions) for row in rows}


def rounded_up(row: BuyRow, conventions: Conventions) -> Fraction:
    """Return what rounding up to whole pieces adds to the gross need of a row: left over, and no loss.

    Where lengths are cut the pieces are the loss's own unit, and nothing is taken apart.
    """
    if any(use.cut is not None for use in row.uses):
        return _ZERO
    exact = gross_of(row.uses, _NOT_COUNTED, conventions, Pack(mounted=False)).total
    return row.gross.total - row.gross.setup - exact if row.gross.total else _ZERO


def _priced(row: BuyRow, conventions: Conventions) -> Priced:
    demand = row.gross.demand
    if row.buyer is None or not demand:
        return Priced(each=_ZERO)
    if not row.orders or any(order.basket is None for order in row.orders):
        return Priced(each=None, weak=("missing",))
    baskets = [order.basket for order in row.orders if order.basket is not None]
    once = sum((basket.charges for basket in baskets), _ZERO)
    each = sum((basket.goods for basket in baskets), _ZERO) / row.ordered
    first = row.orders[0]
    lot = baskets[0].lots[0] if baskets[0].lots else None
    path = ("source", first.quote.index, *(lot.form.path if lot else ("price",)))
    return Priced(
        each=each,
        ratio=(row.gross.total - row.gross.setup - rounded_up(row, conventions)) / demand,
        setup=row.gross.setup / demand,
        charge=once / demand,
        weak=tuple(
            dict.fromkeys(
                [
                    *(("not allocated",) if row.lacking else ()),
                    *(doubt.kind for order in row.orders for doubt in order.doubts),
                ]
            )
        ),
        source=first.quote.index,
        path=(*path, lot.form.break_at(lot.qty)) if lot else path,
    )


def element_of(product: Product, part: str) -> str:
    """Return the material element of a part, by its class."""
    item = product.item(part)
    kind = item.class_ if isinstance(item, Part) else "assembly"
    return f"material, {kind or 'class not stated'}"


def factory_costs(  # noqa: PLR0913, PLR0917  a run, its prices, and what is known of it before
    product: Product,
    rates: Rates,
    demand: Demand,
    prices: Mapping[tuple[str, str | None], Priced],
    own: str,
    memory: Memory | None = None,
) -> tuple[Contribution, ...]:
    """Return everything that goes into one good unit before it ships, parts we send included.

    ``own`` is the firm that is ourselves; what it buys is `CONSIGNED`. What is not known has the amount None. A
    ``memory`` keeps the materials for the next call.
    """
    roller = _Roller(product, rates, demand, prices, own, memory)
    found = [*roller.materials(), *roller.steps(), *roller.quoted()]
    return (*found, *roller.markups(found), *roller.handling())


#: A part that no purchase list prices.
_UNPRICED = Priced(each=None, weak=("missing",))


def _each_of(demand: Demand) -> dict[tuple[str, str | None, str], Fraction]:
    """Return what one good unit takes of each part, by part, buyer and assembly."""
    pools: dict[tuple[str, str | None, str], Fraction] = {}
    for use in demand.uses:
        key = (use.part, use.buyer, use.assembly)
        pools[key] = pools.get(key, _ZERO) + use.quantity
    return {key: quantity / demand.run.qty for key, quantity in pools.items()}


def _material(  # noqa: PLR0913, PLR0917  a part, where its cost arises, and what it costs
    part: str,
    kind: str,
    element: str,
    packaging: bool,  # noqa: FBT001  kept by position
    assembly: str,
    ours: bool,  # noqa: FBT001
    free: bool,  # noqa: FBT001
    each: Fraction,
    priced: Priced,
    unit: str,
    home: str,
) -> tuple[Contribution, ...]:
    """Return price, losses and order charges of a part in one good unit."""
    material = "consigned material" if ours or free else "turnkey material"
    bases = frozenset({material, "all", *(["packaging"] if packaging else [])})

    def share(element: str, amount: Fraction | None, words: str) -> Contribution:
        return Contribution(
            element=CONSIGNED if ours else element,
            name=part,
            amount=amount,
            words=words,
            home=(kind, part, *priced.path),
            weak=priced.weak,
            bases=bases,
            assembly=assembly,
        )

    if priced.each is None:
        return (share(element, None, "no price is known"),)
    price = per_unit(priced.each, home, unit)
    found = [share(element, each * priced.each, f"{measured(each, unit)} x {price}")]
    lost = each * (priced.ratio - 1 + priced.setup)
    if lost:
        words = f"{measured(lost, unit)} lost x {price}"
        found.append(share("losses in placing", lost * priced.each, words))
    if priced.charge:
        words = f"{measured(each, unit)} x {per_unit(priced.charge, home, unit)}, charges of the order"
        found.append(share("order charges", each * priced.charge, words))
    return tuple(found)


class _Roller:
    """Adds up one run."""

    def __init__(  # noqa: PLR0913, PLR0917  a run, its prices, and what is known of it before
        self,
        product: Product,
        rates: Rates,
        demand: Demand,
        prices: Mapping[tuple[str, str | None], Priced],
        own: str,
        memory: Memory | None = None,
    ) -> None:
        self.memory = memory or Memory()
        self.product, self.rates, self.demand, self.prices, self.own = product, rates, demand, prices, own
        self.good = demand.run.qty
        self.home = product.head.currency

    def _money(self, money: Money | None, own: str | None) -> Fraction | None:
        return None if money is None else self.rates.money(money, own or self.home, self.home)

    def materials(self) -> Iterator[Contribution]:
        """Yield price, losses and order charges of every part, by the assembly that uses it."""
        for (part, buyer, assembly), each in self.memory.of(_each_of, self.demand).items():
            item = self.product.item(part)
            yield from self.memory.of(
                _material,
                part,
                "part" if part in self.product.parts else "assembly",
                element_of(self.product, part),
                isinstance(item, Part) and item.class_ in _PACKAGING,
                assembly,
                buyer == self.own,
                buyer is None,
                each,
                self.prices.get((part, buyer), _UNPRICED),
                item.unit if item is not None else "each",
                self.home,
            )

    def steps(self) -> Iterator[Contribution]:
        """Yield the cost of every step that no quoted price covers."""
        for made in self.demand.made:
            assembly = self.product.assemblies.get(made.assembly)
            if assembly is None or made.covered_by is not None or self._is_quoted(assembly):
                continue
            for index, (step, flow) in enumerate(zip(assembly.steps, made.flow.steps, strict=True)):
                yield self._step(made, assembly, index, step, flow)

    @staticmethod
    def _is_quoted(assembly: Assembly) -> bool:
        return assembly.price is not None and bool(assembly.price.tier)

    def _step(self, made: Made, assembly: Assembly, index: int, step: Step, flow: StepFlow) -> Contribution:
        each, words, tier = self._step_price(assembly, step, made.good)
        amount = self._step_amount(assembly, step, flow, each)
        units = made.good / self.good
        paid = flow.leaving if step.per == "good" else flow.entering
        count = f"{units_of(paid * units)} {'passing' if step.per == 'good' else 'entering'}"
        rework = self._rework_words(assembly, step, words)
        reworked = f" + {units_of(flow.reworked * units)} reworked x ({rework})" if flow.reworked else ""
        return Contribution(
            element=_STEP_ELEMENT[step.kind],
            name=f"{made.assembly}, {step.name}",
            amount=None if amount is None else amount * units,
            words=f"{count}, {words}" if words.startswith("no price") else f"{count} x {words}{reworked}",
            home=("assembly", made.assembly, "steps", index),
            weak=() if amount is not None else ("missing",),
            bases=frozenset({_STEP_BASE[step.kind], "all"}),
            assembly=made.assembly,
            tier=tier,
        )

    def _step_price(self, assembly: Assembly, step: Step, good: Fraction) -> tuple[Fraction | None, str, str]:
        """Return what the step asks for one unit, words for it, and its tier if it has: cost, tier, or minutes."""
        if step.cost is not None:
            return self._money(step.cost, assembly.currency), self._written(step.cost, assembly), ""
        if step.tier:
            tier = _tier(step.tier, good)
            if tier is None:
                lowest = f"tiers start at {figure_of(step.tier[0].from_)} built"
                return None, f"no price for {figure_of(good)} built, {lowest}", ""
            words = f"{self._written(tier.each, assembly)} from {figure_of(tier.from_)} built"
            return self._money(tier.each, assembly.currency), words, words
        if step.minutes is not None and step.hour_rate is not None:
            rate = self._money(step.hour_rate, assembly.currency)
            each = None if rate is None else Fraction(step.minutes) * rate / 60
            hour = step.hour_rate.within(assembly.currency or self.home)
            return each, f"{figure_of(step.minutes)} min each at {hour} an hour", ""
        return None, "no price is known", ""

    def _written(self, money: Money, assembly: Assembly) -> str:
        return f"{money.within(assembly.currency or self.home)} each"

    def _rework_words(self, assembly: Assembly, step: Step, price: str) -> str:
        """Return what a reworked unit pays, in words: the rework, and the retest or the step again."""
        rework = step.rework
        if rework is None:
            return ""
        cost = "no cost stated" if rework.cost is None else self._written(rework.cost, assembly)
        if rework.retest_cost is not None:
            return f"rework {cost} + retest {self._written(rework.retest_cost, assembly)}"
        return f"rework {cost}" if step.per == "good" else f"rework {cost} + the step again {price}"

    def _step_amount(
        self, assembly: Assembly, step: Step, flow: StepFlow, each: Fraction | None
    ) -> Fraction | None:
        """Return what the step costs for one good unit of its assembly.

        A reworked unit pays the rework and the retest: the step again unless a retest cost is given.
        """
        if each is None:
            return None
        units = flow.leaving if step.per == "good" else flow.entering
        total = units * each
        if step.rework is None or not flow.reworked:
            return total
        rework = self._money(step.rework.cost, assembly.currency)
        again = _ZERO if step.per == "good" else each
        if step.rework.retest_cost is not None:
            stated = self._money(step.rework.retest_cost, assembly.currency)
            if stated is None:
                return None
            again = stated
        return None if rework is None else total + flow.reworked * (rework + again)

    def quoted(self) -> Iterator[Contribution]:
        """Yield the quoted factory prices; they follow units built and cannot be bought up."""
        for made in self.demand.made:
            assembly = self.product.assemblies.get(made.assembly)
            if assembly is None or assembly.price is None or not self._is_quoted(assembly) or made.covered_by:
                continue
            price = assembly.price
            tier = _tier(price.tier, made.good)
            own = price.currency or assembly.currency
            each = self._money(tier.each, own) if tier is not None else None
            asked = (
                ""
                if tier is None
                else f"{tier.each.within(own or self.home)} each from {figure_of(tier.from_)} built"
            )
            nothing = f"no price for {figure_of(made.good)} built"
            yield Contribution(
                element="quoted factory price",
                name=made.assembly,
                amount=None if each is None else each * made.good / self.good,
                words=f"{units_of(made.good / self.good)} x {asked}" if asked else nothing,
                home=("assembly", made.assembly, "price"),
                weak=self._doubts(price) if each is not None else ("missing",),
                assembly=made.assembly,
                tier=asked,
            )

    def _doubts(self, price: FactoryPrice) -> tuple[str, ...]:
        """Return why a quoted price is weak on the day of the run, by the same rule as a seller's."""
        doubts = age(price.quoted, price.valid_until, self.demand.run.day, self.product.policy.quote_max_age)
        return tuple(doubt.kind for doubt in doubts)

    def markups(self, costs: Sequence[Contribution]) -> Iterator[Contribution]:
        """Yield every mark-up on what its base adds up to in its assembly."""
        for made in self.demand.made:
            for home, markup in self._markups_on(made):
                base = [
                    cost
                    for cost in costs
                    if cost.assembly == made.assembly and not cost.bases.isdisjoint(markup.base)
                ]
                whole = total(cost.amount for cost in base if cost.amount is not None)
                if not whole:
                    continue
                yield Contribution(
                    element="mark-up",
                    name=f"{made.assembly}, {markup.name}",
                    amount=whole * Fraction(markup.rate.fraction),
                    words=f"{markup.rate} of {measured(whole, self.home)} ({', '.join(markup.base)})",
                    home=home,
                    weak=("missing",) if any(cost.amount is None for cost in base) else (),
                    assembly=made.assembly,
                )

    def _markups_on(self, made: Made) -> Iterator[tuple[tuple[str | int, ...], Markup]]:
        """Yield the mark-ups that hold for an assembly: its own, else its factory's."""
        assembly = self.product.assemblies.get(made.assembly)
        if assembly is None or made.covered_by is not None or self._is_quoted(assembly):
            return
        for index, markup in enumerate(assembly.markup):
            yield ("assembly", made.assembly, "markup", index), markup
        name = maker_of(self.demand.run, assembly) or ""
        firm = self.product.firms.get(name)
        if assembly.markup or firm is None or firm.factory is None:
            return
        for index, markup in enumerate(firm.factory.markup):
            yield ("firm", name, "factory", "markup", index), markup

    def handling(self) -> Iterator[Contribution]:
        """Yield the factory's fee for each consigned line of the run."""
        lines: dict[str, set[tuple[str, int]]] = {}
        for use in self.demand.uses:
            assembly = self.product.assemblies.get(use.assembly)
            name = maker_of(self.demand.run, assembly)
            if use.supply == "consigned" and name and name != self.own:
                lines.setdefault(name, set()).add((use.parent, use.index))
        for name, found in sorted(lines.items()):
            firm = self.product.firms.get(name)
            fee = firm.factory.handling if firm is not None and firm.factory is not None else None
            if firm is None or fee is None:
                continue
            each = self._money(fee, firm.currency)
            lines_words = "1 line" if len(found) == 1 else f"{len(found)} lines"
            yield Contribution(
                element="handling of consigned parts",
                name=name,
                amount=None if each is None else each * len(found) / self.good,
                words=f"{lines_words} x {fee.within(firm.currency or self.home)} each, over {units_of(self.good)}",
                home=("firm", name, "factory", "handling"),
                weak=() if each is not None else ("missing",),
            )


def _tier(tiers: Sequence[Tier], built: Fraction) -> Tier | None:
    """Return the tier that holds for a quantity built; None below the first."""
    fitting = [tier for tier in tiers if tier.from_ <= built]
    return max(fitting, key=lambda tier: tier.from_, default=None)
