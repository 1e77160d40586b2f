"""The dates of a plan as strips: what is waited for, made and shipped, with closures and the days to order by."""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.schedule import BuildDates, OrderDates, PlanDates, Strip
from ferrule.report.picture import Closed, Stretch, StripRow, Strips

__all__ = ["dates_picture"]

#: Orders drawn for each build, the most pressing first.
ORDERS = 8


def dates_picture(plan: PlanDates) -> Strips:
    """Return the picture of a plan: for each build its most pressing orders, its assemblies and its way home."""
    rows, closures, left_out = [], dict[tuple[str, str], Closed](), 0
    for build in plan.builds:
        drawn = sorted(build.orders, key=_pressing)[:ORDERS]
        left_out += len(build.orders) - len(drawn)
        rows += [_order_row(build, order) for order in drawn]
        rows += list(_made_rows(build))
        for strip in build.strips:
            for crossing in strip.crossed:
                closed = Closed(crossing.closure.name, crossing.closure.from_, crossing.closure.to)
                closures[closed.name, closed.start.isoformat()] = closed
    return Strips(
        title="When",
        description="A strip for each order, assembly and way home; each lies as late as it may, or as it was begun.",
        rows=tuple(rows),
        closures=tuple(sorted(closures.values(), key=lambda closed: (closed.start, closed.name))),
        today=plan.today,
        left_out=left_out,
    )


def _pressing(order: OrderDates) -> tuple[bool, int, str]:
    return order.slack is None, order.slack or 0, order.item


def _order_row(build: BuildDates, order: OrderDates) -> StripRow:
    strips = [build.strips[index] for index in order.chain[: order.own]]
    tick = order.order.ordered or order.order_by
    return StripRow(
        f"{order.item}, {build.build}",
        tuple(
            _stretch(strip, begun=order.order.ordered is not None) for strip in strips if _has_length(strip)
        ),
        tick,
        "ordered" if order.order.ordered is not None else "order by",
        order.critical,
    )


def _made_rows(build: BuildDates) -> Iterator[StripRow]:
    """Yield a row for each assembly and one for inspection and shipping."""
    critical = set(build.critical.strips if build.critical is not None else ())
    groups: dict[str, list[int]] = {}
    for index, strip in enumerate(build.strips):
        if strip.kind in ("assembly", "build"):
            groups.setdefault(strip.item, []).append(index)
    for item, indexes in groups.items():
        kept = [build.strips[index] for index in indexes]
        name = f"{item}, {build.build}" if kept[0].kind == "assembly" else f"{build.build}, way home"
        stretches = tuple(_stretch(strip, begun=False) for strip in kept if _has_length(strip))
        if stretches:
            yield StripRow(name, stretches, critical=not critical.isdisjoint(indexes))


def _has_length(strip: Strip) -> bool:
    return strip.lies.finish >= strip.lies.start


def _stretch(strip: Strip, *, begun: bool) -> Stretch:
    lies = strip.early if begun else strip.lies
    kinds = {"part": "waiting", "tool": "waiting", "assembly": "making"}
    kind = kinds.get(strip.kind, "other" if strip.name.startswith("inspection") else "shipping")
    return Stretch(strip.name, lies.start, lies.finish, kind)  # type: ignore[arg-type]  # one of the four
