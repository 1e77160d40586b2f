"""`quote compare`: answers side by side on an equal basis, and what each would make of cost, cash and freedom."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from ferrule.app.costing import Costing, open_cost
from ferrule.app.loading import Places, load_snapshot
from ferrule.app.quoting_read import answer_of
from ferrule.compute.answered import answered_product
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.cash import Cash, ground_of, plan_cash
from ferrule.compute.cost import UnitCost, unit_cost
from ferrule.compute.leaving import Leaving, leave
from ferrule.compute.quote_compare import Compared, compare_answers
from ferrule.errors import FerruleError
from ferrule.model.answers import Answer
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile
from ferrule.source.snapshot import Snapshot

__all__ = ["Beside", "Outcome", "compare_quotes"]


class Outcome(Struct, frozen=True, kw_only=True):
    """What one answer makes of the product: unit cost at volumes, cash of the plan, and what leaving the firm takes.

    ``cash`` is None where no plan builds the SKU; ``costs`` is empty where there is no SKU to cost. ``holes`` says for
    each volume whether a price was asked there (or, at a volume not asked, anywhere) and is not there: the unit then
    costs at least so much, for a price at a larger quantity stands in.
    """

    costs: tuple[UnitCost, ...]
    holes: tuple[bool, ...] = ()
    cash: Cash | None
    leaving: Leaving


class Beside(Struct, frozen=True, kw_only=True):
    """Answers compared. ``sku`` is what was costed, empty where nothing says which."""

    product: Product
    answers: tuple[Answer, ...]
    compared: Compared
    outcomes: tuple[Outcome, ...]
    sku: str
    volumes: tuple[int, ...]
    plan: str
    label: str
    faults: int
    where: Places


def compare_quotes(  # noqa: PLR0913  one argument for each thing that can be asked
    snapshot: Snapshot,
    paths: Sequence[Path],
    today: dt.date,
    *,
    sku: str | None = None,
    plan: str | None = None,
    volumes: Sequence[int] = (),
) -> Beside:
    """Return answers compared; raises FerruleError for one that cannot be read or has nothing in common."""
    loaded = load_snapshot(snapshot)
    product = loaded.product
    answers = tuple(answer_of(product, path, today) for path in paths)
    compared = compare_answers(product, answers)
    if not compared.quantities:
        asked = "; ".join(f"{each.file}: {', '.join(map(str, each.quantities))}" for each in answers)
        raise FerruleError("the answers have no quantity in common", f"they were asked at {asked}")
    costing = _costing(snapshot, product, answers, today, sku, plan)
    sizes = tuple(volumes) or _sizes(costing, answers, compared)
    return Beside(
        product=product,
        answers=answers,
        compared=compared,
        outcomes=tuple(_outcome(product, costing, answer, sizes, today) for answer in answers),
        sku=costing.sku if costing is not None else "",
        volumes=sizes if costing is not None else (),
        plan=costing.plan.plan.id if costing is not None and costing.plan is not None else "",
        label=snapshot.label,
        faults=len(loaded.findings) + len(snapshot.problems),
        where=Places(loaded, snapshot),
    )


def _costing(  # noqa: PLR0913, PLR0917
    snapshot: Snapshot,
    product: Product,
    answers: Sequence[Answer],
    today: dt.date,
    sku: str | None,
    plan: str | None,
) -> Costing | None:
    """Return the SKU to cost: the one named, the one asked for, else the one the first plan builds first."""
    asked = [answer.assembly for answer in answers if answer.assembly in product.skus()]
    built = [
        build.sku
        for file in sorted(product.plans.values(), key=lambda file: (file.plan.start, file.plan.id))
        for build in file.build
    ]
    known = [name for name in (*asked, *built, *product.skus()) if name in product.assemblies]
    name = sku or (known[0] if known else None)
    return None if name is None else open_cost(snapshot, name, today, plan=plan)


def _sizes(costing: Costing | None, answers: Sequence[Answer], compared: Compared) -> tuple[int, ...]:
    """Return at which volumes to cost: those asked for an assembly, else the plan's builds of the SKU."""
    if all(answer.assembly is not None for answer in answers):
        return compared.quantities
    if costing is None or costing.plan is None:
        return (1000,)
    builds = sorted({int(build.qty) for build in costing.plan.build if build.sku == costing.sku})
    return tuple(builds) or (1000,)


def _outcome(
    product: Product, costing: Costing | None, answer: Answer, volumes: Sequence[int], today: dt.date
) -> Outcome:
    agreed = answered_product(product, answer)
    try:
        leaving = leave(agreed, answer.recipient, today)
        if costing is None:
            return Outcome(costs=(), cash=None, leaving=leaving)
        plan = None if costing.plan is None else agreed.plans[costing.plan.plan.id]
        asked = _agreed(costing, agreed, plan)
        costs = [unit_cost(agreed, asked.ask(Fraction(volume), f"{volume:,}")) for volume in volumes]
        return Outcome(
            costs=tuple(costs),
            holes=tuple(_has_hole(answer, volume) for volume in volumes),
            cash=_cash(asked, agreed, plan),
            leaving=leaving,
        )
    except NoSuchDay as error:
        raise FerruleError(str(error), "look at the closures and weekends in product.toml") from None


def _has_hole(answer: Answer, volume: int) -> bool:
    if answer.assembly is None or volume not in answer.quantities:
        return any(line.holes for line in answer.asked)
    at = answer.quantities.index(volume)
    return any(line.prices[at] is None for line in answer.asked)


def _agreed(costing: Costing, agreed: Product, plan: PlanFile | None) -> Costing:
    builds = [build for build in plan.build if build.sku == costing.sku] if plan is not None else []
    return replace(costing, product=agreed, plan=plan, build=builds[0] if builds else None)


def _cash(costing: Costing, agreed: Product, plan: PlanFile | None) -> Cash | None:
    if plan is None:
        return None
    return plan_cash(agreed, plan, ground_of(agreed, plan, costing.today, costing.holidays.days))
