"""From dated payments to weeks: balance, trough, what is needed, and when the money is back.

Exact, in the home currency. Weeks start on Monday and are numbered from the plan's start; the horizon is inclusive.
A trough read from months hides the gap between two payments; one read from weeks does not.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct

__all__ = ["CashEvent", "Ledger", "WeekRow", "daily", "ledger"]

_ZERO = Fraction(0)
_WEEK = dt.timedelta(weeks=1)


class CashEvent(Struct, frozen=True, kw_only=True):
    """One payment: positive comes in, negative goes out. None where its day or its amount is not known.

    ``own`` is the amount in ``currency``; ``document`` the paper it belongs to, ``words`` its terms.
    ``financing`` is money put in or lent and paid back: cash, but no profit.
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
        counted = (event for event in (*self.events, *self.after) if not event.financing)
        return sum((event.amount or _ZERO for event in counted), _ZERO)

    def needed(self, floor: Fraction) -> Fraction:
        """Return the opening cash that makes the lowest balance exactly the floor."""
        return self.opening - self.trough.balance + floor

    def first_below(self, floor: Fraction) -> WeekRow | None:
        """Return the first week that ends below a floor."""
        return next((week for week in self.weeks if week.balance < floor), None)

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
    """Return the weeks from ``start`` (a Monday) to the one that holds ``end``, with every event placed once."""
    given = list(events)
    unknown = [event for event in given if event.day is None or event.amount is None]
    known = [event for event in given if event.day is not None and event.amount is not None]
    count = (end - start).days // 7 + 1
    last = start + count * _WEEK
    inside = sorted((e for e in known if start <= _day(e) < last), key=_order)
    weeks = [list[CashEvent]() for _ in range(count)]
    for event in inside:
        weeks[(_day(event) - start).days // 7].append(event)
    return Ledger(
        opening=opening,
        weeks=tuple(_weeks(weeks, start, opening)),
        before=tuple(sorted((e for e in known if _day(e) < start), key=_order)),
        after=tuple(sorted((e for e in known if _day(e) >= last), key=_order)),
        unknown=tuple(unknown),
        events=tuple(inside),
    )


def _day(event: CashEvent) -> dt.date:
    return event.day or dt.date.min


def _order(event: CashEvent) -> tuple[dt.date, str, str, str]:
    return _day(event), event.kind, event.document, event.words


def _weeks(weeks: Sequence[Sequence[CashEvent]], start: dt.date, opening: Fraction) -> list[WeekRow]:
    rows, balance = [], opening
    for number, events in enumerate(weeks):
        amounts = [event.amount or _ZERO for event in events]
        income = sum((amount for amount in amounts if amount > 0), _ZERO)
        outgo = -sum((amount for amount in amounts if amount < 0), _ZERO)
        kinds: dict[str, Fraction] = {}
        for event, amount in zip(events, amounts, strict=True):
            kinds[event.kind] = kinds.get(event.kind, _ZERO) + amount
        low = balance - outgo
        balance += income - outgo
        rows.append(
            WeekRow(
                number=number,
                monday=start + number * _WEEK,
                income=income,
                outgo=outgo,
                balance=balance,
                low=min(low, balance),
                kinds=dict(sorted(kinds.items())),
            )
        )
    return rows


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
