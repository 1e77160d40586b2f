"""From dated payments to weeks: balance, trough, what is needed, and when the money is back.

Exact, in the home currency. Weeks start on Monday and are numbered from the plan's start; the horizon is inclusive.
A trough read from months hides the gap between two payments; one read from weeks does not. What is still open in
another currency stands beside it, and the same payments at another rate.
"""

from __future__ import annotations

import datetime as dt
import functools
import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Literal

from msgspec import Struct, structs

from ferrule.compute.rates import Rates
from ferrule.model.exact import total
from ferrule.model.exchange import Exchange
from ferrule.model.records.firms import Rate

__all__ = [
    "Bound",
    "CashEvent",
    "Early",
    "Ledger",
    "NoWeek",
    "OpenWeek",
    "WeekRow",
    "daily",
    "ledger",
    "open_weeks",
    "restated",
]

_ZERO = Fraction(0)
_WEEK = dt.timedelta(weeks=1)
#: How true balances are to what is known: ``open`` if they can be higher as well as lower.
Bound = Literal["exact", "at most", "at least", "open"]


class NoWeek(ValueError):
    """A plan has no week: it ends before it begins."""


class Early(Struct, frozen=True):
    """What is paid instead, and when, where a discount for paying early is taken; signed as its payment."""

    day: dt.date | None
    amount: Fraction | None


class CashEvent(Struct, frozen=True, kw_only=True):
    """One payment: positive comes in, negative goes out. None where its day or its amount is not known.

    ``own`` is the amount in ``currency``; ``document`` the paper it belongs to, ``words`` its terms.
    ``financing`` is money put in or lent and paid back: cash, but no profit. ``incoming`` tells the direction
    where the amount is not known. ``since`` is the day from which it is owed, where a sale says it; ``early``
    the discount its terms offer for paying early, which is in no balance.
    """

    day: dt.date | None
    amount: Fraction | None
    own: Fraction | None
    currency: str
    kind: str
    document: str
    payer: str
    payee: str
    words: str
    reason: str
    home: tuple[str | int, ...] = ()
    facts: tuple[str, ...] = ()
    financing: bool = False
    incoming: bool | None = None
    since: dt.date | None = None
    early: Early | None = None

    @property
    def comes_in(self) -> bool | None:
        """Return whether money comes in, by the sign of what is known of it; None where nothing says."""
        for amount in (self.amount, self.own):
            if amount:
                return amount > 0
        return self.incoming


class WeekRow(Struct, frozen=True, kw_only=True):
    """One week: its number, its Monday, what comes in and goes out, and the balance at its end.

    ``low`` is the balance if the week's payments leave on Monday and its receipts land on Friday.
    """

    number: int
    monday: dt.date
    income: Fraction
    outgo: Fraction
    balance: Fraction
    low: Fraction
    kinds: dict[str, Fraction]

    @property
    def net(self) -> Fraction:
        """Return what comes in less what goes out."""
        return self.income - self.outgo


class Ledger(Struct, frozen=True, kw_only=True):
    """The weeks of a plan and what they say. ``before`` and ``after`` are events outside the horizon.

    ``unknown`` events lack day or amount and are in no balance.
    """

    opening: Fraction
    weeks: tuple[WeekRow, ...]
    before: tuple[CashEvent, ...]
    after: tuple[CashEvent, ...]
    unknown: tuple[CashEvent, ...]
    events: tuple[CashEvent, ...]

    @property
    def trough(self) -> WeekRow:
        """Return the week with the lowest balance, the earliest of equals."""
        return min(self.weeks, key=lambda week: (week.balance, week.number))

    @property
    def pay_first_low(self) -> WeekRow:
        """Return the week with the lowest point when payments leave before receipts land."""
        return min(self.weeks, key=lambda week: (week.low, week.number))

    @property
    def ending(self) -> Fraction:
        """Return the balance at the end."""
        return self.weeks[-1].balance

    @property
    def profit(self) -> Fraction:
        """Return the sum of all events but financing, past the horizon too; not what was paid before the start."""
        return total(_earned((*self.events, *self.after)))

    @property
    def profit_within(self) -> Fraction:
        """Return the same of the plan's own weeks only."""
        return total(_earned(self.events))

    @property
    def bound(self) -> Bound:
        """Return what the unknown events make of every balance, and of the trough.

        Unknown payments can only lower it, unknown receipts only raise it.
        """
        ways = {event.comes_in for event in self.unknown}
        if not ways:
            return "exact"
        if ways == {False}:
            return "at most"
        return "at least" if ways == {True} else "open"

    def needed(self, floor: Fraction) -> Fraction:
        """Return the opening cash that makes the lowest balance exactly the floor."""
        return self.opening - self.trough.balance + floor

    def first_below(self, floor: Fraction) -> WeekRow | None:
        """Return the first week that ends below a floor."""
        return next((week for week in self.weeks if week.balance < floor), None)

    @property
    def first_negative(self) -> WeekRow | None:
        """Return the first week that ends below zero."""
        return self.first_below(_ZERO)

    @property
    def breakeven(self) -> WeekRow | None:
        """Return the first week from which on the cumulative flow stays at zero or above; None if it never does."""
        found = None
        for week in reversed(self.weeks):
            if week.balance < self.opening:
                return found
            found = week
        return found

    @property
    def deployed(self) -> Fraction:
        """Return the capital deployed: the sum over weeks of what the balance lies below the opening."""
        return sum((max(_ZERO, self.opening - week.balance) for week in self.weeks), _ZERO)


