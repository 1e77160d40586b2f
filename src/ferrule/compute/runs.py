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
    """Runs asked about, those that come after them, and the day each assembly of a run starts.

    ``starts`` is empty for a run without a date. ``windows`` groups the builds that are due on the same day,
    in the order of those days.
    """

    plan: str
    title: str
    runs: tuple[Run, ...]
    windows: tuple[tuple[str, ...], ...] = ()
    later: tuple[Run, ...] = ()
    starts: Mapping[str, Mapping[str, dt.date]] = {}

    def need_day(self, run: str, assembly: str) -> dt.date | None:
        """Return the day an assembly of a run starts, when its parts are needed; None without a date."""
        return self.starts.get(run, {}).get(assembly)


def runs_of(product: Product, plan: PlanFile, names: Collection[str] = ()) -> PlanRuns:
    """Return the builds of a plan as runs, or those named; what is firm and starts later comes as later runs."""
    asked, later, starts = [], [], {}
    for build in plan.build:
        run, days = _run(product, plan, build)
        if names and build.name not in names:
            later.append(run)
            continue
        asked.append(run)
        starts[build.name] = days
    last = max((run.day for run in asked), default=plan.plan.start)
    later = [run for run in later if run.day > last]
    for other in product.plans.values():
        if other.plan.id != plan.plan.id:
            later += [
                run for run, _ in (_run(product, other, build) for build in other.build) if run.day > last
            ]
    return PlanRuns(
        plan=plan.plan.id,
        title=plan.plan.name or plan.plan.id,
        runs=tuple(asked),
        windows=_windows(plan, [run.name for run in asked]),
        later=tuple(later),
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
