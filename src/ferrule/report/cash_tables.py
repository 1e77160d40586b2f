"""The tables of `cash`: weeks, days, kinds, scenarios side by side, other currencies, tools when stopping, draws."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.cash import Cash, exposure
from ferrule.compute.drawing import Drawn
from ferrule.compute.exposure import AtRates, RestatedWeek
from ferrule.compute.ledger import daily
from ferrule.compute.stopping import StoppedTool
from ferrule.report.document import Amount, Column, Table
from ferrule.report.wording import counted, money, quantity

__all__ = [
    "beside",
    "by_day",
    "by_kind",
    "by_scenario",
    "by_week",
    "draws",
    "open_currencies",
    "restated",
    "tools",
]

_ZERO = Fraction(0)
_DOCUMENTS = 3


def by_week(cash: Cash) -> Table:
    """Return the weeks of a plan, with what each kind of payment makes of them."""
    kinds = sorted({kind for week in cash.ledger.weeks for kind in week.kinds})
    columns = (
        Column("week", "week", "number"),
        Column("monday", "from"),
        Column("income", "in", "number"),
        Column("outgo", "out", "number"),
        Column("net", "net", "number", rank=1),
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
            Amount(week.net),
            Amount(week.balance),
            Amount(week.low),
            *(Amount(week.kinds[kind]) if kind in week.kinds else "" for kind in kinds),
            "; ".join(_marks(cash, week.number, week.balance)),
        )
        for week in cash.ledger.weeks
    ]
    return Table(key="weeks", title="Week by week", columns=columns, rows=rows)


def _marks(cash: Cash, number: int, balance: Fraction) -> Iterator[str]:
    if number == cash.ledger.trough.number:
        yield "trough"
    yield from _under(cash, balance)


def _under(cash: Cash, balance: Fraction) -> Iterator[str]:
    if cash.floor is not None and balance < cash.floor:
        yield "below the floor"
    elif balance < 0:
        yield "below zero"


def _key(kind: str) -> str:
    return "".join(letter if letter.isalnum() else "_" for letter in kind)


def by_day(cash: Cash) -> Table:
    """Return the days on which something moves, and what."""
    documents: dict[str, list[str]] = {}
    for event in cash.ledger.events:
        if event.day is not None:
            names = documents.setdefault(event.day.isoformat(), [])
            names += [event.document] if event.document not in names else []
    columns = (
        Column("day", "day"),
        Column("net", "net", "number"),
        Column("balance", "balance", "number"),
        Column("mark", ""),
        Column("documents", "what", rank=1),
    )
    rows = [
        (
            day.isoformat(),
            Amount(net),
            Amount(balance),
            "; ".join(_under(cash, balance)),
            _some(documents.get(day.isoformat(), [])),
        )
        for day, net, balance in daily(cash.ledger)
    ]
    return Table(key="days", title="Day by day", columns=columns, rows=rows)


def _some(names: Sequence[str]) -> str:
    more = len(names) - _DOCUMENTS
    return "; ".join([*names[:_DOCUMENTS], *([f"{more} more"] if more > 0 else [])])


def by_kind(cash: Cash) -> Table:
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


def by_scenario(found: Sequence[tuple[Cash, tuple[str, ...]]]) -> Table:
    """Return scenarios side by side with what each changes, the first being the measure."""
    base = found[0][0]
    columns = (
        Column("scenario", "scenario"),
        Column("trough", "trough", "number"),
        Column("trough_week", "week", "number"),
        Column("change", "+/-", "number"),
        Column("needed", "needed", "number", rank=1),
        Column("ending", "ending", "number", rank=3),
        Column("ending_change", "+/-", "number", rank=4),
        Column("profit", "profit", "number"),
        Column("profit_change", "+/-", "number", rank=2),
        Column("mark", ""),
    )
    rows = [
        (
            cash.scenario,
            Amount(cash.ledger.trough.balance),
            cash.ledger.trough.number,
            Amount(cash.ledger.trough.balance - base.ledger.trough.balance),
            Amount(cash.needed),
            Amount(cash.ledger.ending),
            Amount(cash.ledger.ending - base.ledger.ending),
            Amount(cash.ledger.profit),
            Amount(cash.ledger.profit - base.ledger.profit),
            "; ".join(_under(cash, cash.ledger.trough.balance)),
        )
        for cash, _ in found
    ]
    notes = [f"+/-: against {base.scenario}"]
    notes += [f"{cash.scenario}: {words}" for cash, changes in found for words in changes]
    return Table(key="scenarios", title="Side by side", columns=columns, rows=rows, notes=tuple(notes))


def beside(found: Sequence[Cash]) -> Table:
    """Return the balances of scenarios week by week, each with its difference to the first."""
    first, others = found[0], found[1:]
    columns = (
        Column("week", "week", "number"),
        Column("monday", "from", rank=1),
        Column(f"balance_{_key(first.scenario)}", first.scenario, "number"),
        *(
            column
            for number, cash in enumerate(others)
            for column in (
                Column(f"balance_{_key(cash.scenario)}", cash.scenario, "number", rank=2 + 2 * number),
                Column(f"change_{_key(cash.scenario)}", "+/-", "number", rank=3 + 2 * number),
            )
        ),
    )
    rows = [
        (
            week.number,
            week.monday.isoformat(),
            Amount(week.balance),
            *(cell for cash in others for cell in _beside(cash, week.number, week.balance)),
        )
        for week in first.ledger.weeks
    ]
    return Table(key="balances", title="Balances side by side", columns=columns, rows=rows)


def _beside(cash: Cash, number: int, balance: Fraction) -> tuple[Amount | str, Amount | str]:
    if number >= len(cash.ledger.weeks):
        return "", ""
    other = cash.ledger.weeks[number].balance
    return Amount(other), Amount(other - balance)


def open_currencies(cash: Cash, home: str) -> Table:
    """Return what is still to come in and to go out in other currencies, and what it is worth at home."""
    columns = (
        Column("currency", "currency"),
        Column("income", "to come in", "number"),
        Column("outgo", "to go out", "number"),
        Column("net", "open", "number"),
        Column("home", f"in {home}", "number"),
    )
    worth: dict[str, Fraction | None] = {}
    for event in cash.ledger.events:
        so_far = worth.get(event.currency, _ZERO)
        worth[event.currency] = None if so_far is None or event.amount is None else so_far + event.amount
    rows = [
        (currency, Amount(income), Amount(outgo), Amount(income - outgo), _known(worth[currency]))
        for currency, income, outgo in exposure(cash.ledger, home)
    ]
    note = "a move of a rate by one percent moves one percent of what is open; --rate shows another rate week by week"
    return Table(
        key="currencies", title="Open in other currencies", columns=columns, rows=rows, notes=(note,)
    )


def _known(amount: Fraction | None) -> Amount | None:
    return None if amount is None else Amount(amount)


def restated(found: AtRates, home: str, *, whole: bool) -> Table:
    """Return what is open by currency and week at the stated and at the other rate; not whole, the weeks that differ."""
    columns = (
        Column("currency", "currency"),
        Column("week", "week", "number"),
        Column("monday", "from", rank=1),
        Column("income", "to come in", "number", rank=2),
        Column("outgo", "to go out", "number", rank=2),
        Column("open", "open", "number"),
        Column("stated", f"{home} as stated", "number"),
        Column("restated", f"{home} then", "number"),
        Column("change", "+/-", "number"),
    )
    kept = list(found.weeks) if whole else list(_that_differ(found.weeks))
    rows = [
        (
            each.open.currency,
            each.open.number,
            each.open.monday.isoformat(),
            Amount(each.open.income),
            Amount(each.open.outgo),
            Amount(each.open.net),
            _known(each.stated),
            Amount(each.restated),
            _known(each.change),
        )
        for each in kept
    ]
    rates = ", ".join(map(str, found.exchanges))
    notes = [f"open: not yet paid when the week begins, receipts set off; then: at {rates}"]
    notes.append(
        "duty and tax on what is dearer do not follow here; a scenario that sets the rate works all of it out"
    )
    if len(kept) < len(found.weeks):
        notes.append(f"{counted(len(found.weeks) - len(kept), 'week')} without a change not shown")
    return Table(
        key="restated", title="Open by week at another rate", columns=columns, rows=rows, notes=tuple(notes)
    )


def _that_differ(weeks: Sequence[RestatedWeek]) -> Iterator[RestatedWeek]:
    before: tuple[object, ...] = ()
    for each in weeks:
        now = (each.open.currency, each.open.income, each.open.outgo)
        if now != before:
            yield each
        before = now


def tools(stopped: Sequence[tuple[str, Fraction]], found: Sequence[StoppedTool]) -> Table:
    """Return what tools have not earned back when building stops."""
    columns = (
        Column("tool", "tool"),
        Column("name", "name", rank=2),
        Column("amount", "paid", "number"),
        Column("over", "over pieces", "number", rank=1),
        Column("planned", "planned each", "number"),
        Column("made", "made", "number"),
        Column("true", "true each", "number"),
        Column("open", "not earned back", "number"),
    )
    rows = [
        (
            each.number,
            each.name,
            _known(each.amount),
            Amount(each.over, 0) if each.over else "-",
            "-" if not each.over else _known(each.planned),
            Amount(each.made, 0),
            "-" if not each.made else _known(each.true),
            _known(each.open),
        )
        for each in found
    ]
    at = ", ".join(f"{quantity(qty)} {sku}" for sku, qty in stopped)
    known = sum((each.open or _ZERO for each in found), _ZERO)
    at_least = "at least " if any(each.open is None for each in found) else ""
    return Table(
        key="tools",
        title=f"If building stops at {at}",
        columns=columns,
        rows=rows,
        notes=(
            f"not earned back in all: {at_least}{money(known)}; what is spread over no pieces earns nothing back",
        ),
    )


def draws(found: Drawn) -> Table:
    """Return every movement of the plan's lines of credit."""
    columns = (
        Column("day", "day"),
        Column("line", "line"),
        Column("amount", "drawn (- paid back)", "number"),
        Column("interest", "interest paid", "number"),
        Column("open", "then drawn", "number"),
    )
    rows = [
        (each.day.isoformat(), each.line, Amount(each.amount), Amount(each.interest), Amount(each.open))
        for each in found.draws
    ]
    return Table(key="draws", title="Lines of credit", columns=columns, rows=rows)
