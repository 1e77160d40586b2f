"""The legs from an order to its use: of a source, a tool and a lane, each in its owner's calendar.

Here records become legs to walk; nothing is walked for a whole build. A time nobody states stays unknown and
is never none. Season dates take the worst time of a leg, cash the likely one; where that one is not stated,
the nearest that is.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Literal

from ferrule.compute.calendars import Chain, LegTime, WorkCalendar, previous_open_day, walk_back, walk_forward
from ferrule.compute.owners import Book, Owners
from ferrule.model.duration import Duration
from ferrule.model.exact import exact
from ferrule.model.records.common import Leg
from ferrule.model.records.firms import Lane
from ferrule.model.records.part import Expedite, Source
from ferrule.model.records.tool import Tool

__all__ = [
    "Kind",
    "ask_calendar",
    "expedited_legs",
    "incoming_leg",
    "lane_legs",
    "latest_order",
    "lead_days",
    "leg_times",
    "order_by",
    "preferred",
    "rough_days",
    "source_legs",
    "tool_legs",
    "working_week",
]

Kind = Literal["worst", "likely", "best"]
_ROUGH = {"months": Fraction(30), "years": Fraction(365)}
_STATUS = {"approved": 0, "emergency": 1, "trial": 1, "denied": 2}
#: Any Monday without holidays of its own: sources are compared from the same day.
_SOME_DAY = dt.date(2001, 1, 1)


def leg_times(legs: Iterable[Leg], owners: Owners, book: Book, kind: Kind) -> tuple[LegTime, ...]:
    """Return legs as they are walked: their time of the asked kind, in their owners' calendars."""
    return tuple(
        LegTime(
            name=leg.name,
            calendar=book.of_leg(leg, owners),
            duration=_of_kind(leg, kind),
            open_days=leg.open_days,
            loops=1 if leg.loops is None else leg.loops,
        )
        for leg in legs
    )


def _of_kind(leg: Leg, kind: Kind) -> Duration | None:
    orders = {
        "worst": (leg.worst, leg.likely, leg.best),
        "likely": (leg.likely, leg.worst, leg.best),
        "best": (leg.best, leg.likely, leg.worst),
    }
    return next((time for time in orders[kind] if time is not None), None)


def source_legs(
    source: Source, owners: Owners, book: Book, kind: Kind, qty: Fraction | None = None
) -> tuple[LegTime, ...]:
    """Return the legs from an order at a source to the door of the place of use.

    Legs are better than one figure, for each has its owner; one figure is better than legs with a hole. On the
    worst kind, a lead time seen to be longer than the stated one takes its place. What the seller cannot
    deliver of ``qty`` in the first week follows at the most it delivers in a week. `inbound` has no owner:
    working days in it keep weekends only.
    """
    legs = leg_times(source.leg, owners, book, kind)
    if source.lead_time is not None and (not legs or any(leg.duration is None for leg in legs)):
        legs = (_lead(source, owners, book, kind),)
    if not legs:
        legs = (LegTime(name="lead time", calendar=_lead_calendar(source, owners, book), duration=None),)
    return (*legs, *_later_deliveries(source, owners, book, qty), *_inbound(source, book))


def expedited_legs(source: Source, faster: Expedite, owners: Owners, book: Book) -> tuple[LegTime, ...]:
    """Return the legs of an order that is expedited: its own lead time, then inbound as always."""
    calendar = _lead_calendar(source, owners, book)
    quick = LegTime(name="expedited lead time", calendar=calendar, duration=faster.lead_time)
    return (quick, *_inbound(source, book))


def _lead(source: Source, owners: Owners, book: Book, kind: Kind) -> LegTime:
    stated, seen = source.lead_time, source.lead_observed
    longer = stated is not None and seen is not None and rough_days(seen) > rough_days(stated)
    observed = kind == "worst" and longer
    return LegTime(
        name="lead time as last seen" if observed else "lead time",
        calendar=_lead_calendar(source, owners, book),
        duration=seen if observed else stated,
    )


def _lead_calendar(source: Source, owners: Owners, book: Book) -> WorkCalendar:
    if source.lead_calendar is not None:
        return book.calendar(source.lead_calendar)
    return book.of_firm(owners.seller)


def _later_deliveries(
    source: Source, owners: Owners, book: Book, qty: Fraction | None
) -> tuple[LegTime, ...]:
    most = Fraction(source.capacity_per_week or 0)
    if not most or qty is None or qty <= most:
        return ()
    calendar = _lead_calendar(source, owners, book)
    days = ceil((qty - most) / most * working_week(calendar))
    return (
        LegTime(
            name="further deliveries", calendar=calendar, duration=Duration(Decimal(days), "working days")
        ),
    )


