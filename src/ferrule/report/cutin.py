"""`diff --cut-in` in words: each week and use-up, what is sunk, and what would make them equal."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterable, Iterator

from ferrule.compute.cutin import CutIn, CutInAsk, Switching
from ferrule.compute.cutin_facts import CutInFacts, unit_at
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, listed, money, quantity

__all__ = ["describe_cut_in"]

_SUNK = (
    "Sunk money is the same in every row and in none of the sums; the write-off is what the books lose with the parts "
    "left over, beside the sums. Other: what a new unit costs more than an old one beside the part."
)


def describe_cut_in(
    product: Product,
    asked: tuple[str, tuple[str, str]],
    sides: tuple[str, str],
    facts: CutInFacts,
    found: CutIn,
) -> Document:
    """Return the decision; ``asked`` are the plan and the two parts, ``sides`` the names of the revisions."""
    plan, parts = asked
    ask, home = facts.ask, product.head.currency
    return Document(
        key="cut_in",
        title=f"Cut-in of {parts[1]} for {parts[0]}",
        facts=(
            ("product", product.head.id),
            ("from", sides[0]),
            ("to", sides[1]),
            ("plan", plan),
            ("currency", home),
            ("week 0 begins", facts.monday.isoformat()),
            ("units in all", ask.units),
            ("price of a new part", Amount(ask.new_price, 4)),
            ("a new unit costs more beside it", Amount(ask.other, 4)),
            ("sunk", None if facts.unvalued else Amount(ask.sunk)),
            ("cheapest", _name(found.best, facts)),
        ),
        tables=tuple(table for table in (_supply(facts), _rows(found, facts)) if table.rows),
        notes=tuple(_notes(found, facts, home)),
        cautions=(CAUTION,),
    )


def _name(row: Switching, facts: CutInFacts) -> str:
    if row.week is None:
        return "use up"
    return f"switch in week {row.week}, {(facts.monday + dt.timedelta(weeks=row.week)).isoformat()}"


def _supply(facts: CutInFacts) -> Table:
    """Return the weeks in which old parts come or are needed, as if nothing were switched or cancelled."""
    ask = facts.ask
    columns = (
        Column("week", "week", "number"),
        Column("monday", "Monday"),
        Column("units", "units", "number"),
        Column("needed", "old needed", "number"),
        Column("arrives", "arrives", "number"),
        Column("orders", "orders"),
        Column("balance", "balance", "number"),
    )
    rows: list[tuple[Cell, ...]] = []
    balance = ask.stock
    last = max(
        [lot.week or 0 for lot in ask.orders if lot.week is not None] + [len(ask.weeks) - 1], default=-1
    )
    for number in range(last + 1):
        week = ask.weeks[number] if number < len(ask.weeks) else None
        here = [lot for lot in ask.orders if lot.week == number]
        come, needed = (
            sum((lot.qty for lot in here), 0 * ask.stock),
            week.old if week is not None else 0 * ask.stock,
        )
        balance += come - needed
        if here or needed:
            rows.append(
                (
                    number,
                    (facts.monday + dt.timedelta(weeks=number)).isoformat(),
                    week.units if week is not None else 0,
                    Amount(needed, 3, trim=True),
                    Amount(come, 3, trim=True),
                    ", ".join(f"{lot.name} ({_kind(lot.fee is None)})" for lot in here),
                    Amount(balance, 3, trim=True),
                )
            )
    note = f"{quantity(ask.stock)} lie there now; balance as if nothing were switched or cancelled"
    return Table(key="supply", title="Old part by week", columns=columns, rows=rows, notes=(note,))


def _kind(fixed: bool) -> str:  # noqa: FBT001  a fact of the order
    return "fixed" if fixed else "can be cancelled"


def _rows(found: CutIn, facts: CutInFacts) -> Table:
    columns = (
        Column("weeks", "switch in week"),
        Column("old_units", "old units", "number"),
        Column("short", "short of", "number"),
        Column("first_new", "first new", rank=1),
        Column("new_parts", "new parts", "number"),
        Column("other", "other", "number", rank=2),
        Column("orders", "orders", "number"),
        Column("warranty", "warranty", "number", rank=4),
        Column("salvage", "salvage", "number", rank=4),
        Column("total", "= total", "number"),
        Column("left", "left over", "number", rank=3),
        Column("write_off", "write-off", "number"),
        Column("remark", "", rank=5),
    )
    rows = [_cells(group, found, facts) for group in _alike(found.weeks)]
    rows.append(_cells([found.use_up], found, facts))
    return Table(
        key="switching", title="Switch by week, or use up", columns=columns, rows=rows, notes=(_SUNK,)
    )


def _refused(found: CutIn) -> Iterator[str]:
    if any(row.short for row in found.weeks):
        yield "Refused: the old part runs short of so many before the switch, at the worst; the first such week is shown."


def _alike(weeks: Iterable[Switching]) -> Iterator[list[Switching]]:
    """Yield weeks one after the other that say the same but for their number, and those refused in one."""

    def says(row: Switching) -> tuple[object, ...]:
        return ("refused",) if row.short else (row.old_units, row.total, row.left)

    for _, group in itertools.groupby(weeks, key=says):
        yield list(group)


def _cells(group: list[Switching], found: CutIn, facts: CutInFacts) -> tuple[Cell, ...]:
    row = group[0]
    weeks = (
        "use up"
        if row.week is None
        else f"{row.week}"
        if len(group) == 1
        else f"{row.week} to {group[-1].week}"
    )
    if row.short:
        return (weeks, row.old_units, Amount(row.short, 3, trim=True), "refused", *[""] * 8, "refused")
    return (
        weeks,
        row.old_units,
        "",
        _first_new(facts, row.old_units),
        Amount(row.new_parts),
        Amount(row.other),
        Amount(row.orders),
        Amount(row.warranty),
        Amount(row.salvage),
        Amount(row.total),
        Amount(row.left, 3, trim=True),
        None if facts.unvalued else Amount(row.write_off),
        _remark(row, cheapest=row is found.best),
    )


def _first_new(facts: CutInFacts, units: int) -> str:
    place = unit_at(facts, units)
    if place is None:
        return "none"
    build, number, serial = place
    return f"{build} {number}" if serial is None else f"{build} {number}, serial {serial}"


def _remark(row: Switching, *, cheapest: bool) -> str:
    words = ["cheapest"] if cheapest else []
    words += [f"takes {listed(row.taken)}"] if row.taken else []
    words += [f"cancels {listed(row.cancelled)}"] if row.cancelled else []
    return "; ".join(words)


def _notes(found: CutIn, facts: CutInFacts, home: str) -> Iterator[str]:
    if facts.unvalued:
        yield f"not known, so sunk money and write-off are not: {listed(facts.unvalued)}"
    even = found.even
    if even is None:
        yield "using up saves nothing against switching in week 0"
    else:
        ways = [
            f"{money(amount, 4)} {home} more {what}"
            for amount, what in (
                (even.warranty, "warranty on each old unit"),
                (even.salvage, "for each old part left over"),
            )
            if amount is not None
        ]
        equal = f"; both are equal with {', or with '.join(ways)}" if ways else ""
        yield f"using up saves {money(even.saved)} {home} against switching in week 0{equal}"
    yield from _asked(found.ask, home)


def _asked(ask: CutInAsk, home: str) -> Iterator[str]:
    if ask.warranty or ask.salvage:
        yield (
            f"asked with {money(ask.warranty, 4)} {home} extra warranty on an old unit and {money(ask.salvage, 4)} {home} "
            "for an old part left over"
        )
