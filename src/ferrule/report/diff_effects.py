"""What a change does to money and days, as tables of `diff`: unit cost by cause, dates, cash, idle stock, the gate."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cash import Cash
from ferrule.compute.effects import CashEffect, DatesEffect, Effects
from ferrule.compute.effects_cost import CostEffect
from ferrule.compute.gate import Verdict
from ferrule.compute.idle import IdleStock
from ferrule.compute.schedule import BuildDates
from ferrule.report.document import Amount, Cell, Column, Table
from ferrule.report.wording import counted, percent

__all__ = ["effect_notes", "effect_tables", "gate_table"]

_CAUSES = (
    "Each cause is worked out on top of those to its left: quantity (parts, lines, losses, packing, the plan's "
    "quantities), price (sources, steps, ways, duty, rates), yield. Unit is their sum, the change of the unit cost."
)
_BESIDE = (
    "Once: the unit's share of tools and other one-off cost. Leftovers: what is paid for and in no unit."
)
_IDLE = (
    "Needed no more by any plan. Fixed: orders that cannot be cancelled. Free: orders that can, for the fee. What was "
    "paid for what lies is spent either way; it is no cost of the change."
)


def effect_tables(effects: Effects, home: str) -> tuple[Table, ...]:
    """Return the tables of what a change does; those of cash have keys that start with ``cash``."""
    return (
        _costs(effects.costs, home),
        _split(effects.costs),
        _dates(effects.dates),
        _late(effects.dates),
        _idle(effects.idle, home),
        _cash(effects.cash, home),
    )


def effect_notes(effects: Effects) -> Iterator[str]:
    """Yield how many builds and plans are as before, and what could not be worked out."""
    builds, dates, plans = effects.same
    if builds:
        yield f"unit cost as before: {counted(builds, 'build')}"
    if dates:
        yield f"dates as before: {counted(dates, 'build')}"
    if plans:
        yield f"cash as before: {counted(plans, 'plan')}"
    yield from (f"not worked out: {words}" for words in effects.failed)


def gate_table(verdicts: Sequence[Verdict]) -> Table:
    """Return what came of the conditions a change must not meet."""
    columns = (
        Column("condition", "must not be"),
        Column("outcome", "outcome"),
        Column("because", "because of"),
    )
    rows: list[tuple[Cell, ...]] = [
        (verdict.condition, verdict.outcome, "; ".join(verdict.because)) for verdict in verdicts
    ]
    return Table(key="gate", title="Gate", columns=columns, rows=rows)


# --- cost ------------------------------------------------------------------------------------------------


def _costs(costs: Iterable[CostEffect], home: str) -> Table:
    columns = (
        Column("plan", "plan", rank=1),
        Column("build", "build"),
        Column("quantity", "units", "number"),
        Column("before", "before", "number"),
        Column("after", "after", "number"),
        Column("change", "change", "number"),
        Column("share", "in %", "number"),
        Column("bound", ""),
    )
    rows: list[tuple[Cell, ...]] = [_cost_row(row) for row in costs]
    return Table(key="cost", title=f"Unit cost, {home}", columns=columns, rows=rows)


def _cost_row(row: CostEffect) -> tuple[Cell, ...]:
    before, after, change = row.before, row.after, row.change
    side = after or before
    share = "" if change is None or before is None or not before.total else _percent(change / before.total)
    return (
        row.plan,
        row.build,
        "" if side is None else int(side.ask.qty),
        "" if before is None else Amount(before.total),
        "" if after is None else Amount(after.total),
        "" if change is None else Amount(change, 4),
        share,
        _bound(row),
    )


def _percent(share: Fraction) -> str:
    return percent(share, 2).removesuffix(" %")


def _bound(row: CostEffect) -> str:
    if row.before is None or row.after is None:
        return "new build" if row.before is None else "no longer built"
    if row.is_new_bound:
        return "at least: not all is known now"
    return "at least" if row.after.is_bound else ""


def _split(costs: Iterable[CostEffect]) -> Table:
    columns = (
        Column("plan", "plan", rank=1),
        Column("build", "build"),
        Column("quantity", "quantity", "number"),
        Column("price", "price", "number"),
        Column("yield", "yield", "number"),
        Column("unit", "= unit", "number"),
        Column("once", "once", "number"),
        Column("leftovers", "leftovers", "number"),
        Column("total", "= all", "number"),
    )
    rows: list[tuple[Cell, ...]] = []
    for row in costs:
        split = row.split
        if split is not None:
            parts = (split.quantity, split.price, split.yields, split.unit, split.once, split.leftovers)
            rows.append((row.plan, row.build, *(Amount(part, 4) for part in (*parts, split.total))))
    return Table(
        key="cost_causes",
        title="What the unit cost changes by",
        columns=columns,
        rows=rows,
        notes=(_CAUSES, _BESIDE),
    )


# --- days ------------------------------------------------------------------------------------------------

_SIDES = (Column("what", "what"), Column("before", "before"), Column("after", "after"))
_OF_BUILD = (Column("plan", "plan", rank=1), Column("build", "build"))


def _dates(dates: Iterable[DatesEffect]) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for row in dates:
        sides = [dict(_facts(side)) if side is not None else {} for side in (row.before, row.after)]
        for what in dict.fromkeys([*sides[1], *sides[0]]):
            before, after = (side.get(what, "") for side in sides)
            if before != after:
                rows.append((row.plan, row.build, what, before, after))
    return Table(key="lead_time", title="Lead time", columns=(*_OF_BUILD, *_SIDES), rows=rows)


def _facts(dates: BuildDates) -> Iterator[tuple[str, str]]:
    least = "no earlier than " if dates.earliest_bound else ""
    yield "due", _day(dates.due)
    yield "arrives at the earliest", f"{least}{dates.earliest}"
    yield "critical path", " > ".join(dates.critical.items) if dates.critical is not None else ""
    yield "its slack, days", _number(dates.critical.slack if dates.critical is not None else None)
    yield "first order by", _day(dates.kickoff)
    yield "from then to arrival, days", _number(dates.cumulative)


def _day(day: dt.date | None) -> str:
    return "" if day is None else day.isoformat()


def _number(number: int | None) -> str:
    return "" if number is None else f"{number:,}"


def _late(dates: Iterable[DatesEffect]) -> Table:
    columns = (
        *_OF_BUILD,
        Column("item", "order"),
        Column("order_by", "by"),
        Column("late_by", "days late", "number"),
    )
    rows: list[tuple[Cell, ...]] = [
        (row.plan, row.build, order.item, _day(order.order_by), order.late_by)
        for row in dates
        for order in row.newly_late
    ]
    return Table(key="newly_late", title="Order-by dates that are past now", columns=columns, rows=rows)


# --- cash and stock --------------------------------------------------------------------------------------


def _cash(cash: Iterable[CashEffect], home: str) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for row in cash:
        sides = [dict(_figures(side)) if side is not None else {} for side in (row.before, row.after)]
        for what in dict.fromkeys([*sides[1], *sides[0]]):
            before, after = (side.get(what, "") for side in sides)
            if before != after or what == "trough":
                rows.append((row.plan, what, before, after, _difference(before, after)))
    sides_ = (Column("before", "before", "number"), Column("after", "after", "number"))
    columns = (Column("plan", "plan"), Column("what", "what"), *sides_, Column("change", "change", "number"))
    return Table(key="cash", title=f"Cash, {home}", columns=columns, rows=rows)


def _figures(cash: Cash) -> Iterator[tuple[str, Cell]]:
    book = cash.ledger
    yield "trough", Amount(book.trough.balance)
    yield "week of the trough", f"{book.trough.number}"
    yield "low if payments leave first", Amount(book.pay_first_low.low)
    yield "opening cash needed", Amount(cash.needed)
    yield "at the end", Amount(book.ending)
    yield "floor", "" if cash.floor is None else Amount(cash.floor)
    yield "not known", f"{len(cash.unknown)}"


def _difference(before: Cell, after: Cell) -> Cell:
    if isinstance(before, Amount) and isinstance(after, Amount):
        return Amount(Fraction(after.number) - Fraction(before.number))
    return ""


def _idle(idle: Iterable[IdleStock], home: str) -> Table:
    columns = (
        Column("part", "part"),
        Column("on_hand", "on hand", "number"),
        Column("on_hand_value", "value", "number"),
        Column("fixed", "fixed", "number"),
        Column("fixed_value", "value", "number"),
        Column("cancellable", "free", "number"),
        Column("cancellable_value", "value", "number"),
        Column("fee", "fee", "number"),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            row.part,
            Amount(row.on_hand, 3, trim=True),
            _value(row.on_hand_value),
            Amount(row.fixed, 3, trim=True),
            _value(row.fixed_value),
            Amount(row.cancellable, 3, trim=True),
            _value(row.cancellable_value),
            _value(row.fee),
        )
        for row in idle
    ]
    return Table(
        key="idle_stock", title=f"Stock without a use, {home}", columns=columns, rows=rows, notes=(_IDLE,)
    )


def _value(amount: Fraction | None) -> Cell:
    return None if amount is None else Amount(amount)
