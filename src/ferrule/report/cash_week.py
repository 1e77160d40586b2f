"""One week of a plan's money in words: every payment with its reason."""

from __future__ import annotations

from fractions import Fraction

from ferrule.compute.cash import Cash
from ferrule.compute.ledger import CashEvent
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import FINANCE, money

__all__ = ["describe_week"]

_ZERO = Fraction(0)


def describe_week(product: Product, cash: Cash, number: int, label: str) -> Document | None:
    """Return every payment of a week with its reason; None where the plan has no such week."""
    if not 0 <= number < len(cash.ledger.weeks):
        return None
    week = cash.ledger.weeks[number]
    events = [event for event in cash.ledger.events if _is_in(event, week.monday.toordinal())]
    columns = (
        Column("day", "day"),
        Column("amount", "amount", "number"),
        Column("own", "own", "number", rank=1),
        Column("own_currency", "", rank=1),
        Column("kind", "kind", rank=3),
        Column("document", "document"),
        Column("other", "with", rank=2),
        Column("terms", "terms"),
        Column("reason", "reason", rank=4),
    )
    rows = [_event_row(product, event) for event in events]
    return Document(
        key="cash_week",
        title=f"Week {number}, from {week.monday}: {money(week.income)} in, {money(week.outgo)} out",
        facts=(
            ("plan", cash.plan),
            ("scenario", cash.scenario),
            ("balance", Amount(week.balance)),
            ("state", label),
            ("currency", product.head.currency),
        ),
        tables=(Table(key="payments", columns=columns, rows=rows),),
        cautions=(FINANCE,),
    )


def _is_in(event: CashEvent, monday: int) -> bool:
    return event.day is not None and monday <= event.day.toordinal() < monday + 7


def _event_row(product: Product, event: CashEvent) -> tuple[Cell, ...]:
    foreign = event.currency != product.head.currency and event.own is not None
    return (
        event.day.isoformat() if event.day is not None else None,
        None if event.amount is None else Amount(event.amount),
        Amount(event.own) if foreign and event.own is not None else "",
        event.currency if foreign else "",
        event.kind,
        event.document,
        event.payer if (event.amount or _ZERO) > 0 else event.payee,
        event.words,
        event.reason,
    )
