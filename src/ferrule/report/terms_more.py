"""`terms` in words where nothing is offered: money tied up, other terms in return, money back, the cash cycle."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.credit import Between, Terms
from ferrule.compute.money_time import Cycle, InReturn, PaidBack, TiedUp
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.terms import CAUTIONS, YEARLY, compounded, in_percent, span_words
from ferrule.report.wording import money, percent, quantity

__all__ = ["describe_carrying", "describe_cycle", "describe_payback", "describe_swap"]

_NO_PRICE = "what money costs is not stated: --rate, --cash-binds or --plan"
_PRICE = (Column("price", "if"), Column("rate", YEARLY, "number"))


def describe_carrying(found: TiedUp, currency: str) -> Document:
    """Return what money tied up costs."""
    rows = [
        (price.words, in_percent(rate), Amount(cost), in_percent(cost / found.paid))
        for price, rate, cost in found.costs
    ]
    columns = (*_PRICE, Column("cost", "it costs", "number"), Column("share", "% of it", "number"))
    return Document(
        key="terms_carrying",
        title=f"{money(found.paid)} tied up for {span_words(found.span, found.year)}",
        facts=(("amount really paid", Amount(found.paid)), ("currency", currency or "as stated")),
        tables=_shown(Table(key="carrying", columns=columns, rows=rows)),
        notes=(
            *(() if rows else (_NO_PRICE,)),
            "what it costs to keep money in stock; that stock grows old and loses value comes on top",
        ),
        cautions=CAUTIONS,
    )


def describe_swap(found: InReturn, currency: str) -> Document:
    """Return what to ask for in return for other terms, each alone."""
    columns = (
        *_PRICE,
        Column("worse", "asked costs more", "number"),
        Column("price_then", "same at a price of", "number"),
        Column("change", "price change, %", "number", rank=1),
        Column("lag", "or the rest after, days", "number"),
        Column("deposit", "or a deposit of, %", "number"),
    )
    rows = [
        (
            price.words,
            in_percent(rate),
            Amount(each.worse),
            Amount(each.price),
            in_percent(each.price / found.asked.price - 1),
            "none" if each.lag is None else Amount(each.lag, 1),
            "none" if each.deposit is None else in_percent(each.deposit),
        )
        for price, rate, each in found.answers
    ]
    return Document(
        key="terms_swap",
        title="They ask for other terms: what is worth the same",
        facts=(
            ("agreed", _terms_words(found.agreed, found.year)),
            ("asked", _terms_words(found.asked, found.year)),
            ("currency", currency or "as stated"),
        ),
        tables=_shown(Table(key="in_return", columns=columns, rows=rows)),
        notes=(
            *(() if rows else (_NO_PRICE,)),
            "amounts on the day of the order; each change alone makes the asked terms worth the agreed ones, none: it cannot",
        ),
        cautions=CAUTIONS,
    )


def _terms_words(terms: Terms, year: Fraction) -> str:
    (deposit, _), (balance, lag) = terms.parts
    rest = f"{percent(balance, 2)} after {span_words(lag, year)}"
    first = f"{percent(deposit, 2)} with the order, " if deposit else ""
    return f"{money(terms.price)}: {first}{rest}"


def describe_payback(found: PaidBack, currency: str) -> Document:
    """Return when money spent is back, what it earns a year and what it is worth now."""
    columns = (*_PRICE, Column("value", "worth now", "number"), Column("answer", "so"))
    rows = [
        (price.words, in_percent(rate), Amount(value), _spend(value)) for price, rate, value in found.worth
    ]
    return Document(
        key="terms_payback",
        title=f"Spending {money(-found.flows[0])} to get {money(sum(found.flows[1:], Fraction(0)))} back",
        facts=(
            (
                f"{found.every}s until the money is back",
                "never" if found.after is None else Amount(found.after, 3),
            ),
            *_returns(found),
            ("currency", currency or "as stated"),
        ),
        tables=_shown(Table(key="worth", columns=columns, rows=rows)),
        notes=tuple(_payback_notes(found)),
        cautions=CAUTIONS,
    )


def _spend(value: Fraction) -> str:
    return "spend it" if value > 0 else "keep it" if value < 0 else "either"


def _returns(found: PaidBack) -> Iterator[tuple[str, Cell]]:
    if len(found.rates) != 1:
        return
    (rate,) = found.rates
    yield "percent a year simple", in_percent(rate.near * found.periods)
    grown = Between((1 + rate.low) ** found.periods - 1, (1 + rate.high) ** found.periods - 1)
    yield "percent a year compounded", compounded(grown)


def _payback_notes(found: PaidBack) -> Iterator[str]:
    if not found.rates:
        yield "no rate makes the money worth nothing: what it earns cannot be said"
    elif len(found.rates) > 1:
        rates = ", ".join(percent(rate.near * found.periods, 2) for rate in found.rates)
        yield f"money goes out and in more than once, so that several yearly rates fit ({rates}): go by what it is worth now"
    if not found.worth:
        yield _NO_PRICE
    yield f"within a {found.every} money comes evenly; after the day it is back nothing is looked at"


def describe_cycle(found: Cycle, currency: str) -> Document:
    """Return the days money is under way."""
    return Document(
        key="terms_cycle",
        title=f"Money is under way for {quantity(found.days, 1)} days",
        facts=(
            ("days stock lies", Amount(found.stock, 1)),
            ("days customers take", Amount(found.customers, 1)),
            ("days suppliers wait", Amount(found.suppliers, 1)),
            ("days under way", Amount(found.days, 1)),
            ("currency", currency or "as stated"),
        ),
        notes=("stock and what is owed to suppliers by the cost of goods, what customers owe by sales",),
        cautions=CAUTIONS,
    )


def _shown(table: Table) -> tuple[Table, ...]:
    return (table,) if table.rows else ()
