"""When an amount is paid, and how much of it: instalments from terms, events and lags, to the smallest coin.

Percentages are of the whole amount, wherever they stand; an amount by the unit follows units shipped; the rest is
what all others leave. A payment is rounded to the currency's minor unit (ISO 4217), the remainder is in the last
instalment. A discount for paying early is offered beside the agreed payment: which is better is decided elsewhere.
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct, structs

from ferrule.compute.calendars import WorkCalendar, calendar_of, leg_back, leg_forward, next_open_day
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.due import Due
from ferrule.model.duration import Duration
from ferrule.model.money import Money
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Settlement

__all__ = [
    "Choice",
    "Convert",
    "Events",
    "Instalment",
    "days_after",
    "due_day",
    "instalments",
    "pay_run",
    "to_coin",
]

_ZERO = Fraction(0)
_DAY = dt.timedelta(days=1)
#: Working days where nobody says whose: Monday to Friday.
_PLAIN = calendar_of(None)
Events = Mapping[str, dt.date | None]
#: An amount from one currency into another, None where no rate leads there.
Convert = Callable[[Fraction, str, str], Fraction | None]
_Units = Sequence[tuple[dt.date | None, Fraction]]
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday")


class Choice(Struct, frozen=True, kw_only=True):
    """One way to settle an instalment; ``early`` if it is the one with the discount."""

    day: dt.date | None
    amount: Fraction
    early: bool


class Instalment(Struct, frozen=True, kw_only=True):
    """One payment: its day (None where its event has no day), its amount, the terms in words and their event.

    ``discounted`` is what is paid instead by ``discount_day`` where the terms offer a discount for it.
    """

    day: dt.date | None
    amount: Fraction
    words: str
    event: str = ""
    discounted: Fraction | None = None
    discount_day: dt.date | None = None

    @property
    def choices(self) -> tuple[Choice, ...]:
        """Return the ways to settle it: as agreed, then with the discount where one is offered."""
        agreed = Choice(day=self.day, amount=self.amount, early=False)
        if self.discounted is None:
            return (agreed,)
        return agreed, Choice(day=self.discount_day, amount=self.discounted, early=True)


def to_coin(amount: Fraction, currency: str) -> Fraction:
    """Return an amount rounded to the smallest coin of its currency, a half away from zero."""
    unit = 10 ** MINOR_UNITS.get(currency, 2)
    number, parts = amount.numerator, amount.denominator
    if unit % parts == 0:
        return amount
    whole = (2 * abs(number) * unit + parts) // (2 * parts)
    return Fraction(whole if number >= 0 else -whole, unit)


def days_after(day: dt.date, lag: Duration | None, working: WorkCalendar | None = None) -> dt.date:
    """Return the day a lag after a day, as `due_day` counts it; the day itself without a lag. Raises NoSuchDay."""
    return day if lag is None or not lag.count else _later(day, lag, working or _PLAIN)


def due_day(due: Due, events: Events, working: WorkCalendar | None = None) -> dt.date | None:
    """Return the day of an event with its lag; None where the event has no day.

    End of month comes before the lag: ``invoice + end of month + 10 days``. A month after the 28th is the next
    28th, after the 31st the last day of a shorter month. Working days count in ``working``, without it from
    Monday to Friday. Raises NoSuchDay.
    """
    day = events.get(due.event)
    if day is None:
        return None
    if due.month_end:
        day = day.replace(day=calendar.monthrange(day.year, day.month)[1])
    if due.lag is None or not due.lag.count:
        return day
    lagged = _earlier if due.before else _later
    return lagged(day, due.lag, working or _PLAIN)


def _earlier(day: dt.date, lag: Duration, working: WorkCalendar) -> dt.date:
    return leg_back(working, lag, day - _DAY).start


def _later(day: dt.date, lag: Duration, working: WorkCalendar) -> dt.date:
    if lag.unit == "working days":
        return leg_forward(working, lag, day + _DAY).finish
    # A leg fills its first day, a lag starts to count after the event: so the leg's finish is a day short.
    return leg_forward(working, lag, day).finish + _DAY


def pay_run(day: dt.date, settlement: Settlement | None, payer: WorkCalendar | None = None) -> dt.date:
    """Return the next day on or after a day on which the payer pays: a weekday, or days of the month.

    A day of the month that does not exist is its last. A run that falls on a day closed in ``payer`` is made on
    the next open one; without it no day is closed. Raises NoSuchDay where the calendar never opens.
    """
    run = day if settlement is None else _next_run(day, settlement)
    return run if payer is None else next_open_day(payer, run)


def _next_run(day: dt.date, settlement: Settlement) -> dt.date:
    if settlement.pay_run is not None:
        return day + dt.timedelta(days=(_WEEKDAYS.index(settlement.pay_run) - day.weekday()) % 7)
    days = [each for each in settlement.pay_run_days if each > 0]
    while days and not _runs_on(day, days):
        day += _DAY
    return day


def _runs_on(day: dt.date, days: Iterable[int]) -> bool:
    last = calendar.monthrange(day.year, day.month)[1]
    return day.day in {min(each, last) for each in days}


def instalments(  # noqa: PLR0913  an amount, its terms, and the facts they may ask for
    amount: Fraction,
    currency: str,
    payments: Sequence[Payment],
    events: Events,
    units: _Units = (),
    *,
    working: WorkCalendar | None = None,
    convert: Convert | None = None,
) -> tuple[Instalment, ...]:
    """Return the payments of an amount, in the order of its terms; they add up to it exactly (to the coin).

    Without terms the whole amount falls on the document's own day (the event named ""), else on the order.
    ``units`` says how many ship when, for amounts by the unit, which stop when the amount is used up; what the
    units do not pay and no rest takes has no day. An amount by the unit in another currency needs ``convert``,
    else it has no day either. Raises NoSuchDay.
    """
    whole = to_coin(amount, currency)
    if not payments:
        day = events.get("", events.get("order"))
        return (Instalment(day=day, amount=whole, words="at once"),)
    if whole < 0:
        paid = instalments(-whole, currency, payments, events, units, working=working, convert=convert)
        return tuple(_turned(each) for each in paid)
    return _Split(currency, payments, events, working, convert).of(whole, units)


def _turned(each: Instalment) -> Instalment:
    discounted = None if each.discounted is None else -each.discounted
    return structs.replace(each, amount=-each.amount, discounted=discounted)


def _closing(payments: Sequence[Payment]) -> int | None:
    """Return which payment takes what others leave: the rest, else the last if it is a percentage."""
    rests = [number for number, payment in enumerate(payments) if payment.share.rest]
    if rests:
        return rests[0]
    return len(payments) - 1 if payments[-1].share.percent is not None else None


class _Split(Struct, frozen=True):
    """Terms that cut amounts of one currency."""

    currency: str
    payments: Sequence[Payment]
    events: Events
    working: WorkCalendar | None
    convert: Convert | None

    def of(self, whole: Fraction, units: _Units) -> tuple[Instalment, ...]:
        """Return the instalments of an amount that is not negative."""
        closing = _closing(self.payments)
        parts = self._percents(whole, closing)
        left = whole - sum(parts.values(), _ZERO)
        by_unit: dict[int, list[Instalment]] = {}
        for number, payment in enumerate(self.payments):
            each = payment.share.per_unit
            if each is not None:
                by_unit[number] = self._by_unit(payment, each, left, units)
                left -= sum((made.amount for made in by_unit[number]), _ZERO)
        if closing is not None:
            parts[closing] = left
        found = [made for number in range(len(self.payments)) for made in self._made(number, parts, by_unit)]
        return tuple(found) if closing is not None else self._closed(found, left)

    def _closed(self, found: list[Instalment], left: Fraction) -> tuple[Instalment, ...]:
        """Return instalments with what is left: under the price of a unit it is a remainder of rounding."""
        each = self.payments[-1].share.per_unit
        price = (self._own(each) if each is not None else None) or _ZERO
        if found and left < price:
            return (*found[:-1], structs.replace(found[-1], amount=found[-1].amount + left))
        return (*found, _unpaid(left)) if left else tuple(found)

    def _percents(self, whole: Fraction, closing: int | None) -> dict[int, Fraction]:
        """Return the parts of the percentages but the closing one, each to the coin, never more than there is."""
        parts: dict[int, Fraction] = {}
        left = whole
        for number, payment in enumerate(self.payments):
            percent = payment.share.percent
            if percent is not None and number != closing:
                parts[number] = min(left, to_coin(whole * Fraction(percent.fraction), self.currency))
                left -= parts[number]
        return parts

    def _made(
        self, number: int, parts: Mapping[int, Fraction], by_unit: Mapping[int, list[Instalment]]
    ) -> Sequence[Instalment]:
        if number in by_unit:
            return by_unit[number]
        part = parts.get(number, _ZERO)
        return (self._one(self.payments[number], part),) if part else ()

    def _by_unit(self, payment: Payment, each: Money, left: Fraction, units: _Units) -> list[Instalment]:
        """Return an instalment for every shipment, the earliest first, until the amount is used up."""
        price = self._own(each)
        words = f"{payment.share}, {payment.due}"
        if price is None:
            words += f": no rate from {each.currency} to {self.currency}"
            return [Instalment(day=None, amount=left, words=words, event=payment.due.event)] if left else []
        found: list[Instalment] = []
        for day, count in sorted(units, key=lambda pair: (pair[0] is None, pair[0] or dt.date.max)):
            part = min(left, to_coin(price * count, self.currency))
            if part <= 0:
                continue
            left -= part
            due = due_day(payment.due, {**self.events, payment.due.event: day}, self.working)
            found.append(Instalment(day=due, amount=part, words=words, event=payment.due.event))
        return found

    def _own(self, each: Money) -> Fraction | None:
        """Return the amount for a unit in the document's currency."""
        number = Fraction(each.number)
        if each.currency in ("", self.currency):
            return number
        return None if self.convert is None else self.convert(number, each.currency, self.currency)

    def _one(self, payment: Payment, part: Fraction) -> Instalment:
        discounted = discount_day = None
        if payment.discount is not None and payment.discount_within is not None:
            discounted = to_coin(part * (1 - Fraction(payment.discount.fraction)), self.currency)
            within = Due(payment.due.event, lag=payment.discount_within)
            discount_day = due_day(within, self.events, self.working)
        return Instalment(
            day=due_day(payment.due, self.events, self.working),
            amount=part,
            words=f"{payment.share}, {payment.due}",
            event=payment.due.event,
            discounted=discounted,
            discount_day=discount_day,
        )


def _unpaid(left: Fraction) -> Instalment:
    return Instalment(day=None, amount=left, words="what the terms leave")
