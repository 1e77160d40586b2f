"""What a change does to the cost of a unit, split by cause: quantity, price, yield, what is paid once, leftovers.

Each cause is what the cost moves by when that part of the change is made on top of the ones before it: first what
is built (lines, losses, packing, the plan's quantities), then what is asked for it (sources, steps, ways, duty,
rates), then yields. So the causes add up to the whole difference, exactly, and what follows from a cause, such as
a mark-up or duty on a dearer part, is counted with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.cash import ground_of
from ferrule.compute.compare_items import renamed_items
from ferrule.compute.cost import UnitCost
from ferrule.compute.figures import Figures, whole_cost
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly, Step
from ferrule.model.records.part import Item
from ferrule.model.records.plan import PlanFile

__all__ = ["CostEffect", "Split", "cost_effects", "with_old_prices", "with_old_yields"]

_ZERO = Fraction(0)
I = TypeVar("I", bound=Item)  # noqa: E741  an item


class Split(Struct, frozen=True, kw_only=True):
    """The difference of a unit's whole cost by cause, in the home currency."""

    quantity: Fraction
    price: Fraction
    yields: Fraction
    once: Fraction
    leftovers: Fraction

    @property
    def unit(self) -> Fraction:
        """Return the difference of the unit cost, which leaves out what is paid once and left over."""
        return self.quantity + self.price + self.yields

    @property
    def total(self) -> Fraction:
        """Return the difference of the whole cost."""
        return self.unit + self.once + self.leftovers


class CostEffect(Struct, frozen=True, kw_only=True):
    """The cost of a unit of one build before and after; None where the plan did not or does not build it.

    ``split`` is None where there is nothing to compare.
    """

    plan: str
    build: str
    before: UnitCost | None
    after: UnitCost | None
    split: Split | None = None

    @property
    def change(self) -> Fraction | None:
        """Return the difference of the unit cost; None where there is nothing to compare."""
        return None if self.before is None or self.after is None else self.after.total - self.before.total

    @property
    def is_new_bound(self) -> bool:
        """Return whether something is unknown now that was known, so that the difference says too little."""
        if self.after is None:
            return False
        known = set(self.before.unknown) if self.before is not None else set()
        return bool(set(self.after.unknown) - known) or (
            self.after.is_bound and self.before is not None and not self.before.is_bound
        )


def cost_effects(before: Figures, after: Figures) -> tuple[CostEffect, ...]:
    """Return the effect on the unit cost of every planned build whose whole cost differs, plan by plan."""
    old = {(plan, build): cost for plan, build, cost in before.costs()}
    new = {(plan, build): cost for plan, build, cost in after.costs()}
    stages = {plan: _stages(before, after, plan) for plan in after.plans if plan in before.plans}
    rows = []
    for plan, build in dict.fromkeys([*new, *old]):
        one, other = old.get((plan, build)), new.get((plan, build))
        built, asked = stages.get(plan, ({}, {}))
        split = None
        if one is not None and other is not None and build in built and build in asked:
            split = _split(one, built[build], asked[build], other)
        rows.append(CostEffect(plan=plan, build=build, before=one, after=other, split=split))
    return tuple(row for row in rows if _differs(row))


def _differs(row: CostEffect) -> bool:
    if row.before is None or row.after is None or row.split is None:
        return True
    parts = (row.split.quantity, row.split.price, row.split.yields, row.split.once, row.split.leftovers)
    return (
        any(parts)
        or whole_cost(row.before) != whole_cost(row.after)
        or row.before.unknown != row.after.unknown
    )


def _split(before: UnitCost, built: UnitCost, asked: UnitCost, after: UnitCost) -> Split:
    return Split(
        quantity=built.total - before.total,
        price=asked.total - built.total,
        yields=after.total - asked.total,
        once=after.tool_share - before.tool_share,
        leftovers=after.left_value - before.left_value,
    )


def _stages(before: Figures, after: Figures, plan: str) -> tuple[dict[str, UnitCost], dict[str, UnitCost]]:
    """Return the costs of a plan's builds after the first and after the second part of the change."""
    file = after.plans[plan].plan
    built = with_old_prices(before.product, after.product)
    asked = with_old_yields(before.product, after.product)
    return _costs(built, file, after), _costs(asked, file, after)


def _costs(product: Product, plan: PlanFile, figures: Figures) -> dict[str, UnitCost]:
    return dict(ground_of(product, plan, figures.today, figures.public).costs)


# --- products between the two ----------------------------------------------------------------------------


def with_old_yields(before: Product, after: Product) -> Product:
    """Return the product after, with the yields of the product before where it has the same steps."""
    old = _old_items(before, after)

    def one(assembly: Assembly) -> Assembly:
        was = old.get(assembly.id)
        return _as_before(assembly, was, _YIELD) if isinstance(was, Assembly) else assembly

    return replace(after, assemblies={number: one(each) for number, each in after.assemblies.items()})


def with_old_prices(before: Product, after: Product) -> Product:
    """Return what is built after, at the yields, prices and terms of before; what is new comes as it is."""
    old = _old_items(before, after)
    shaped = with_old_yields(before, after)
    return replace(
        shaped,
        head=replace(after.head, currency=before.head.currency),
        policy=before.policy,
        conventions=before.conventions,
        parts={number: _priced(part, old.get(number)) for number, part in after.parts.items()},
        assemblies={number: _assembled(each, old.get(number)) for number, each in shaped.assemblies.items()},
        firms={**after.firms, **before.firms},
        channels={**after.channels, **before.channels},
        lanes={**after.lanes, **before.lanes},
        calendars={**after.calendars, **before.calendars},
        tools={**after.tools, **before.tools},
        duties=tuple(_with_new(before.duties, after.duties, lambda d: (d.destination, d.code, d.origin))),
        rates=tuple(_with_new(before.rates, after.rates, lambda r: frozenset((r.rate.base, r.rate.quote)))),
    )


#: Fields of a step that are its yield, and those that are not what is asked for it.
_YIELD = frozenset({"yield_", "rework"})
_ASKED = frozenset({"cost", "tier", "per", "hour_rate", "minutes"})


def _old_items(before: Product, after: Product) -> Mapping[str, Item]:
    """Return by its number after what each item was before."""
    renamed = renamed_items(before, after)
    return {renamed.get(number, number): item for _, number, item in before.items()}


def _priced(item: I, was: Item | None) -> I:
    """Return an item with what its sources and customs asked for it before."""
    if was is None or type(was) is not type(item):
        return item
    return replace(item, source=was.source, customs_code=was.customs_code)


def _assembled(assembly: Assembly, was: Item | None) -> Assembly:
    if not isinstance(was, Assembly):
        return assembly
    priced = replace(
        _priced(assembly, was), price=was.price, markup=was.markup, origin=was.origin, currency=was.currency
    )
    return _as_before(priced, was, _ASKED)


def _as_before(assembly: Assembly, was: Assembly, fields: frozenset[str]) -> Assembly:
    """Return an assembly with some fields of its steps as they were in the steps of the same name."""
    known = {step.name: step for step in was.steps}

    def one(step: Step) -> Step:
        old = known.get(step.name)
        return step if old is None else replace(step, **{name: getattr(old, name) for name in fields})

    return replace(assembly, steps=tuple(map(one, assembly.steps)))


def _with_new(old: Iterable[Any], new: Iterable[Any], key: Callable[[Any], object]) -> Iterator[Any]:
    """Yield the old records, then the new ones of which there was none with the same key."""
    kept = list(old)
    yield from kept
    known = {key(each) for each in kept}
    yield from (each for each in new if key(each) not in known)