def ledger(events: Iterable[CashEvent], start: dt.date, end: dt.date, opening: Fraction) -> Ledger:
    """Return the weeks from the one that holds ``start`` to the one that holds ``end``, every event placed once.

    Opening is the money on ``start``: what was paid on a day before it is before the plan, in its week too.
    Raises NoWeek where the end comes before the start.
    """
    if end < start:
        raise NoWeek(f"it ends on {end}, before it begins on {start}")
    monday = start - dt.timedelta(days=start.weekday())
    weeks = [list[CashEvent]() for _ in range((end - monday).days // 7 + 1)]
    before: list[CashEvent] = []
    after: list[CashEvent] = []
    unknown: list[CashEvent] = []
    for event in events:
        if event.day is None or event.amount is None:
            unknown.append(event)
        elif event.day < start:
            before.append(event)
        else:
            number = (event.day - monday).days // 7
            (weeks[number] if number < len(weeks) else after).append(event)
    for each in (before, after, *weeks):
        each.sort(key=_order)
    return Ledger(
        opening=opening,
        weeks=tuple(_weeks(weeks, monday, opening)),
        before=tuple(before),
        after=tuple(after),
        unknown=tuple(unknown),
        events=tuple(itertools.chain.from_iterable(weeks)),
    )


def _day(event: CashEvent) -> dt.date:
    return event.day or dt.date.min


def _order(event: CashEvent) -> tuple[dt.date, str, str, str]:
    return _day(event), event.kind, event.document, event.words


def _earned(events: Iterable[CashEvent]) -> Iterator[Fraction]:
    return (event.amount for event in events if event.amount is not None and not event.financing)


def _weeks(weeks: Sequence[Sequence[CashEvent]], start: dt.date, opening: Fraction) -> Iterator[WeekRow]:
    """Yield the weeks; sums are of whole numbers of the smallest part that all amounts are multiples of."""
    parts = math.lcm(
        opening.denominator, *{e.amount.denominator for events in weeks for e in events if e.amount}
    )
    balance = opening.numerator * (parts // opening.denominator)
    for number, events in enumerate(weeks):
        amounts = [
            e.amount.numerator * (parts // e.amount.denominator) if e.amount is not None else 0
            for e in events
        ]
        income = sum(amount for amount in amounts if amount > 0)
        outgo = income - sum(amounts)
        low, balance = balance - outgo, balance + income - outgo
        kinds: dict[str, int] = {}
        for event, amount in zip(events, amounts, strict=True):
            kinds[event.kind] = kinds.get(event.kind, 0) + amount
        yield WeekRow(
            number=number,
            monday=start + number * _WEEK,
            income=_fraction(income, parts),
            outgo=_fraction(outgo, parts),
            balance=_fraction(balance, parts),
            low=_fraction(min(low, balance), parts),
            kinds={kind: _fraction(kinds[kind], parts) for kind in sorted(kinds)},
        )


@functools.lru_cache(maxsize=8192)
def _fraction(number: int, parts: int) -> Fraction:
    """Return a sum as a fraction; most weeks of a plan are the same under one setting and another."""
    return Fraction(number, parts)


def daily(found: Ledger) -> tuple[tuple[dt.date, Fraction, Fraction], ...]:
    """Return day, net and balance for every day on which something moves."""
    nets: dict[dt.date, Fraction] = {}
    for event in found.events:
        nets[_day(event)] = nets.get(_day(event), _ZERO) + (event.amount or _ZERO)
    rows, balance = [], found.opening
    for day, net in sorted(nets.items()):
        balance += net
        rows.append((day, net, balance))
    return tuple(rows)


class OpenWeek(Struct, frozen=True, kw_only=True):
    """What is still to come in and to go out in one currency when a week begins, in that currency."""

    currency: str
    number: int
    monday: dt.date
    income: Fraction
    outgo: Fraction

    @property
    def net(self) -> Fraction:
        """Return what a move of the rate acts on, what comes in and goes out set off; negative is to be paid."""
        return self.income - self.outgo


def open_weeks(found: Ledger, home: str) -> tuple[OpenWeek, ...]:
    """Return exposure: by currency other than ``home`` and by week, what is not yet paid on that week's Monday.

    What falls due after the plan is open throughout, and so is what has no day but an amount. Currencies in
    alphabetical order, then weeks; a currency ends with the last week in which something is open.
    """
    lasting = [*found.after, *(event for event in found.unknown if event.day is None)]
    by_currency: dict[str, list[CashEvent]] = {}
    for event in (*found.events, *lasting):
        if event.currency != home and event.own:
            by_currency.setdefault(event.currency, []).append(event)
    return tuple(
        row
        for currency, events in sorted(by_currency.items())
        for row in _open(currency, events, found.weeks)
    )


def _open(currency: str, events: Sequence[CashEvent], weeks: Sequence[WeekRow]) -> Iterator[OpenWeek]:
    for week in weeks:
        left = [each.own or _ZERO for each in events if each.day is None or each.day >= week.monday]
        if not left:
            return
        yield OpenWeek(
            currency=currency,
            number=week.number,
            monday=week.monday,
            income=sum((amount for amount in left if amount > 0), _ZERO),
            outgo=-sum((amount for amount in left if amount < 0), _ZERO),
        )


def restated(events: Iterable[CashEvent], exchange: Exchange, home: str) -> tuple[CashEvent, ...]:
    """Return the events with what is in the other currency of a rate valued by it; exact, nothing is rounded.

    An event whose rate was not known gets its amount. Events in third currencies, and all where ``home`` is not
    in the rate, stay as they are.
    """
    pair = (exchange.base, exchange.quote)
    rates = Rates((Rate(rate=exchange),), {pair: 0, pair[::-1]: 0})
    other = next((code for code in pair if home in pair and code != home), None)
    return tuple(
        structs.replace(event, amount=rates.convert(event.own, event.currency, home))
        if event.currency == other and event.own is not None
        else event
        for event in events
    )