def _inbound(source: Source, book: Book) -> tuple[LegTime, ...]:
    if source.inbound is None:
        return ()
    return (LegTime(name="inbound", calendar=book.weekends, duration=source.inbound),)


def incoming_leg(time: Duration | None, factory: str | None, book: Book) -> tuple[LegTime, ...]:
    """Return the incoming inspection of a factory, no leg where it states none."""
    if time is None:
        return ()
    return (LegTime(name="incoming inspection", calendar=book.of_firm(factory), duration=time),)


def tool_legs(tool: Tool, book: Book, kind: Kind) -> tuple[LegTime, ...]:
    """Return the legs of a tool from its order to its approval; one figure stands in where a leg has a hole."""
    owners = Owners(seller=tool.firm, factory=tool.firm)
    legs = leg_times(tool.leg, owners, book, kind)
    if legs and (tool.lead_time is None or all(leg.duration is not None for leg in legs)):
        return legs
    return (LegTime(name="lead time", calendar=book.of_firm(tool.firm), duration=tool.lead_time),)


def lane_legs(
    lane: Lane | None, factory: str | None, customer: str | None, book: Book, kind: Kind
) -> tuple[LegTime, ...]:
    """Return the legs of a way of shipping; one leg of unknown length where none is stated."""
    if lane is None or not lane.leg:
        return (LegTime(name="shipping", calendar=book.weekends, duration=None),)
    return leg_times(lane.leg, Owners(factory=factory, carrier=lane.carrier, customer=customer), book, kind)


def ask_calendar(source: Source, book: Book) -> WorkCalendar:
    """Return the calendar in which a seller takes orders: the firm's, else that of the lead time."""
    return book.calendar(book.firms.get(source.seller or "") or source.lead_calendar)


def preferred(sources: Iterable[Source]) -> tuple[int, ...]:
    """Return the indexes of the sources bought from when nobody chose: best status, shares, then rank.

    Several only where shares split the need; none where there is no source.
    """
    listed = list(enumerate(sources))
    best = min((_STATUS[source.status] for _, source in listed), default=0)
    kept = [(index, source) for index, source in listed if _STATUS[source.status] == best]
    shared = tuple(index for index, source in kept if source.share is not None and source.share.number)
    if len(shared) > 1:
        return shared
    return tuple(index for index, _ in sorted(kept, key=_rank)[:1])


def _rank(source: tuple[int, Source]) -> tuple[bool, int, int]:
    return source[1].rank is None, source[1].rank or 0, source[0]


def order_by(source: Source, need: dt.date, book: Book, kind: Kind = "worst") -> dt.date | None:
    """Return the last day to order so that the part is there when the day of need begins.

    Before the seller's business day is sought. None without a lead time. Raises NoSuchDay.
    """
    return _known(walk_back(_own_legs(source, book, kind), need - dt.timedelta(days=1)))


def latest_order(
    source: Source, usable: dt.date, book: Book, incoming: Sequence[LegTime] = (), qty: Fraction | None = None
) -> dt.date | None:
    """Return the seller's last business day to order so that ``qty`` is usable at the end of a day.

    ``incoming`` are the legs between arrival and use. None without a lead time. Raises NoSuchDay.
    """
    own = source_legs(source, Owners(seller=source.seller), book, "worst", qty)
    latest = _known(walk_back((*own, *incoming), usable))
    return None if latest is None else previous_open_day(ask_calendar(source, book), latest)


def lead_days(source: Source, book: Book, kind: Kind = "worst", start: dt.date = _SOME_DAY) -> int | None:
    """Return the calendar days from an order on a day to use, for comparing sources; None if not known."""
    chain = walk_forward(_own_legs(source, book, kind), start)
    return None if chain.at_least else (chain.finish - start).days + 1


def _own_legs(source: Source, book: Book, kind: Kind) -> tuple[LegTime, ...]:
    return source_legs(source, Owners(seller=source.seller), book, kind)


def _known(chain: Chain) -> dt.date | None:
    return None if chain.at_least else chain.start


def working_week(calendar: WorkCalendar) -> int:
    """Return the working days of a week without closures."""
    return 7 - len(calendar.weekend)


def rough_days(time: Duration) -> Fraction:
    """Return about how many calendar days a time has, good enough to tell a longer from a shorter one.

    Working days count seven for five, a month 30 days, a year 365.
    """
    with exact():
        if time.in_days is not None:
            return Fraction(time.in_days)
    return Fraction(time.count) * _ROUGH.get(time.unit, Fraction(7, 5))
