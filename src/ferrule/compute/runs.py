"""The runs of a plan: its builds as quantities made at once, with the day each assembly needs its parts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.activities import Job
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.demand import Run, demand_of
from ferrule.compute.owners import Book, book_of
from ferrule.compute.schedule import BuildDays, build_days
from ferrule.model.product import Product
from ferrule.model.records.plan import Build, PlanFile
from ferrule.model.serials import Serials

__all__ = ["PlanRuns", "PublicDays", "need_day", "runs_of"]

#: Public holidays by name of calendar.
PublicDays = Mapping[str, Collection[dt.date]]


def need_day(days: BuildDays | None, assembly: str, part: str) -> dt.date | None:
    """Return the last day by which a part must be usable for an assembly of a build; None without a date.

    For a part that the dates do not name, such as an alternate, it is the day before its assembly starts.
    """
    if days is None:
        return None
    start = days.starts.get(assembly)
    return days.needs.get(part, None if start is None else start - dt.timedelta(days=1))


class PlanRuns(Struct, frozen=True, kw_only=True):
    """Runs asked about, those before and after them, and the day each assembly of a run starts.

    ``earlier`` runs are not asked about but take stock and receipts first; ``later`` ones may use leftovers.
    ``days`` holds the latest days of each run, closures counted; it has none for a run without a date.
    ``earlier_days`` are those of the earlier runs, in their order.
    ``windows`` groups the builds that are due on the same day, in the order of those days. ``book`` holds the
    calendars.
    """

    plan: str
    title: str
    runs: tuple[Run, ...]
    windows: tuple[tuple[str, ...], ...] = ()
    earlier: tuple[Run, ...] = ()
    earlier_days: tuple[BuildDays | None, ...] = ()
    later: tuple[Run, ...] = ()
    days: Mapping[str, BuildDays] = {}
    book: Book | None = None

    def need_day(self, run: str, assembly: str, part: str) -> dt.date | None:
        """Return the last day by which a part must be usable in a run; None without a date."""
        return need_day(self.days.get(run), assembly, part)


def runs_of(
    product: Product, plan: PlanFile, names: Collection[str] = (), public: PublicDays | None = None
) -> PlanRuns:
    """Return the builds of a plan as runs, or those named, with the runs of all plans before and after them.

    A run that is not asked about comes before where it starts before the first one asked about; of runs that
    start on one day, the one whose name comes first.
    ``public`` holds public holidays by name of calendar. Raises ValueError where assemblies contain themselves.
    """
    book = book_of(product, public)
    asked: list[Run] = []
    beside: list[tuple[Run, BuildDays | None]] = []
    dated: dict[str, BuildDays] = {}
    for file in (plan, *(other for other in product.plans.values() if other.plan.id != plan.plan.id)):
        for build in file.build:
            run, days = _run(product, file, build, book)
            if file is plan and (not names or build.name in names):
                asked.append(run)
                dated |= {build.name: days} if days is not None else {}
            else:
                beside.append((run, days))
    beside.sort(key=lambda pair: (pair[0].day, pair[0].name))
    first = min(((run.day, run.name) for run in asked), default=(plan.plan.start, ""))
    earlier = [(run, days) for run, days in beside if (run.day, run.name) < first]
    return PlanRuns(
        plan=plan.plan.id,
        title=plan.plan.name or plan.plan.id,
        runs=tuple(asked),
        windows=_windows(plan, [run.name for run in asked]),
        earlier=tuple(run for run, _ in earlier),
        earlier_days=tuple(days for _, days in earlier),
        later=tuple(run for run, _ in beside[len(earlier) :]),
        days=dated,
        book=book,
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


def _run(product: Product, plan: PlanFile, build: Build, book: Book) -> tuple[Run, BuildDays | None]:
    """Return a build as a run; its day is when its last assembly starts, the plan's start where undated."""
    undated = Run(
        name=build.name,
        sku=build.sku,
        qty=Fraction(build.qty),
        day=plan.plan.start,
        factory=build.factory,
        serials=_serials(build.serials),
        firm=build.firm,
    )
    demand = demand_of(product, undated)
    job = Job(product=product, plan=plan, build=build, demand=demand)
    try:
        days = build_days(job, book)
        day = days.starts.get(build.sku)
        if day is None:
            return undated, None
        dated = replace(undated, day=day)
        if _has_dated_lines(product):  # what is used depends on the day, which is only known now
            days = build_days(replace(job, demand=demand_of(product, dated)), book)
    except NoSuchDay:  # a calendar without an open day: the schedule says so, the purchase goes without dates
        return undated, None
    return dated, days


def _has_dated_lines(product: Product) -> bool:
    return any(
        line.effective is not None and (line.effective.from_ is not None or line.effective.to is not None)
        for lines in product.lines.values()
        for line in lines
    )


def _serials(stated: Serials | None) -> tuple[int, int] | None:
    """Return first and last of one unbroken range."""
    return stated.ranges[0] if stated is not None and len(stated.ranges) == 1 else None
