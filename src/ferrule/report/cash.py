"""`cash` in words: whether the money lasts, what is needed at the start, the weeks, and what was asked beside them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.cash import Cash
from ferrule.compute.drawing import Drawn
from ferrule.compute.economics import Breakeven
from ferrule.compute.exposure import AtRates
from ferrule.compute.stopping import StoppedTool
from ferrule.model.product import Product
from ferrule.report.cash_picture import balance_picture
from ferrule.report.cash_tables import (
    beside,
    by_day,
    by_kind,
    by_scenario,
    by_week,
    draws,
    open_currencies,
    restated,
    tools,
)
from ferrule.report.document import Amount, Cell, Document
from ferrule.report.wording import CAUTION, FINANCE, counted, listed, money, plan_name

__all__ = ["Asked", "describe_cash"]

_ZERO = Fraction(0)
_BOUNDS = {
    "exact": "",
    "at most": "some payments are not known: every balance is at most this",
    "at least": "some receipts are not known: every balance is at least this",
    "open": "some payments and some receipts are not known: a balance may be lower or higher than this",
}


class Asked(Struct, frozen=True, kw_only=True):
    """What is asked of the first scenario beside its weeks; None or empty where it is not."""

    breakeven: Breakeven | None = None
    at_rates: AtRates | None = None
    stopped: tuple[tuple[str, Fraction], ...] = ()
    tools: tuple[StoppedTool, ...] = ()
    drawn: Drawn | None = None
    #: The same scenario with every bill paid in full, where discounts are taken.
    in_full: Cash | None = None
    #: Whether funding that is not signed counts.
    hoped: bool = False
    by_day: bool = False
    #: Every row of every table; else rows that say nothing new are left out.
    whole: bool = True


def describe_cash(
    product: Product, found: Sequence[tuple[Cash, tuple[str, ...]]], label: str, asked: Asked
) -> Document:
    """Return the weeks of the first scenario, all scenarios side by side, and what is asked of the first."""
    home = product.head.currency
    first = found[0][0]
    several = len(found) > 1
    tables = [
        *((by_scenario(found), beside([cash for cash, _ in found])) if several else ()),
        *(() if asked.at_rates is None else (restated(asked.at_rates, home, whole=asked.whole),)),
        *(() if not asked.stopped else (tools(asked.stopped, asked.tools),)),
        *(() if asked.drawn is None else (draws(asked.drawn),)),
        *((by_day(first),) if asked.by_day else ()),
        *((by_week(first),) if asked.whole or not (several or asked.by_day) else ()),
        *((by_kind(first),) if asked.whole or not several else ()),
        open_currencies(first, home),
    ]
    return Document(
        key="cash",
        title=_verdict(first, asked),
        facts=(
            ("plan", first.plan),
            *plan_name(product, first.plan),
            ("scenario", first.scenario),
            ("state", label),
            ("currency", home),
            *_figures(first, asked),
        ),
        tables=tuple(table for table in tables if table.rows),
        notes=tuple(_notes(found, home, asked)),
        cautions=(FINANCE, CAUTION),
        pictures=(balance_picture([cash for cash, _ in found], home),),
    )


def _verdict(cash: Cash, asked: Asked) -> str:
    """Return whether the money lasts, in a sentence."""
    book, floor, drawn = cash.ledger, cash.floor or _ZERO, asked.drawn
    trough = book.trough
    bound = {"exact": "", "at most": "at most ", "at least": "at least ", "open": "as far as known "}[
        book.bound
    ]
    lowest = f"{bound}{money(trough.balance)} in week {trough.number}, from {trough.monday}"
    limit = "zero" if cash.floor is None else f"the floor of {money(floor)}"
    if not cash.opening_known:
        return f"The plan needs {money(cash.needed)} at the start and states no opening cash; lowest {lowest}"
    given = [f"up to {money(drawn.most_drawn)} drawn"] if drawn is not None and drawn.draws else []
    given += [f"{money(cash.hoped)} that is only hoped for"] if asked.hoped and cash.hoped else []
    with_line = f" with {listed(given)}" if given else ""
    if trough.balance < floor:
        short = money(floor - trough.balance)
        return f"The money does not last{with_line}: {lowest}, {short} below {limit}"
    above = "exactly" if trough.balance == floor else f"{money(trough.balance - floor)} above"
    low = book.pay_first_low
    doubt = "" if book.bound in {"exact", "at least"} else ", if nothing that is not known takes it"
    if low.low < floor and not given:
        doubt += f"; if payments leave before receipts land it is {money(low.low)} in week {low.number}"
    return f"The money lasts{with_line}: lowest {lowest}, {above} {limit}{doubt}"


def _figures(cash: Cash, asked: Asked) -> Iterator[tuple[str, Cell]]:
    book = cash.ledger
    below = book.first_below(cash.floor or _ZERO)
    low = book.pay_first_low
    yield "opening", Amount(book.opening) if cash.opening_known else None
    yield "trough", Amount(book.trough.balance)
    yield "trough week", book.trough.number
    yield "floor", "none stated" if cash.floor is None else Amount(cash.floor)
    needed = cash.needed if asked.drawn is None else asked.drawn.before.needed(cash.floor or _ZERO)
    yield "needed at the start", Amount(needed)
    yield "first week below the floor", "never" if below is None else below.number
    yield "lowest if payments leave first", Amount(low.low)
    yield "week of that low", low.number
    yield "money back for good in week", "never" if book.breakeven is None else book.breakeven.number
    yield from _sales(cash, asked.breakeven)
    yield "ending", Amount(book.ending)
    yield "profit of the plan", Amount(book.profit)
    yield "capital deployed", Amount(book.deployed, 0)
    if asked.in_full is not None:
        full = asked.in_full.ledger
        taken = book if asked.drawn is None else asked.drawn.before
        yield "saved by discounts", Amount(taken.profit - full.profit)
        yield "trough without discounts", Amount(full.trough.balance)
    yield from _lines(asked.drawn)
    if asked.at_rates is not None:
        yield "at the rate", ", ".join(str(each) for each in asked.at_rates.exchanges)
        yield "trough at that rate", Amount(asked.at_rates.ledger.trough.balance)
        yield "its week", asked.at_rates.ledger.trough.number
        yield "profit at that rate", Amount(asked.at_rates.ledger.profit)


def _sales(cash: Cash, even: Breakeven | None) -> Iterator[tuple[str, Cell]]:
    """Yield the quantity that pays for what is spent once, and the week in which sales reach it."""
    if even is None:
        return
    if even.quantity is None:
        yield (
            "breakeven quantity",
            "not known" if even.contribution is None else "none: a unit leaves nothing",
        )
        return
    yield "breakeven quantity", Amount(Fraction(even.quantity), 0)
    first = cash.ledger.weeks[0].monday
    yield "sales reach it in week", "never" if even.week is None else (even.week - first).days // 7


def _lines(drawn: Drawn | None) -> Iterator[tuple[str, Cell]]:
    if drawn is None:
        return
    yield "trough without drawing", Amount(drawn.before.trough.balance)
    yield "most drawn", Amount(drawn.most_drawn)
    yield "interest on it", None if drawn.unknown else Amount(drawn.interest)
    yield "still drawn at the end", Amount(drawn.still_open)


def _notes(found: Sequence[tuple[Cash, tuple[str, ...]]], home: str, asked: Asked) -> Iterator[str]:
    cash = found[0][0]
    book = cash.ledger
    yield (
        "needed at the start keeps every week at the floor; capital deployed is weeks times what the balance lies "
        "below the opening"
    )
    yield from _breakeven_notes(asked.breakeven, home)
    if not cash.opening_known:
        yield "the plan states no opening cash: balances start at zero and are what is missing"
    if book.before:
        paid = -sum((event.amount or _ZERO for event in book.before), _ZERO)
        count = counted(len(book.before), "payment")
        yield f"paid before the plan starts and in no week: {money(paid)} {home}, {count}"
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
        counts = "counted" if asked.hoped else "not counted"
        yield f"hoped for and {counts}: {money(cash.hoped)} {home} of funding that is not signed"
    if (
        asked.in_full is not None
        and asked.in_full.ledger.events == (asked.drawn.before if asked.drawn else book).events
    ):
        yield "no bill of the plan offers a discount that can still be taken"
    if asked.drawn is not None:
        yield from _drawing_notes(asked.drawn, home)
    if len(found) > 1 and not asked.whole:
        yield f"--table weeks and --table kinds show the weeks of {cash.scenario} and where its money goes"
    yield from (f"not known, in no week: {words}" for words in cash.unknown)
    if _BOUNDS[book.bound]:
        yield _BOUNDS[book.bound]


def _breakeven_notes(even: Breakeven | None, home: str) -> Iterator[str]:
    if even is None:
        return
    if even.quantity is not None and even.contribution is not None:
        yield (
            f"breakeven quantity: {money(even.fixed)} {home} spent once or by the calendar, over {money(even.contribution)} "
            f"that a unit leaves; {even.units:,} are sold in all. It asks when sales have paid for that; money "
            "back for good asks when the bank has it back"
        )
    yield from (f"not known, for the breakeven quantity: {words}" for words in even.unknown)


def _drawing_notes(drawn: Drawn, home: str) -> Iterator[str]:
    yield (
        "lines are drawn on to keep every day at the floor, the cheapest first, and paid back as soon as there is more; "
        "interest by the day, paid at month's end; fees are in the plan whether or not they are drawn on"
    )
    if drawn.short:
        yield f"the lines do not reach: {money(drawn.short)} {home} are missing at worst"
    if drawn.still_open:
        yield f"{money(drawn.still_open)} {home} of the ending are lent"
