"""`cash` in words: the weeks, the trough, what is needed at the start, and what it is spent on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cash import Cash, exposure
from ferrule.compute.ledger import daily
from ferrule.model.product import Product
from ferrule.report.cash_picture import balance_picture
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, FINANCE, counted, money, plan_name

__all__ = ["describe_cash"]

_ZERO = Fraction(0)


def describe_cash(
    product: Product,
    found: Sequence[tuple[Cash, tuple[str, ...]]],
    label: str,
    *,
    by_day: bool = False,
) -> Document:
    """Return the weeks of the first scenario, and all scenarios side by side."""
    home = product.head.currency
    first = found[0][0]
    tables = [_scenarios(found)] if len(found) > 1 else []
    tables += [_days(first) if by_day else _weeks(first), _kinds(first), _currencies(first, home)]
    return Document(
        key="cash",
        title=f"Will the money last: {plan_name(product, first.plan)}",
        facts=(
            ("plan", first.plan),
            ("scenario", first.scenario),
            ("state", label),
            ("currency", home),
            *_figures(first),
        ),
        tables=tuple(table for table in tables if table.rows),
        notes=tuple(_notes(found, home)),
        cautions=(FINANCE, CAUTION),
        pictures=(balance_picture([cash for cash, _ in found], home),),
    )


def _figures(cash: Cash) -> Iterator[tuple[str, Cell]]:
    book = cash.ledger
    yield "opening", Amount(book.opening) if cash.opening_known else None
    yield "trough", Amount(book.trough.balance)
    yield "trough week", book.trough.number
    yield "floor", "none stated" if cash.floor is None else Amount(cash.floor)
    yield "needed at the start", Amount(cash.needed)
    below = book.first_below(cash.floor or _ZERO)
    yield "first week below the floor", "never" if below is None else below.number
    yield "lowest if payments leave first", Amount(book.pay_first_low.low)
    yield "money back for good in week", "never" if book.breakeven is None else book.breakeven.number
    yield "ending", Amount(book.ending)
    yield "profit of the plan", Amount(book.profit)
    yield "money times weeks deployed", Amount(book.deployed, 0)


def _weeks(cash: Cash) -> Table:
    kinds = sorted({kind for week in cash.ledger.weeks for kind in week.kinds})
    columns = (
        Column("week", "week", "number"),
        Column("monday", "from"),
        Column("income", "in", "number"),
        Column("outgo", "out", "number"),
        Column("net", "net", "number"),
        Column("balance", "balance", "number"),
        Column("low", "pay-first low", "number", rank=1),
        *(
            Column(f"kind_{_key(kind)}", kind, "number", rank=20 - number)
            for number, kind in enumerate(kinds[:18])
        ),
        *(Column(f"kind_{_key(kind)}", kind, "number", rank=2) for kind in kinds[18:]),
        Column("mark", ""),
    )
    rows = [
        (
            week.number,
            week.monday.isoformat(),
            Amount(week.income),
            Amount(week.outgo),
            Amount(week.income - week.outgo),
            Amount(week.balance),
            Amount(week.low),
            *(Amount(week.kinds[kind]) if kind in week.kinds else "" for kind in kinds),
            "; ".join(_marks(cash, week.number, week.balance)),
        )
        for week in cash.ledger.weeks
    ]
    return Table(key="weeks", title="Week by week", columns=columns, rows=rows)


def _kinds(cash: Cash) -> Table:
    """Return where the money goes until the trough and over the whole plan, the largest first."""
    sums: dict[str, list[Fraction]] = {}
    for week in cash.ledger.weeks:
        for kind, amount in week.kinds.items():
            pair = sums.setdefault(kind, [_ZERO, _ZERO])
            pair[1] += amount
            if week.number <= cash.ledger.trough.number:
                pair[0] += amount
    columns = (
        Column("kind", "kind"),
        Column("until_trough", "until the trough", "number"),
        Column("plan", "in the plan", "number"),
    )
    order = sorted(sums, key=lambda kind: (sums[kind][0], sums[kind][1], kind))
    rows = [(kind, Amount(sums[kind][0]), Amount(sums[kind][1])) for kind in order]
    return Table(key="kinds", title="Where it goes", columns=columns, rows=rows)


def _key(kind: str) -> str:
    return "".join(letter if letter.isalnum() else "_" for letter in kind)


def _marks(cash: Cash, number: int, balance: Fraction) -> Iterator[str]:
    if number == cash.ledger.trough.number:
        yield "trough"
    if cash.floor is not None and balance < cash.floor:
        yield "below the floor"
    elif balance < 0:
        yield "below zero"


def _days(cash: Cash) -> Table:
    columns = (Column("day", "day"), Column("net", "net", "number"), Column("balance", "balance", "number"))
    rows = [(day.isoformat(), Amount(net), Amount(balance)) for day, net, balance in daily(cash.ledger)]
    return Table(key="days", title="Day by day", columns=columns, rows=rows)


def _scenarios(found: Sequence[tuple[Cash, tuple[str, ...]]]) -> Table:
    base = found[0][0].ledger
    columns = (
        Column("scenario", "scenario"),
        Column("trough", "trough", "number"),
        Column("trough_week", "week", "number"),
        Column("change", "against first", "number"),
        Column("needed", "needed", "number", rank=1),
        Column("ending", "ending", "number", rank=2),
        Column("profit", "profit", "number"),
        Column("profit_change", "against first", "number", rank=3),
    )
    rows = [
        (
            cash.scenario,
            Amount(cash.ledger.trough.balance),
            cash.ledger.trough.number,
            Amount(cash.ledger.trough.balance - base.trough.balance),
            Amount(cash.needed),
            Amount(cash.ledger.ending),
            Amount(cash.ledger.profit),
            Amount(cash.ledger.profit - base.profit),
        )
        for cash, _ in found
    ]
    notes = tuple(f"{cash.scenario}: {words}" for cash, changes in found for words in changes)
    return Table(key="scenarios", title="Side by side", columns=columns, rows=rows, notes=notes)


def _currencies(cash: Cash, home: str) -> Table:
    columns = (
        Column("currency", "currency"),
        Column("income", "to come in", "number"),
        Column("outgo", "to go out", "number"),
        Column("net", "open", "number"),
    )
    rows = [
        (currency, Amount(income), Amount(outgo), Amount(income - outgo))
        for currency, income, outgo in exposure(cash.ledger, home)
    ]
    note = "a move of a rate by one percent moves one percent of what is open"
    return Table(
        key="currencies", title="Open in other currencies", columns=columns, rows=rows, notes=(note,)
    )


def _notes(found: Sequence[tuple[Cash, tuple[str, ...]]], home: str) -> Iterator[str]:
    cash = found[0][0]
    book = cash.ledger
    if not cash.opening_known:
        yield "the plan states no opening cash: balances start at zero and are what is missing"
    if book.before:
        paid = -sum((event.amount or _ZERO for event in book.before), _ZERO)
        yield f"paid before the plan starts and in no week: {money(paid)} {home}, {counted(len(book.before), 'payment')}"
    for each in (each for each, _ in found if each.moved):
        words = ("less", "higher") if each.moved > 0 else ("more", "lower")
        yield (
            f"{each.scenario}: {money(abs(each.moved))} {home} {words[0]} than as agreed is paid before the plan"
            f" starts, so the opening is that much {words[1]}"
        )
    if book.after:
        rest = sum((event.amount or _ZERO for event in book.after), _ZERO)
        yield f"after its end: {money(rest)} {home} net, {counted(len(book.after), 'payment')}, counted in the profit"
    if cash.hoped:
        yield f"hoped for and not counted: {money(cash.hoped)} {home} of funding that is not signed"
    yield from (f"not known, in no week: {words}" for words in cash.unknown)
    if book.unknown:
        yield "with payments unknown the balance is at most this"
