"""`schedule` in words: what to order by when, what decides, what is late, and what a slip does."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.calendars import Crossing
from ferrule.compute.schedule import BuildDates, OrderDates, PlanDates, Strip
from ferrule.compute.slips import Slip, Week, cliff
from ferrule.model.product import Product
from ferrule.model.when import iso_week
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.schedule_picture import dates_picture
from ferrule.report.wording import counted, listed, money, quantity

__all__ = ["describe_schedule", "describe_slips", "describe_week", "describe_why"]

Where = Callable[..., str]
CAUTION = (
    "Dates are arithmetic on stated lead times and calendars; confirm closures and capacity with each firm "
    "before you rely on them."
)


def _day(day: dt.date | None) -> Cell:
    return None if day is None else day.isoformat()


def _bound(day: dt.date | None, *, bound: bool, words: str) -> Cell:
    """Return a day; as a bound where a length on the way is unknown."""
    return None if day is None else f"{words} {day.isoformat()}" if bound else day.isoformat()


def describe_schedule(  # noqa: PLR0913, PLR0917  a report and its frame
    product: Product,
    plan: PlanDates,
    title: str,
    label: str,
    facts: Sequence[tuple[str, Cell]],
    notes: Sequence[str] = (),
) -> Document:
    """Return the builds with what decides each, and every order, the most pressing first."""
    return Document(
        key="schedule",
        title=f"When: {title}",
        facts=(*facts, ("state", label), ("day", plan.today.isoformat())),
        tables=(
            _builds(plan),
            _orders(product, plan.orders, key="orders", title="Orders, the most pressing first"),
        ),
        notes=(*(note for build in plan.builds for note in _build_notes(build)), *notes),
        cautions=(CAUTION,),
        pictures=(dates_picture(plan),),
    )


def _builds(plan: PlanDates) -> Table:
    columns = (
        Column("build", "build"),
        Column("sku", "SKU", rank=5),
        Column("quantity", "quantity", "number", rank=4),
        Column("due", "due"),
        Column("ships", "ships by"),
        Column("kickoff", "kick-off by"),
        Column("earliest", "earliest"),
        Column("late_days", "late", "number"),
        Column("critical_slack", "slack", "number"),
        Column("cumulative_days", "chain days", "number", rank=1),
        Column("critical", "critical path", rank=2),
        Column("rival", "its rival", rank=3),
    )
    rows = [_build_row(build) for build in plan.builds]
    return Table(key="builds", title="Builds", columns=columns, rows=rows)


def _build_row(build: BuildDates) -> tuple[Cell, ...]:
    record = build.job.build
    rival = build.rival
    return (
        build.build,
        record.sku,
        Amount(record.qty, 0),
        _day(build.due) if build.due is not None else "no date stated",
        _day(build.ships) if build.ships is not None else "",
        _bound(build.kickoff, bound=bool(build.unknown), words="<=") if build.kickoff is not None else "",
        _bound(build.earliest, bound=build.earliest_bound, words=">="),
        build.late_by,
        "" if build.critical is None or build.critical.slack is None else build.critical.slack,
        "" if build.cumulative is None else build.cumulative,
        " > ".join((build.critical or build.binding).items),
        ""
        if rival is None
        else " > ".join(rival.items) + ("" if rival.slack is None else f" ({rival.slack})"),
    )


def _build_notes(build: BuildDates) -> Iterator[str]:
    path = build.critical or build.binding
    if build.late_by:
        yield (
            f"{build.build}: {counted(build.late_by, 'day')} late even if all is ordered today;"
            f" {build.binding.items[0]} holds it up"
        )
    if path.slack is not None and not build.late_by:
        words = f"{build.build}: {path.items[0]} decides, {counted(path.slack, 'day')} of slack"
        if build.rival is not None and build.rival.slack is not None:
            words += f"; next is {build.rival.items[0]} with {build.rival.slack}"
        yield words
    jump = cliff(build, path.items[0])
    if jump is not None:
        before, after = jump
        yield (
            f"{build.build}: {path.items[0]} {counted(before.days, 'day')} later moves the arrival by {before.moved},"
            f" one more day by {after.moved}: it then crosses a closure"
        )
    lost = sorted(
        _closures(build.strips[index] for index in path.strips), key=lambda pair: pair[0].closure.from_
    )
    if lost:
        named = [f"{crossing.closure.name} ({quantity(days)} working days)" for crossing, days in lost]
        yield f"{build.build}: closures on the critical path: {listed(named)}"
    if build.unknown:
        yield f"{build.build}: not known, so every date beyond is a bound: {', '.join(build.unknown)}"


def _closures(strips: Iterable[Strip]) -> list[tuple[Crossing, Fraction]]:
    """Return each closure crossed once, with the working days it takes from all strips."""
    found: dict[str, tuple[Crossing, Fraction]] = {}
    for strip in strips:
        for crossing in strip.crossed:
            before = found.get(crossing.closure.name, (crossing, Fraction(0)))[1]
            found[crossing.closure.name] = (crossing, before + crossing.lost)
    return list(found.values())


def _orders(product: Product, orders: Sequence[OrderDates], *, key: str, title: str) -> Table:
    columns = (
        Column("item", "item"),
        Column("name", "name", rank=9),
        Column("build", "build"),
        Column("seller", "seller", rank=5),
        Column("latest", "latest", rank=3),
        Column("order_by", "order by"),
        Column("planned", "planned", rank=4),
        Column("slack", "slack", "number"),
        Column("need", "needed", rank=6),
        Column("ready", "ready", rank=7),
        Column("paper", "on paper", rank=2),
        Column("paper_late", "too late", "number", rank=1),
        Column("remark", ""),
    )
    rows = [_order_row(product, order) for order in orders]
    note = "on paper: the latest day with weekends but no closures or holidays; too late: by how many days it misleads"
    return Table(key=key, title=title, columns=columns, rows=rows, notes=(note,) if rows else ("nothing",))


def _order_row(product: Product, order: OrderDates) -> tuple[Cell, ...]:
    item = product.item(order.item)
    tool = product.tools.get(order.item)
    name = item.name if item is not None else tool.name if tool is not None else None
    done = order.order.ordered is not None
    return (
        order.item,
        name,
        order.build,
        order.order.seller or "",
        _bound(order.latest, bound=order.bound, words="<=") if order.latest is not None else "",
        "" if order.order_by is None else _day(order.order_by),
        _day(order.planned),
        "" if order.slack is None else order.slack,
        "" if order.need is None else _day(order.need),
        _bound(order.ready, bound=order.ready_bound, words=">="),
        "" if order.paper is None else _day(order.paper),
        "" if order.paper_late is None else order.paper_late,
        "; ".join(_order_remarks(order, done=done)),
    )


def _order_remarks(order: OrderDates, *, done: bool) -> Iterator[str]:
    if order.critical:
        yield "critical"
    if done:
        cover = order.order.cover
        yield f"on order {cover.order}" if cover is not None and cover.order else "ordered"
    if order.late_by:
        yield f"late by {order.late_by}"
    yield from (f"{words} not known" for words in order.unknown)
    for faster in order.faster:
        price = [
            money(each.number) + f" {each.currency}".rstrip()
            for each in (faster.expedite.each, faster.expedite.fee)
            if each
        ]
        stale = " (quote has run out)" if faster.valid is False else ""
        yield f"expedited {faster.expedite.lead_time} for {' and '.join(price) or 'no stated price'}{stale}, there {faster.there}"


def describe_why(
    product: Product, build: BuildDates, order: OrderDates, label: str, where: Where
) -> Document:
    """Return the chain of reasons of an order: every leg from it to the arrival, with the closures it crosses."""
    rows = [_strip_row(build.strips[index]) for index in order.chain]
    item = product.item(order.item)
    tool = product.tools.get(order.item)
    name = item.name if item is not None else tool.name if tool is not None else ""
    kind = "tool" if tool is not None else "part" if order.item in product.parts else "assembly"
    path = ("source", order.order.source) if order.order.source is not None else ()
    return Document(
        key="schedule_why",
        title=f"Why {order.item} {name or ''}".rstrip(),
        facts=(
            ("build", order.build),
            ("latest", _day(order.latest) if order.latest is not None else "no date to go back from"),
            ("order by", _day(order.order_by) if order.order_by is not None else "no date to go back from"),
            ("on paper", _day(order.paper) if order.paper is not None else ""),
            ("slack in days", "" if order.slack is None else order.slack),
            ("place", where(kind, order.item, *path)),
            ("state", label),
        ),
        tables=(
            Table(
                key="chain",
                columns=(
                    Column("item", "item"),
                    Column("leg", "leg"),
                    Column("length", "length"),
                    Column("calendar", "calendar"),
                    Column("start", "from"),
                    Column("finish", "to"),
                    Column("earliest", "earliest"),
                    Column("crossed", "crosses"),
                ),
                rows=rows,
            ),
        ),
        notes=tuple(_why_notes(order)),
        cautions=(CAUTION,),
    )


def _why_notes(order: OrderDates) -> Iterator[str]:
    if order.paper_late:
        yield f"without closures one would order on {order.paper}: {counted(order.paper_late, 'day')} too late"
    if order.late_by:
        yield f"the latest day has passed: {counted(order.late_by, 'day')} late already"
    for faster in order.faster:
        verdict = {True: "in time", False: "still too late", None: "no date to meet"}[faster.in_time]
        yield f"expedited ({faster.expedite.lead_time}): order by {faster.order_by or 'any day'}, there {faster.there}, {verdict}"


def _strip_row(strip: Strip) -> tuple[Cell, ...]:
    lies = strip.lies
    crossed = [f"{each.closure.name}, {quantity(each.lost)} days" for each in strip.crossed]
    crossed += [f"{counted(len(strip.holidays), 'holiday')}"] if strip.holidays else []
    time = strip.activity.time
    loops = f" x {time.loops}" if time.loops > 1 else ""
    return (
        strip.item,
        strip.name,
        None if time.duration is None else f"{time.duration}{loops}",
        strip.calendar or "weekends",
        _day(lies.start),
        _day(lies.finish),
        _day(strip.early.start),
        "; ".join(crossed),
    )


def describe_week(product: Product, plan: PlanDates, week: Week, label: str) -> Document:
    """Return this week's orders, and next week's that become late if they slip."""
    slips = {(order.build, order.item): slip for order, slip in week.next}
    following = _orders(
        product,
        [order for order, _ in week.next],
        key="next",
        title="Next week's that are late if they wait a week more",
    )
    moved = tuple(
        f"{order.item}: a week more moves {order.build} by {counted(slips[order.build, order.item].moved, 'day')}"
        for order, _ in week.next
        if slips[order.build, order.item].moved
    )
    return Document(
        key="schedule_week",
        title=f"Orders of week {iso_week(week.monday)}, from {week.monday.isoformat()}",
        facts=(("week", iso_week(week.monday)), ("day", plan.today.isoformat()), ("state", label)),
        tables=(
            _orders(product, week.overdue, key="overdue", title="Overdue"),
            _orders(product, week.due, key="due", title="To order this week"),
            following,
        ),
        notes=moved,
        cautions=(CAUTION,),
    )


def describe_slips(slips: Sequence[Slip], label: str, title: str) -> Document:
    """Return what delays of an item or a build do to the arrival."""
    rows = [
        (
            slip.build,
            slip.item,
            slip.days,
            _day(slip.begins),
            _bound(slip.arrival, bound=slip.bound, words=">="),
            slip.moved,
        )
        for slip in slips
    ]
    return Document(
        key="schedule_slips",
        title=title,
        facts=(("state", label),),
        tables=(
            Table(
                key="slips",
                columns=(
                    Column("build", "build"),
                    Column("item", "item"),
                    Column("days", "days later", "number"),
                    Column("begins", "begins"),
                    Column("arrival", "arrives"),
                    Column("moved", "arrival moves", "number"),
                ),
                rows=rows,
            ),
        ),
        cautions=(CAUTION,),
    )
