"""Whose days count: the calendar of every owner of a leg, with or without closures.

A leg runs in the calendar it names, else in that of the firm that owns it. Ports and customs are nobody's
firm: they and whoever has no calendar keep weekends only. What a firm's calendar holds is
`ferrule.compute.calendars`' matter.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping

from msgspec import Struct

from ferrule.compute.calendars import WorkCalendar, calendar_of
from ferrule.compute.demand import us
from ferrule.model.product import Product
from ferrule.model.records.common import Leg
from ferrule.model.records.plan import Build, PlanFile

__all__ = ["Book", "Owners", "book_of", "customer_of"]


class Owners(Struct, frozen=True, kw_only=True):
    """The firms that may own a leg of one chain; None where there is none or it is not known."""

    seller: str | None = None
    factory: str | None = None
    carrier: str | None = None
    customer: str | None = None


class Book(Struct, frozen=True, kw_only=True):
    """Calendars by name, firms' calendars, and who we are."""

    named: Mapping[str, WorkCalendar]
    firms: Mapping[str, str | None]
    own: str
    weekends: WorkCalendar

    def calendar(self, name: str | None) -> WorkCalendar:
        """Return the calendar with this name; weekends only for None and for a name that is not defined."""
        return self.named.get(name or "", self.weekends)

    def of_firm(self, firm: str | None) -> WorkCalendar:
        """Return the calendar of a firm, weekends only where it has none."""
        return self.calendar(self.firms.get(firm or ""))

    def of_leg(self, leg: Leg, owners: Owners) -> WorkCalendar:
        """Return the calendar a leg runs in: its own, else its owner's."""
        if leg.calendar is not None:
            return self.calendar(leg.calendar)
        firm = {
            "seller": owners.seller,
            "factory": owners.factory,
            "carrier": owners.carrier,
            "customer": owners.customer,
            "us": self.own,
        }.get(leg.owner)
        return self.of_firm(firm)


def book_of(
    product: Product, public: Mapping[str, Collection[dt.date]] | None = None, *, closures: bool = True
) -> Book:
    """Return the calendars of a product; ``public`` holds public holidays by name of calendar.

    ``closures=False`` keeps weekends and leaves out closures and all holidays: the count on paper.
    """
    days = public or {}
    return Book(
        named={
            name: calendar_of(record, days.get(name, ()), closures=closures)
            for name, record in product.calendars.items()
        },
        firms={name: firm.calendar for name, firm in product.firms.items()},
        own=us(product),
        weekends=calendar_of(None),
    )


def customer_of(product: Product, plan: PlanFile, build: Build) -> str | None:
    """Return the customer a build goes to; None where the plan sells it to several, or to nobody by name."""
    channels = [
        product.channels.get(sales.channel)
        for sales in plan.sales
        if sales.build == build.name or (sales.build is None and sales.sku == build.sku)
    ]
    customers = {channel.customer for channel in channels if channel is not None}
    return customers.pop() if len(customers) == 1 else None
