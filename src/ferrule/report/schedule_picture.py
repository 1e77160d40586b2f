"""The dates of a plan as strips: what is waited for, made and shipped, with closures and the days to order by."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from typing import cast

from ferrule.compute.schedule import BuildDates, PlanDates, Strip
from ferrule.report.picture import Closed, Kind, Stretch, StripRow, Strips
from ferrule.report.wording import counted

__all__ = ["dates_picture"]

_INSPECTED = {"incoming inspection", "inspection before shipment"}


def dates_picture(plan: PlanDates, rows: int = 40) -> Strips:
    """Return the picture of a plan in at most ``rows`` rows.

    The orders come first, the most pressing on top; then for each build its assemblies and its way home. If
    that is too many, orders of a build with the very same strip share a row. If it still is, the least
    pressing orders are left out, those that decide a date last of all; then what is made. What is ordered lies
    as it was begun, all else as late as it may. The axis begins with this week, or with that of the first day to
    order by if that has passed.
    """
    made = [row for build in plan.builds for row in _made_rows(build)]
    ordered = list(_order_rows(plan))
    if len(ordered) + len(made) > rows:
        ordered = _shared(ordered)
    kept = [*_most_pressing(ordered, max(0, rows - len(made))), *made][:rows]
    start = _start(plan)
    end = max([start, *(each.finish for row in kept for each in row.stretches)])
    return Strips(
        title="When",
        description=_description(plan),
        start=start,
        end=end,
        rows=tuple(kept),
        closures=tuple(_closures(plan, start, end)),
        today=plan.today,
        week_zero=next((build.job.plan.plan.start for build in plan.builds), None),
        left_out=len(ordered) + len(made) - len(kept),
    )


def _most_pressing(rows: Sequence[StripRow], most: int) -> list[StripRow]:
    """Return up to ``most`` rows in their order: those that decide a date, then from the top."""
    ranked = sorted(range(len(rows)), key=lambda index: (not rows[index].critical, index))
    return [rows[index] for index in sorted(ranked[:most])]


def _start(plan: PlanDates) -> dt.date:
    """Return the Monday of the first day that anything still to be done lies on."""
    by = [each.order_by for each in plan.orders if each.order.ordered is None and each.order_by is not None]
    first = min([plan.today, *by])
    return first - dt.timedelta(days=first.weekday())


def _description(plan: PlanDates) -> str:
    said = []
    for build in plan.builds:
        words = [f"due {build.due}"] if build.due is not None else []
        words += [f"at the earliest {build.earliest}", f"{counted(len(build.orders), 'order')}"]
        said.append(f"{build.build}: {', '.join(words)}")
    return "; ".join(said) or "No builds."


def _order_rows(plan: PlanDates) -> Iterator[StripRow]:
    builds = {build.build: build for build in plan.builds}
    for order in plan.orders:
        build = builds[order.build]
        begun = order.order.ordered
        strips = [build.strips[index] for index in order.chain[: order.own]]
        late = f"late by {counted(order.late_by, 'day')}" if order.late_by else ""
        not_known = f"{', '.join(order.unknown)} not known" if order.unknown else ""
        yield StripRow(
            name=f"{order.item}, {order.build}",
            stretches=_stretches(strips, begun=begun is not None),
            tick=begun or order.order_by,
            label="ordered" if begun is not None else "order by",
            critical=order.critical,
            remark=", ".join(filter(None, (late, not_known))),
        )


def _shared(rows: Iterable[StripRow]) -> list[StripRow]:
    """Return rows with those of the same build, days and label in one, at the place of the first."""
    found: dict[object, list[StripRow]] = {}
    for row in rows:
        build = row.name.rpartition(", ")[2]
        found.setdefault((build, row.stretches, row.tick, row.label, row.critical, row.remark), []).append(
            row
        )
    return [_joined(same) for same in found.values()]


def _joined(rows: list[StripRow]) -> StripRow:
    first, *others = rows
    if not others:
        return first
    item, _, build = first.name.rpartition(", ")
    return StripRow(
        name=f"{item} +{len(others)}, {build}",
        stretches=first.stretches,
        tick=first.tick,
        label=first.label,
        critical=first.critical,
        remark=first.remark,
        more=tuple(row.name for row in others),
    )


def _made_rows(build: BuildDates) -> Iterator[StripRow]:
    """Yield a row for each assembly, and one for inspection and shipping."""
    groups: dict[tuple[str, str], list[Strip]] = {}
    for strip in build.strips:
        if strip.kind in ("assembly", "build"):
            groups.setdefault((strip.kind, strip.item), []).append(strip)
    for (kind, item), strips in groups.items():
        stretches = _stretches(strips, begun=False)
        if stretches:
            name = f"{item}, {build.build}" if kind == "assembly" else f"way home, {build.build}"
            yield StripRow(name, stretches, critical=any(strip.critical for strip in strips))


def _stretches(strips: Iterable[Strip], *, begun: bool) -> tuple[Stretch, ...]:
    """Return strips that have a length: as they were begun, or as late as they may lie."""
    return tuple(
        Stretch(strip.name, lies.start, lies.finish, _kind(strip))
        for strip, lies in ((strip, strip.early if begun else strip.lies) for strip in strips)
        if lies.finish >= lies.start
    )


def _kind(strip: Strip) -> Kind:
    if strip.name in _INSPECTED:
        return "inspection"
    if strip.name == "inbound":
        return "shipping"
    kinds = {"part": "waiting", "tool": "waiting", "assembly": "making", "build": "shipping"}
    return cast("Kind", kinds[strip.kind])


def _closures(plan: PlanDates, start: dt.date, end: dt.date) -> list[Closed]:
    """Return each closure that a strip goes through and that is in sight, once, the earliest first."""
    found = {
        Closed(crossing.closure.name, crossing.closure.from_, crossing.closure.to, strip.calendar or "")
        for build in plan.builds
        for strip in build.strips
        for crossing in strip.crossed
    }
    seen = (closed for closed in found if closed.start <= end and closed.finish >= start)
    return sorted(seen, key=lambda closed: (closed.start, closed.finish, closed.name, closed.calendar))
