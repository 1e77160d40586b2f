"""The discounts for paying early that a plan's own terms offer, by who offers them, and what taking them moves.

A bargain's gain is no use to a balance that falls below its floor: so beside it stands the trough with every
discount of that party taken.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from fractions import Fraction

from msgspec import Struct, structs

from ferrule.compute.bargains import Bargain, Kind, Price, Priced
from ferrule.compute.cash import Cash
from ferrule.compute.ledger import CashEvent, Ledger, WeekRow, ledger

__all__ = ["EarlyOffers", "Found", "OfPlan", "early_offers", "taken"]

_ZERO = Fraction(0)


class EarlyOffers(Struct, frozen=True, kw_only=True):
    """All discounts of one party in a plan: the payments they are on, as one bargain, and the trough if taken.

    The span is the mean of the payments', weighted with what is paid early, so that simple interest on it is
    exact. ``unknown`` counts payments with a discount whose day or amount is not known; they are left out.
    """

    party: str
    events: tuple[CashEvent, ...]
    bargain: Bargain
    spans: tuple[int, int]
    trough: WeekRow
    unknown: int


class Found(Struct, frozen=True, kw_only=True):
    """The discounts of one party, priced; ``below`` is what the balance falls below the floor if all are taken."""

    offers: EarlyOffers
    priced: Priced
    below: Fraction


class OfPlan(Struct, frozen=True, kw_only=True):
    """A plan's cash as agreed, its discounts party by party, and the prices of money that were known."""

    cash: Cash
    found: tuple[Found, ...]
    prices: tuple[Price, ...]


def early_offers(
    found: Ledger, year: Fraction, wanted: Callable[[CashEvent], bool] | None = None
) -> tuple[EarlyOffers, ...]:
    """Return the discounts of a plan by party, those offered to us before those we offer, by name.

    Only payments within the plan's weeks count that are ``wanted``, and only where the discount is an earlier day.
    """
    groups: dict[tuple[bool, str], list[CashEvent]] = {}
    for event in (*found.events, *found.unknown):
        if event.early is not None and (wanted is None or wanted(event)):
            incoming = bool(event.comes_in)
            groups.setdefault((incoming, event.payer if incoming else event.payee), []).append(event)
    rows = [_offers(found, key, events, year) for key, events in sorted(groups.items())]
    return tuple(row for row in rows if row is not None)


def _offers(
    found: Ledger, key: tuple[bool, str], events: list[CashEvent], year: Fraction
) -> EarlyOffers | None:
    incoming, party = key
    known = [event for event in events if _span(event) is not None]
    spans = [_span(event) or 0 for event in known]
    usable = [event for event, span in zip(known, spans, strict=True) if span > 0]
    spans = [span for span in spans if span > 0]
    if not usable:
        return None
    kind: Kind = "early payment" if incoming else "discount"
    return EarlyOffers(
        party=party,
        events=tuple(usable),
        bargain=_one_bargain(kind, usable, spans, year),
        spans=(min(spans), max(spans)),
        trough=taken(found, usable).trough,
        unknown=len(events) - len(known),
    )


def _one_bargain(kind: Kind, events: list[CashEvent], spans: list[int], year: Fraction) -> Bargain:
    early = [_amount_early(event) for event in events]
    agreed = sum((abs(event.amount or _ZERO) for event in events), _ZERO)
    money = sum(early, _ZERO)
    weighted = sum((amount * span for amount, span in zip(early, spans, strict=True)), _ZERO)
    return Bargain(kind=kind, base=agreed, money=money, cost=agreed - money, span=weighted / money, year=year)


def _amount_early(event: CashEvent) -> Fraction:
    amount = event.early.amount if event.early is not None else None
    return abs(amount or _ZERO)


def _span(event: CashEvent) -> int | None:
    """Return the days from the discounted payment to the agreed one; None where something is not known."""
    if event.day is None or not event.amount or event.early is None:
        return None
    early = event.early
    return None if early.day is None or not early.amount else (event.day - early.day).days


def taken(found: Ledger, events: Iterable[CashEvent]) -> Ledger:
    """Return a ledger with the discounts of some of its payments taken, those of days before it in its first week."""
    start, end = found.weeks[0].monday, found.weeks[-1].monday + dt.timedelta(days=6)
    chosen = {id(event) for event in events}
    every = [*found.events, *found.after, *found.unknown]
    moved = [_settled(event, start) if id(event) in chosen else event for event in every]
    return structs.replace(ledger(moved, start, end, found.opening), before=found.before)


def _settled(event: CashEvent, start: dt.date) -> CashEvent:
    early = event.early
    if early is None or early.day is None:
        return event
    return structs.replace(event, day=max(early.day, start), amount=early.amount)
