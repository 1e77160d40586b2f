"""`cash` and `levers` in words: the weeks, the trough, what is needed, and which terms move it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cash import Cash, Moved, exposure
from ferrule.compute.ledger import CashEvent, daily
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.picture import Curve, Floor, Line
from ferrule.report.wording import CAUTION, counted, money

__all__ = ["describe_cash", "describe_levers", "describe_week"]

_ZERO = Fraction(0)
_FINANCE = (
    "A cash view, not a solvency opinion: sales tax, covenants and what a bank may ask are not in it; "
    "have tax, duty and loan figures confirmed."
)


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
        title=f"Will the money last: {_plan_name(product, first.plan)}",
        facts=(
            ("plan", first.plan),
            ("scenario", first.scenario),
            ("state", label),
            ("currency", home),
            *_figures(first),
        ),
        tables=tuple(table for table in tables if table.rows),
        notes=tuple(_notes(found, home)),
        cautions=(_FINANCE, CAUTION),
        pictures=(_balance(found, home),),
    )


def _plan_name(product: Product, plan: str) -> str:
    return product.plans[plan].plan.name or plan


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


def _balance(found: Sequence[tuple[Cash, tuple[str, ...]]], home: str) -> Curve:
    first = found[0][0]
    lines = tuple(
        Line(
            cash.scenario if len(found) > 1 else "",
            tuple((Fraction(week.number), week.balance) for week in cash.ledger.weeks),
        )
        for cash, _ in found
    )
    return Curve(
        title="Balance at the end of each week",
        description="A step line of the balance over the weeks of the plan, with its floor and its lowest point.",
        unit_x="week of the plan",
        unit_y=home,
        lines=lines,
        floor=None if first.floor is None else Floor(first.floor, "floor"),
        lowest="trough",
    )


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
        cautions=(_FINANCE,),
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
        title=f"Which terms to fight for: {_plan_name(product, base.plan)}",
        facts=(
            ("plan", base.plan),
            ("trough as agreed", Amount(base.ledger.trough.balance)),
            ("in week", base.ledger.trough.number),
            ("state", label),
            ("currency", home),
        ),
        tables=tuple(table for table in tables if table.rows),
        notes=tuple(_lever_notes(product, base, singles)),
        cautions=(_FINANCE, CAUTION),
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
