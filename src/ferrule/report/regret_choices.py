"""`regret` in words: what cutting, slipping or waiting costs instead of stopping."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.regret import Cut, Moving, Owed, Stopped
from ferrule.model.product import Product
from ferrule.report.document import Amount, Column, Document, Table
from ferrule.report.regret import COUNTED, View
from ferrule.report.wording import CAUTION, FINANCE, counted, money

__all__ = ["describe_cut", "describe_cuts", "describe_slip", "describe_wait"]

_ZERO = Fraction(0)


def describe_cut(view: View, week: Stopped, cut: Cut) -> Document:
    """Return what cutting a build to a quantity adds to what is owed for nothing."""
    home = view.home
    columns = (
        Column("name", "what"),
        Column("kind", "kind", rank=1),
        Column("firm", "to", rank=2),
        Column("added", "for nothing", "number"),
        Column("planned", "as planned already", "number", rank=3),
        Column("reason", "why"),
    )
    rows = [
        (
            row.commitment.name,
            row.commitment.kind,
            row.commitment.firm,
            Amount(added),
            Amount(before),
            row.fee.words,
        )
        for row, before, added in sorted(cut.rows, key=lambda each: (-each[2], each[0].commitment.name))
    ]
    table = Table(key="cut", title="What is ordered and no longer used", columns=columns, rows=rows)
    return Document(
        key="regret_cut",
        title=_cut_title(cut, week, home),
        facts=(
            *view.facts(),
            ("build", cut.build),
            ("cut to", cut.qty),
            ("planned", Amount(cut.planned, 0)),
            ("for nothing", Amount(cut.total)),
            ("of it paid already", Amount(cut.lost)),
            ("still to be paid", Amount(cut.owed)),
            ("made and paid all the same", Amount(cut.forced)),
            ("decided on", week.day.isoformat()),
            ("money there is", Amount(week.cash)),
        ),
        tables=(table,) if rows else (),
        notes=(_CUT_NOTE,),
        cautions=(FINANCE, CAUTION),
    )


def describe_cuts(view: View, cuts: Sequence[tuple[Stopped, Cut]]) -> Document:
    """Return what cutting a build to a quantity costs in each week of the plan."""
    columns = (
        Column("week", "week", "number"),
        Column("monday", "from"),
        Column("added", "for nothing", "number"),
        Column("paid", "of it paid", "number", rank=2),
        Column("owed", "still to pay", "number"),
        Column("forced", "made all the same", "number"),
        Column("cash", "cash", "number", rank=1),
    )
    rows = [
        (
            week.number,
            week.day.isoformat(),
            Amount(cut.total),
            Amount(cut.lost),
            Amount(cut.owed),
            Amount(cut.forced),
            Amount(week.cash),
        )
        for week, cut in cuts
    ]
    first = cuts[0][1]
    late = next((week for week, cut in cuts if cut.forced), None)
    until = f"too late from week {late.number} on" if late is not None else "at no time too late"
    dear = max(cuts, key=lambda pair: (pair[1].total, -pair[0].number))
    return Document(
        key="regret_cuts",
        title=f"Cutting {first.build} to {first.qty:,} costs up to {money(dear[1].total)} {view.home}; {until}",
        facts=(
            *view.facts(),
            ("build", first.build),
            ("cut to", first.qty),
            ("planned", Amount(first.planned, 0)),
        ),
        tables=(
            Table(key="weeks", title="If it is cut on the Monday of a week", columns=columns, rows=rows),
        ),
        notes=(_CUT_NOTE, *view.notes()),
        cautions=(FINANCE, CAUTION),
    )


_CUT_NOTE = (
    "counted is what the cut adds: leftovers of least quantities are owed as planned too; tools count by what fewer "
    "units do not recover"
)


def _cut_title(cut: Cut, week: Stopped, home: str) -> str:
    what = f"{cut.build} to {cut.qty:,} in week {week.number}"
    if cut.forced:
        return f"Too late to cut {what}: {money(cut.forced)} {home} is made all the same"
    if not cut.total:
        return f"Cutting {what} costs nothing"
    return f"Cutting {what} costs {money(cut.total)} {home} for nothing"


def describe_slip(view: View, week: Stopped, moved: Sequence[Moving], weeks: int) -> Document:
    """Return what can still be moved, what stays, and what waiting costs."""
    home = view.home
    stays = sum((each.value for each in moved if each.moves is not True), _ZERO)
    cost = sum((each.cost for each in moved), _ZERO)
    columns = (
        Column("name", "what"),
        Column("kind", "kind", rank=1),
        Column("firm", "to", rank=2),
        Column("value", "value", "number"),
        Column("moves", "delivery"),
        Column("carrying", "carrying", "number", rank=3),
        Column("storage", "storage", "number", rank=3),
        Column("cost", "waiting costs", "number"),
    )
    rows = [
        (
            each.row.commitment.name,
            each.row.commitment.kind,
            each.row.commitment.firm,
            Amount(each.value),
            _moves(each, week.day),
            Amount(each.carrying),
            Amount(each.storage),
            Amount(each.cost),
        )
        for each in sorted(
            moved, key=lambda each: (each.moves is True, -each.value, each.row.commitment.name)
        )
    ]
    return Document(
        key="regret_slip",
        title=(
            f"Slipping {counted(weeks, 'week')} in week {week.number}: {money(stays)} {home} stays, "
            f"waiting costs {money(cost)}"
        ),
        facts=(
            *view.facts(),
            ("stays on its old days", Amount(stays)),
            ("waiting costs", Amount(cost)),
            ("decided on", week.day.isoformat()),
            ("money there is", Amount(week.cash)),
        ),
        tables=(Table(key="slip", title="What is ordered and waits", columns=columns, rows=rows),)
        if rows
        else (),
        notes=tuple(_slip_notes(view.product)),
        cautions=(FINANCE, CAUTION),
    )


def _slip_notes(product: Product) -> Iterator[str]:
    yield "builds that are begun do not slip; what is not ordered yet is ordered later and costs nothing"
    if product.policy.carrying_rate is None:
        yield "product.toml states no carrying rate: carrying counts nothing"


def _moves(each: Moving, day: dt.date) -> str:
    delivery = each.row.commitment.delivery
    if delivery is None:
        return "no day known, taken to stay"
    if day >= delivery:
        return f"delivered {delivery}"
    if each.moves is None:
        return f"no notice stated, stays {delivery}"
    return "can be moved" if each.moves else f"too late, stays {delivery}"


def describe_wait(view: View, one: Stopped, other: Stopped) -> Document:
    """Return what is bound between two weeks: what deciding in the later one costs more."""
    home = view.home
    before = {_key(row): row.owed + row.lost for row in one.rows}
    after = {_key(row): row for row in other.rows}
    changes = [(row, row.owed + row.lost - before.get(key, _ZERO)) for key, row in after.items()]
    gone = [(row, -row.owed - row.lost) for row in one.rows if _key(row) not in after]
    moved = sorted(
        (pair for pair in [*changes, *gone] if pair[1]), key=lambda pair: (-pair[1], pair[0].commitment.name)
    )
    more = other.total - one.total
    columns = (
        Column("name", "what"),
        Column("kind", "kind", rank=1),
        Column("firm", "to", rank=2),
        Column("change", "change", "number"),
        Column("reason", "why"),
    )
    rows = [
        (row.commitment.name, row.commitment.kind, row.commitment.firm, Amount(change), row.fee.words)
        for row, change in moved
    ]
    verb = "costs" if more >= 0 else "saves"
    return Document(
        key="regret_wait",
        title=f"Waiting from week {one.number} to week {other.number} {verb} {money(abs(more))} {home}",
        facts=(
            *view.facts(),
            ("owed and lost in the first", Amount(one.total)),
            ("owed and lost in the other", Amount(other.total)),
            ("change", Amount(more)),
        ),
        tables=(Table(key="changes", title="What changes", columns=columns, rows=rows),) if rows else (),
        notes=("what changes if we then stop", COUNTED),
        cautions=(FINANCE, CAUTION),
    )


def _key(row: Owed) -> tuple[str, str, tuple[str | int, ...]]:
    return row.commitment.kind, row.commitment.firm, row.commitment.home
