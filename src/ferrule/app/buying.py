"""`buy`: the purchase list of a plan, the working behind a part, two builds in one order, lots over builds."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.app.holidays import Holidays, holidays_of
from ferrule.app.loading import Places, load_snapshot
from ferrule.compute.buy import Ask, Bought, buy
from ferrule.compute.combining import Combining, combine_lists
from ferrule.compute.lot_orders import Lotted, lots_of
from ferrule.compute.runs import PlanRuns, runs_of
from ferrule.compute.structure import rings
from ferrule.errors import FerruleError
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = [
    "Buying",
    "bought",
    "chance_of",
    "combine",
    "lots",
    "named_plan",
    "open_plan",
    "refuse_rings",
    "refuse_unknown_part",
    "runs_named",
    "windows_named",
]


class Buying(Struct, frozen=True, kw_only=True):
    """A product and one of its plans, ready to be asked; ``faults`` counts what could not be read."""

    product: Product
    plan: PlanFile
    faults: int
    label: str
    where: Places
    holidays: Holidays


def open_plan(snapshot: Snapshot, plan: str | None) -> Buying:
    """Return a snapshot's product and the named plan, or its only one.

    Raises FerruleError where there is no such plan, or a ring forbids every answer.
    """
    loaded = load_snapshot(snapshot)
    product = loaded.product
    refuse_rings(product)
    return Buying(
        product=product,
        plan=named_plan(product, plan),
        faults=len(loaded.findings) + len(snapshot.problems),
        label=snapshot.label,
        where=Places(loaded, snapshot),
        holidays=holidays_of(product),
    )


def refuse_rings(product: Product) -> None:
    """Raise FerruleError where assemblies contain themselves."""
    ring = next(iter(rings(product)), None)
    if ring is not None:
        names = " > ".join([*(edge.parent for edge in ring), ring[0].parent])
        raise FerruleError(
            f"assemblies contain themselves: {names}", "`ferrule check --rule assembly-ring` shows the lines"
        )


def named_plan(product: Product, plan: str | None) -> PlanFile:
    """Return the plan with this name, or the only one; raises FerruleError."""
    names = sorted(product.plans)
    if plan is None and len(names) == 1:
        return product.plans[names[0]]
    if plan is None:
        listed = f"plans: {', '.join(names)}" if names else "a plan is a file with [plan] and [[build]]"
        raise FerruleError("name the plan" if names else "the product has no plan", listed)
    if plan not in product.plans:
        best = nearest(plan, names)
        raise FerruleError(
            f"there is no plan called {plan}",
            f"did you mean {best}?" if best else f"plans: {', '.join(names) or 'none'}",
        )
    return product.plans[plan]


def bought(buying: Buying, ask: Ask, builds: Sequence[str]) -> Bought:
    """Return the purchase list of a plan, or of the named builds; raises FerruleError for an unknown one."""
    return buy(buying.product, runs_named(buying, builds), ask)


def runs_named(buying: Buying, builds: Sequence[str]) -> PlanRuns:
    """Return the builds of a plan as runs, or those named; raises FerruleError for an unknown one."""
    known = [build.name for build in buying.plan.build]
    for name in builds:
        if name not in known:
            best = nearest(name, known)
            raise FerruleError(
                f"plan {buying.plan.plan.id} has no build called {name}",
                f"did you mean {best}?" if best else f"builds: {', '.join(known) or 'none'}",
            )
    return runs_of(buying.product, buying.plan, builds, buying.holidays.days)


def refuse_unknown_part(result: Bought, part: str) -> None:
    """Raise FerruleError for a part the plan does not need."""
    known = sorted({row.part for row in result.rows})
    if part not in known:
        best = nearest(part, known)
        raise FerruleError(
            f"the plan needs no part {part}", f"did you mean {best}?" if best else "`ferrule buy` lists them"
        )


def windows_named(buying: Buying, names: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the two groups of builds to compare: those asked for, or the first two windows of the plan.

    ``names`` holds two groups of build names parted by commas. Raises FerruleError.
    """
    if names:
        groups = [tuple(name.strip() for name in group.split(",")) for group in names]
        for group in groups:
            runs_named(buying, group)
        if set(groups[0]) & set(groups[1]):
            raise FerruleError("a build cannot come first and second", "name different builds")
        return groups[0], groups[1]
    windows = runs_named(buying, ()).windows
    if len(windows) < 2:
        raise FerruleError(
            "the plan has no two builds that are due on different days", "there is nothing to combine"
        )
    return windows[0], windows[1]


def combine(buying: Buying, ask: Ask, first: Sequence[str], second: Sequence[str]) -> Combining:
    """Return one purchase list for two groups of builds against a list for each, part by part.

    Each list is what ``bought`` returns for its builds.
    """
    one, two = bought(buying, ask, first), bought(buying, ask, second)
    return combine_lists(buying.product, one, two, bought(buying, ask, [*first, *second]))


def chance_of(buying: Buying, names: Sequence[str]) -> Fraction:
    """Return the least chance stated for some builds; one for those that are firm or say nothing."""
    stated = [
        Fraction(build.chance.fraction)
        for build in buying.plan.build
        if build.name in names and build.chance is not None and not build.firm
    ]
    return min(stated, default=Fraction(1))


def _unpriced(result: Bought) -> list[str]:
    """Return the parts that have to be bought and have no known price."""
    return sorted({row.part for row in result.rows if row.is_short or row.spend is None})


def lots(buying: Buying, ask: Ask) -> tuple[list[Lotted], list[str]]:
    """Return the order lots of every part over the builds, at the carrying rate stated, and what has no price.

    Demand is the net need of each build; holding goes by the price paid for the whole need at once.
    """
    result = bought(buying, ask, ())
    rate = buying.product.policy.carrying_rate
    return [lotted for row in result.rows for lotted in lots_of(row, rate)], _unpriced(result)
