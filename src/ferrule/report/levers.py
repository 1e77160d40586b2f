"""`levers` in words: which terms to fight for, what each would free, and why some free nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cash import Cash, Moved
from ferrule.model.product import Product
from ferrule.report.document import Amount, Column, Document, Table
from ferrule.report.wording import CAUTION, FINANCE, money, plan_name

__all__ = ["describe_levers"]

_ZERO = Fraction(0)


def describe_levers(product: Product, base: Cash, moved: Sequence[Moved], label: str, *, by: str) -> Document:
    """Return the levers by what they free, or by what a thousand freed costs; pairs and all below."""
    singles = sorted((each for each in moved if len(each.names) == 1), key=_ranking(by))
    pairs = sorted((each for each in moved if len(each.names) == 2), key=_ranking(by))[:12]
    everything = [each for each in moved if len(each.names) > 2]
    home = product.head.currency
    tables = (
        _lever_table("levers", "One by one", singles, pairs=False),
        _lever_table("pairs", "In pairs, the best", pairs, pairs=True),
        _lever_table("all", "All together", everything, pairs=True),
    )
    return Document(
        key="levers",
        title=f"Which terms to fight for: {plan_name(product, base.plan)}",
        facts=(
            ("plan", base.plan),
            ("trough as agreed", Amount(base.ledger.trough.balance)),
            ("in week", base.ledger.trough.number),
            ("state", label),
            ("currency", home),
        ),
        tables=tuple(table for table in tables if table.rows),
        notes=tuple(_lever_notes(product, base, singles)),
        cautions=(FINANCE, CAUTION),
    )


def _ranking(by: str) -> Callable[[Moved], tuple[object, ...]]:
    def key(each: Moved) -> tuple[object, ...]:
        cost = each.cost_per_thousand
        if by == "cost":
            return (cost is None, cost or _ZERO, -each.freed, each.names)
        return (-each.freed, -each.profit, each.names)

    return key


def _lever_table(key: str, title: str, moved: Sequence[Moved], *, pairs: bool) -> Table:
    columns = (
        Column("lever", "lever"),
        Column("freed", "freed", "number"),
        *((Column("sum", "singles add to", "number", rank=2),) if pairs else ()),
        Column("trough", "trough", "number", rank=3),
        Column("week", "week", "number"),
        Column("profit", "profit", "number"),
        Column("per_thousand", "cost per 1,000", "number"),
        Column("pay_first", "pay-first low", "number", rank=1),
    )
    rows = [
        (
            " + ".join(each.names) if len(each.names) < 3 else f"all {len(each.names)}",
            Amount(each.freed),
            *((Amount(each.add),) if pairs else ()),
            Amount(each.cash.ledger.trough.balance),
            each.cash.ledger.trough.number,
            Amount(each.profit),
            "-" if each.cost_per_thousand is None else Amount(each.cost_per_thousand),
            Amount(each.cash.ledger.pay_first_low.low),
        )
        for each in moved
    ]
    return Table(key=key, title=title, columns=columns, rows=rows)


def _lever_notes(product: Product, base: Cash, singles: Sequence[Moved]) -> Iterator[str]:
    plan = product.plans[base.plan]
    for each in singles:
        lever = plan.lever[each.names[0]]
        note = f" ({lever.note})" if lever.note else ""
        yield f"{each.names[0]}{note}: {'; '.join(each.words)}"
    for each in singles:
        if each.freed <= 0:
            yield f"{each.names[0]} frees nothing: {_why_nothing(base, each)}"


def _why_nothing(base: Cash, each: Moved) -> str:
    """Return what a worthless lever does move, and why that does not help."""
    changes = [
        (after.number, (after.income - after.outgo) - (before.income - before.outgo))
        for before, after in zip(base.ledger.weeks, each.cash.ledger.weeks, strict=True)
    ]
    moved = [(number, change) for number, change in changes if change]
    trough = base.ledger.trough.number
    if not moved:
        return "no payment of the plan moves"
    largest = max(moved, key=lambda pair: (abs(pair[1]), -pair[0]))
    others = [pair for pair in moved if pair[1] * largest[1] < 0]
    other = max(others, key=lambda pair: (abs(pair[1]), -pair[0]))[0] if others else None
    side = "" if other is None else f" to week {other}" if largest[1] > 0 else f" from week {other}"
    sense = "out of" if largest[1] > 0 else "into"
    return f"it moves {money(abs(largest[1]))} {sense} week {largest[0]}{side}; the trough is week {trough}"
