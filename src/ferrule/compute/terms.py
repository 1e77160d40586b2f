"""When an amount is paid, and how much of it: instalments from terms, events and lags, to the smallest coin.

Shares are of the whole amount, what an amount by the unit takes off it follows units shipped, and the rest is what
is left then. A payment is rounded to the currency's minor unit (ISO 4217); the remainder is in the last instalment.
"""

from __future__ import annotations

import calendar
import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.calendars import LegTime, WorkCalendar, calendar_of, walk_back, walk_forward
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.due import Due
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Settlement

__all__ = ["Events", "Instalment", "due_day", "instalments", "pay_run", "to_coin"]

_ZERO = Fraction(0)
_DAY = dt.timedelta(days=1)
Events = Mapping[str, dt.date | None]
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday")


class Instalment(Struct, frozen=True, kw_only=True):
    """One payment: its day (None where its event has no day), its amount, and the terms in words.

    ``discounted`` is what is paid instead by ``discount_day`` where the terms offer a discount for it.
    """

    day: dt.date | None
    amount: Fraction
    words: str
    discounted: Fraction | None = None
    discount_day: dt.date | None = None


def to_coin(amount: Fraction, currency: str) -> Fraction:
    """Return an amount rounded to the smallest coin of its currency, a half away from zero."""
    unit = 10 ** MINOR_UNITS.get(currency, 2)
    whole = math.floor(abs(amount) * unit + Fraction(1, 2))
    return Fraction(whole if amount >= 0 else -whole, unit)


def due_day(due: Due, events: Events, working: WorkCalendar | None = None) -> dt.date | None:
    """Return the day of an event with its lag; None where the event has no day.

    End of month comes before the lag: ``invoice + end of month + 10 days``. Working days count in ``working``,
    without it from Monday to Friday.
    """
    day = events.get(due.event)
    if day is None:
        return None
    if due.month_end:
        day = day.replace(day=calendar.monthrange(day.year, day.month)[1])
    if due.lag is None:
        return day
    leg = LegTime(name="", calendar=working or calendar_of(None), duration=due.lag)
    if due.before:
        return walk_back((leg,), day - _DAY).start if due.lag.count else day
    return walk_forward((leg,), day + _DAY).finish if due.lag.count else day


def pay_run(day: dt.date, settlement: Settlement | None) -> dt.date:
    """Return the next day on or after a day on which the payer pays: a weekday, or days of the month.

    A day of the month that does not exist is its last.
    """
    if settlement is None:
        return day
    if settlement.pay_run is not None:
        return day + dt.timedelta(days=(_WEEKDAYS.index(settlement.pay_run) - day.weekday()) % 7)
    if settlement.pay_run_days:
        while not _runs_on(day, settlement.pay_run_days):
            day += _DAY
    return day


def _runs_on(day: dt.date, days: Iterable[int]) -> bool:
    last = calendar.monthrange(day.year, day.month)[1]
    return day.day in {min(each, last) for each in days}


def instalments(
    amount: Fraction,
    currency: str,
    payments: Sequence[Payment],
    events: Events,
    units: Sequence[tuple[dt.date | None, Fraction]] = (),
) -> tuple[Instalment, ...]:
    """Return the payments of an amount, in the order of its terms; they add up to it exactly (to the coin).

    Without terms the whole amount falls on the document's own day (the event named ""), else on the order.
    ``units`` says how many ship when, for amounts by the unit. What the shares leave is in the last one.
    """
    whole = to_coin(amount, currency)
    if not payments:
        day = events.get("", events.get("order"))
        return (Instalment(day=day, amount=whole, words="at once"),)
    found: list[Instalment] = []
    left = whole
    for number, payment in enumerate(payments):
        last = number == len(payments) - 1
        share = payment.share
        if share.per_unit is not None:
            made = _by_unit(payment, currency, left, events, units)
            found += made
            left -= sum((each.amount for each in made), _ZERO)
            continue
        part = (
            left
            if share.percent is None or last
            else to_coin(whole * Fraction(share.percent.fraction), currency)
        )
        left -= part
        if part:
            found.append(_one(payment, part, currency, events))
    if left:
        found.append(
            Instalment(day=found[-1].day if found else None, amount=left, words="what the terms leave")
        )
    return tuple(found)


def _by_unit(
    payment: Payment,
    currency: str,
    left: Fraction,
    events: Events,
    units: Sequence[tuple[dt.date | None, Fraction]],
) -> list[Instalment]:
    """Return an instalment for every shipment, until the amount is paid."""
    each = payment.share.per_unit
    found: list[Instalment] = []
    for day, count in units if each is not None else ():
        part = min(left, to_coin(Fraction(each.number) * count, currency)) if each is not None else _ZERO
        if part <= 0:
            break
        left -= part
        own = {**events, payment.due.event: day}
        found.append(
            Instalment(day=due_day(payment.due, own), amount=part, words=f"{payment.share}, {payment.due}")
        )
    return found


def _one(payment: Payment, part: Fraction, currency: str, events: Events) -> Instalment:
    discounted = discount_day = None
    if payment.discount is not None and payment.discount_within is not None:
        discounted = to_coin(part * (1 - Fraction(payment.discount.fraction)), currency)
        discount_day = due_day(Due(payment.due.event, lag=payment.discount_within), events)
    return Instalment(
        day=due_day(payment.due, events),
        amount=part,
        words=f"{payment.share}, {payment.due}",
        discounted=discounted,
        discount_day=discount_day,
    )
