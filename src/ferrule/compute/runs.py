"""The runs of a plan: its builds as quantities made at once, with the day each assembly needs its parts."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Collection, Mapping
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.demand import Run, demand_of
from ferrule.compute.needdates import start_days
from ferrule.model.product import Product
from ferrule.model.records.plan import Build, PlanFile

__all__ = ["PlanRuns", "runs_of"]

_SERIALS = re.compile(r"([0-9]{1,18}) ?- ?([0-9]{1,18})")


class PlanRuns(Struct, frozen=True, kw_only=True):
    """Runs asked about, those before and after them, and the day each assembly of a run starts.

    ``earlier`` runs are not asked about but take stock and receipts first; ``later`` ones may use leftovers.
    ``starts`` is empty for a run without a date. ``windows`` groups the builds that are due on the same day,
    in the order of those days.
    """

    plan: str
    title: str
    runs: tuple[Run, ...]
    windows: tuple[tuple[str, ...], ...] = ()
    earlier: tuple[Run, ...] = ()
    later: tuple[Run, ...] = ()
    starts: Mapping[str, Mapping[str, dt.date]] = {}

    def need_day(self, run: str, assembly: str) -> dt.date | None:
        """Return the day an assembly of a run starts, when its parts are needed; None without a date."""
        return self.starts.get(run, {}).get(assembly)


def runs_of(product: Product, plan: PlanFile, names: Collection[str] = ()) -> PlanRuns:
    """Return the builds of a plan as runs, or those named, with the runs of all plans before and after them.

    A run that is not asked about comes before where it starts no later than the first one asked about.
    """
    asked, beside, starts = [], [], {}
    for file in (plan, *(other for other in product.plans.values() if other.plan.id != plan.plan.id)):
        for build in file.build:
            run, days = _run(product, file, build)
            if file is plan and (not names or build.name in names):
                asked.append(run)
                starts[build.name] = days
            else:
                beside.append(run)
    first = min((run.day for run in asked), default=plan.plan.start)
    return PlanRuns(
        plan=plan.plan.id,
        title=plan.plan.name or plan.plan.id,
        runs=tuple(asked),
        windows=_windows(plan, [run.name for run in asked]),
        earlier=tuple(run for run in beside if run.day <= first),
        later=tuple(run for run in beside if run.day > first),
        starts=starts,
    )


def _windows(plan: PlanFile, names: Collection[str]) -> tuple[tuple[str, ...], ...]:
    """Return builds due on the same day together; undated ones come last, each alone."""
    groups: dict[tuple[bool, dt.date | None, str], list[str]] = {}
    for build in plan.build:
        stated = build.receive_by or build.ship or build.start
        day = stated.on(plan.plan.start) if stated is not None else None
        if build.name in names:
            groups.setdefault((day is None, day, "" if day else build.name), []).append(build.name)
    order = sorted(groups, key=lambda key: (key[0], key[1] or dt.date.max))
    return tuple(tuple(groups[key]) for key in order)


def _run(product: Product, plan: PlanFile, build: Build) -> tuple[Run, Mapping[str, dt.date]]:
    """Return a build as a run; its day is when its first assembly starts, the plan's start where undated."""
    undated = Run(
        name=build.name,
        sku=build.sku,
        qty=Fraction(build.qty),
        day=plan.plan.start,
        factory=build.factory,
        serials=_serials(build.serials),
        firm=build.firm,
    )
    days = start_days(product, plan.plan, build, demand_of(product, undated).made) or {}
    day = days.get(build.sku)
    return (undated if day is None else replace(undated, day=day)), days


def _serials(written: str | None) -> tuple[int, int] | None:
    found = _SERIALS.fullmatch(written or "")
    if found is None:
        return None
    first, last = int(found[1]), int(found[2])
    return (first, last) if first <= last else None
