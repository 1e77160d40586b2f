"""The figures by which a revision is judged: unit costs, dates and cash of every plan, as their own answers give them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.cash import Cash, Ground, ground_of, plan_cash
from ferrule.compute.cost import UnitCost
from ferrule.compute.runs import PublicDays
from ferrule.compute.schedule import BuildDates
from ferrule.compute.structure import rings
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Figures", "PlanFigures", "figures_of", "whole_cost"]

_ZERO = Fraction(0)


class PlanFigures(Struct, frozen=True, kw_only=True):
    """A plan worked out: what it buys, what its units cost, when it builds, and its money."""

    plan: PlanFile
    ground: Ground
    cash: Cash

    def dates(self, build: str) -> BuildDates | None:
        """Return the dates of a build; None where the plan has none of that name."""
        return next((each for each in self.ground.dates.builds if each.build == build), None)


class Figures(Struct, frozen=True, kw_only=True):
    """The plans of a product worked out; ``failed`` says in words why others could not be."""

    product: Product
    today: dt.date
    public: PublicDays
    plans: Mapping[str, PlanFigures]
    failed: tuple[str, ...]

    def costs(self) -> Iterator[tuple[str, str, UnitCost]]:
        """Yield plan, build and unit cost of every build, plans in order of their start."""
        for name, plan in self.plans.items():
            for build in plan.plan.build:
                if build.name in plan.ground.costs:
                    yield name, build.name, plan.ground.costs[build.name]


def figures_of(product: Product, today: dt.date, public: PublicDays, plans: tuple[str, ...] = ()) -> Figures:
    """Return the figures of every plan, or of those named, judged on one day; nothing raises."""
    ring = next(iter(rings(product)), None)
    if ring is not None:
        names = " > ".join([*(edge.parent for edge in ring), ring[0].parent])
        return Figures(
            product=product,
            today=today,
            public=public,
            plans={},
            failed=(f"assemblies contain themselves: {names}",),
        )
    found: dict[str, PlanFigures] = {}
    failed: list[str] = []
    for plan in sorted(product.plans.values(), key=lambda plan: (plan.plan.start, plan.plan.id)):
        if plans and plan.plan.id not in plans:
            continue
        try:
            ground = ground_of(product, plan, today, public)
            cash = plan_cash(product, plan, ground)
        except (NoSuchDay, ValueError) as error:  # a calendar that never opens, an end before the start
            failed.append(f"plan {plan.plan.id}: {error}")
            continue
        found[plan.plan.id] = PlanFigures(plan=plan, ground=ground, cash=cash)
    return Figures(product=product, today=today, public=public, plans=found, failed=tuple(failed))


def whole_cost(cost: UnitCost) -> Fraction:
    """Return what one unit costs with its share of what is paid once and of what is left over."""
    return cost.total + cost.tool_share + cost.left_value
