"""A bill: one document of a plan that becomes money, and what every bill needs to be made.

Amounts come from the purchase list, the unit cost and the schedule, never typed twice; terms decide only when
they are paid. What is not known stays in the list, so that the balance can say what it leaves out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.calendars import LegTime, walk_forward
from ferrule.compute.leads import lane_legs
from ferrule.compute.owners import Book
from ferrule.compute.rates import Rates
from ferrule.compute.schedule import BuildDates, PlanDates
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Firm, Lane
from ferrule.model.records.plan import Plan

__all__ = [
    "Bill",
    "BuildEvents",
    "Events",
    "Purse",
    "build_events",
    "end_of",
    "order_day",
    "simple_bill",
    "terms_of",
]

_ZERO = Fraction(0)
Events = Mapping[str, dt.date | None]
#: The days of each build that terms can name, by its name.
BuildEvents = Mapping[str, dict[str, dt.date | None]]


class Bill(Struct, frozen=True, kw_only=True):
    """One document: an amount to pay or to receive.

    ``amount`` is in ``currency`` and None where it is not known; positive, ``incoming`` tells the direction.
    ``events`` gives the days its terms can name, ``units`` what ships when for instalments by the unit.
    ``paid`` is the share settled before. ``home`` leads to the record, ``reason`` says what it is for.
    """

    name: str
    kind: str
    payer: str
    payee: str
    amount: Fraction | None
    currency: str
    payments: tuple[Payment, ...]
    events: Events
    reason: str
    home: tuple[str | int, ...]
    incoming: bool = False
    units: tuple[tuple[dt.date | None, Fraction], ...] = ()
    paid: Fraction = _ZERO
    signed: bool = True
    financing: bool = False
    facts: tuple[str, ...] = ()


class Purse(Struct, frozen=True, kw_only=True):
    """Who we are, our home currency, and the exchange rates."""

    own: str
    home: str
    rates: Rates

    def amount_in(self, currency: str, amount: Fraction | None) -> Fraction | None:
        """Return a home amount in another currency; None where it or its rate is not known."""
        return None if amount is None else self.rates.convert(amount, self.home, currency)

    def currency_of(self, firm: Firm | None) -> str:
        """Return the currency a firm is paid in, the home currency where it names none."""
        return (firm.currency if firm is not None else None) or self.home


def terms_of(firm: Firm | None, own: tuple[Payment, ...] = ()) -> tuple[Payment, ...]:
    """Return a document's own terms, else those of the firm that is paid."""
    return own or (firm.payment if firm is not None else ())


def simple_bill(  # noqa: PLR0913, PLR0917  one amount on one day, with all that belongs to it
    purse: Purse,
    name: str,
    kind: str,
    other: str,
    amount: Fraction | None,
    day: dt.date | None,
    home: tuple[str | int, ...],
    *,
    incoming: bool = False,
    signed: bool = True,
    financing: bool = False,
) -> Bill:
    """Return a bill in the home currency that is paid on one day."""
    return Bill(
        name=name,
        kind=kind,
        payer=other if incoming else purse.own,
        payee=purse.own if incoming else other,
        amount=amount,
        currency=purse.home,
        payments=(),
        events={"": day},
        reason=name,
        home=home,
        incoming=incoming,
        signed=signed,
        financing=financing,
    )


def order_day(latest: dt.date | None, today: dt.date) -> dt.date:
    """Return the day an order is placed: as late as it may be, today where that has passed or is not known."""
    return today if latest is None else max(latest, today)


def end_of(legs: Iterable[LegTime], day: dt.date) -> dt.date | None:
    """Return the last day of legs that begin on a day; None where one is of unknown length."""
    chain = walk_forward(tuple(legs), day)
    return None if chain.at_least else chain.finish


def build_events(dates: PlanDates, plan: Plan, lanes: Mapping[str, Lane], book: Book) -> BuildEvents:
    """Return the days of each build that terms can name. Raises NoSuchDay."""
    return {build.build: _days(build, plan, lanes, book) for build in dates.builds}


def _days(build: BuildDates, plan: Plan, lanes: Mapping[str, Lane], book: Book) -> dict[str, dt.date | None]:
    """Return the days of a build, shifted as a whole where it is late at best."""
    shift, record = dt.timedelta(days=build.late_by), build.job.build
    stated = record.ship.on(plan.start) if record.ship is not None else None
    ships = build.ships or stated  # a stated day to ship needs no way home
    ships = ships + shift if ships is not None else None
    lane = lanes.get(record.lane or "")
    legs = lane_legs(lane, None, None, book, "likely") if lane is not None else ()
    arrives = end_of(legs, ships) if ships is not None and legs else None
    orders = [order for order in build.orders if order.order.kind == "part" and order.order.ordered is None]
    firsts = [order_day(order.order_by, build.today) for order in orders]
    start = min(build.starts.values(), default=None)
    kickoff = min(firsts, default=start)
    return {
        "order": kickoff,
        "kick-off": kickoff,
        "start": None if start is None else start + shift,
        "inspection": None if ships is None else ships - dt.timedelta(days=1),
        "shipment": ships,
        "invoice": ships,
        "entry": arrives,
        "arrival": arrives,
        "receipt": arrives,
    }
