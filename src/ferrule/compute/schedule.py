"""The dates of a build: when to order what at the latest, what is late, what decides, and how early it can be.

Backward from the day the plan gives and forward from today, over the same network. Beside each latest date
stands the one on paper, with weekends but without closures and holidays: what most spreadsheets would have said.
Slack is in calendar days to the latest date, before that moves to the seller's business day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.activities import Activity, ItemKind, Job, Network, Order
from ferrule.compute.calendars import Crossing, previous_open_day, walk_back, walk_forward
from ferrule.compute.demand import maker_of
from ferrule.compute.leads import expedited_legs, incoming_leg, lane_legs
from ferrule.compute.network import network_of
from ferrule.compute.owners import Book, Owners, book_of, customer_of
from ferrule.compute.passes import Lies, backward, followers, forward, trace_back, trace_on
from ferrule.model.product import Product
from ferrule.model.records.part import Expedite, Source
from ferrule.model.when import When

__all__ = [
    "Books",
    "BuildDates",
    "BuildDays",
    "Faster",
    "Kickoff",
    "OrderDates",
    "Path",
    "PlanDates",
    "Strip",
    "books_of",
    "build_days",
    "latest_kickoff",
    "schedule",
    "schedule_build",
]

_DAY = dt.timedelta(days=1)


class Books(Struct, frozen=True):
    """The calendars as they are, and on paper: weekends only."""

    real: Book
    paper: Book


class Strip(Struct, frozen=True, kw_only=True):
    """One leg with its dates, latest and earliest, for a chain of reasons or a picture.

    ``calendar`` is its calendar's name, None for weekends only. ``late`` is None where nothing after it has a
    date. ``critical`` says whether it lies on the critical path.
    """

    activity: Activity
    late: Lies | None
    early: Lies
    critical: bool = False

    @property
    def item(self) -> str:
        """Return the part, tool, assembly or build it belongs to."""
        return self.activity.item

    @property
    def kind(self) -> ItemKind:
        """Return what its item is."""
        return self.activity.kind

    @property
    def name(self) -> str:
        """Return what happens in it."""
        return self.activity.time.name

    @property
    def calendar(self) -> str | None:
        """Return the name of its calendar."""
        return self.activity.time.calendar.name

    @property
    def lies(self) -> Lies:
        """Return where it lies by the plan: at the latest, or at the earliest where nothing has a date."""
        return self.late or self.early

    @property
    def crossed(self) -> tuple[Crossing, ...]:
        """Return the closures it goes through, with the working days they take."""
        walked = self.lies.walked
        return walked.crossed if walked is not None else ()

    @property
    def holidays(self) -> tuple[dt.date, ...]:
        """Return the single days off it goes through."""
        walked = self.lies.walked
        return walked.holidays if walked is not None else ()

    @property
    def slack(self) -> int | None:
        """Return the calendar days from its earliest to its latest start; None without a date."""
        return None if self.late is None else (self.late.start - self.early.start).days


class Faster(Struct, frozen=True, kw_only=True):
    """An expedite quote of the source: the latest day to order it, and when it is there if ordered now.

    ``in_time`` is None where the build has no date, ``valid`` where the quote names no last day.
    """

    expedite: Expedite
    latest: dt.date | None
    order_by: dt.date | None
    there: dt.date
    in_time: bool | None
    valid: bool | None


class OrderDates(Struct, frozen=True, kw_only=True):
    """When to order a part or tool for one build.

    ``latest`` is the last day that meets the build's date, ``order_by`` the seller's business day up to it,
    ``paper`` the last day with closures left out and ``paper_late`` the days by which that is too late.
    ``planned`` is the day it was ordered, else the first on which it can be. ``need`` is the last day by which
    it must be usable, ``ready`` the day by which it is if ordered as planned. Days without a date to go back
    from are None. ``chain`` are the strips from the order to the arrival, ``own`` of them the order's own.
    ``bound`` says that a length on the way to the due day is unknown, so that the latest dates are no later
    than; ``ready_bound`` that one before it is, so that ``ready`` is no earlier than.
    """

    build: str
    order: Order
    latest: dt.date | None
    order_by: dt.date | None
    planned: dt.date
    slack: int | None
    need: dt.date | None
    ready: dt.date
    paper: dt.date | None
    paper_late: int | None
    chain: tuple[int, ...]
    own: int
    bound: bool
    ready_bound: bool
    unknown: tuple[str, ...] = ()
    faster: tuple[Faster, ...] = ()
    critical: bool = False

    @property
    def item(self) -> str:
        """Return the part or tool."""
        return self.order.item

    @property
    def late_by(self) -> int:
        """Return the days by which it is too late already; 0 if it is not, or nothing is due."""
        return max(0, -(self.slack or 0))


class Path(Struct, frozen=True, kw_only=True):
    """A chain of strips from an order to the arrival, with its slack in calendar days (None without a date)."""

    strips: tuple[int, ...]
    items: tuple[str, ...]
    slack: int | None


class BuildDates(Struct, frozen=True, kw_only=True):
    """The dates of one build.

    ``due`` is the last day of arrival: stated, or by the longest legs after the stated day of start or shipping.
    ``earliest`` is the arrival if all that is not ordered is ordered today and the build waits for no planned
    day, no earlier than if ``earliest_bound``, held up by ``binding``. ``critical`` is the chain of the
    order with the least slack, ``rival`` the least of those that begin with something else. ``starts`` is the latest first day
    of each assembly, ``ships`` of shipping. ``kickoff`` is the latest day for the first order of all (of what
    was not begun), ``cumulative`` the calendar days from it to the due day, both included. ``unknown`` names
    legs without a length: where there are any, ``kickoff`` is no later than and ``cumulative`` at least.
    """

    build: str
    job: Job
    today: dt.date
    network: Network
    strips: tuple[Strip, ...]
    orders: tuple[OrderDates, ...]
    due: dt.date | None
    earliest: dt.date
    earliest_bound: bool
    binding: Path
    critical: Path | None
    rival: Path | None
    starts: Mapping[str, dt.date]
    ships: dt.date | None
    kickoff: dt.date | None
    cumulative: int | None
    unknown: tuple[str, ...]

    @property
    def late_by(self) -> int:
        """Return the days by which it arrives too late at best; 0 if it can be in time or nothing is due."""
        return 0 if self.due is None else max(0, (self.earliest - self.due).days)

    def order(self, item: str) -> OrderDates | None:
        """Return the order of an item with the least time, or None."""
        return next((each for each in self.orders if each.item == item), None)


class PlanDates(Struct, frozen=True, kw_only=True):
    """The dates of the builds of a plan, in its order, and of all their orders, the most pressing first."""

    today: dt.date
    builds: tuple[BuildDates, ...]
    orders: tuple[OrderDates, ...]


class BuildDays(Struct, frozen=True, kw_only=True):
    """What other answers need of a build's dates, closures counted.

    ``starts`` is the latest first day of each assembly, when the parts of its first step are needed; ``needs``
    the last day by which each bought part must be usable; ``ships`` the last first day of shipping;
    ``arrives`` the day of arrival by the likely legs when it ships then, None where a leg is unknown.
    """

    starts: Mapping[str, dt.date]
    needs: Mapping[str, dt.date]
    ships: dt.date | None
    arrives: dt.date | None


class Kickoff(Struct, frozen=True, kw_only=True):
    """The latest day on which the whole chain can start, and what starts then with the legs that follow it.

    ``bound`` says that a length somewhere is unknown: the day is then no later than.
    """

    day: dt.date
    item: str
    strips: tuple[Activity, ...]
    bound: bool


def books_of(product: Product, public: Mapping[str, Collection[dt.date]] | None = None) -> Books:
    """Return the calendars of a product, real and on paper; public holidays by name of calendar."""
    return Books(book_of(product, public), book_of(product, closures=False))


def schedule(jobs: Iterable[Job], books: Books, today: dt.date) -> PlanDates:
    """Return the dates of some builds. Raises NoSuchDay where a calendar never opens."""
    builds = tuple(schedule_build(job, books, today) for job in jobs)
    orders = sorted((order for build in builds for order in build.orders), key=_pressing)
    return PlanDates(today=today, builds=builds, orders=tuple(orders))


def schedule_build(job: Job, books: Books, today: dt.date) -> BuildDates:
    """Return the dates of one build. Raises NoSuchDay where a calendar never opens."""
    return _Desk(job, books, today).dates()


def _pressing(order: OrderDates) -> tuple[bool, int, dt.date, str]:
    return order.slack is None, order.slack or 0, order.latest or dt.date.max, order.item


class _Desk:
    """Dates one build, with both passes at hand."""

    def __init__(self, job: Job, books: Books, today: dt.date) -> None:
        self.job, self.book, self.today = job, books.real, today
        self.network = network_of(job, books.real)
        self.late = backward(self.network)
        self.paper = backward(network_of(job, books.paper))
        self.early = forward(self.network, today, pinned=False)
        self.waiting = followers(self.network)

    def dates(self) -> BuildDates:
        """Return everything about the build."""
        orders = sorted(map(self._order, self.network.orders), key=_pressing)
        critical = self._path(orders)
        rival = self._path(orders, critical.items[0]) if critical else None
        marked = set(critical.strips) if critical else set[int]()
        last = len(self.network.activities) - 1
        binding = trace_back(self.network, self.early, last)
        lies, kickoff = self.late[last], _first_of_all(self.network, self.late)
        due = lies.due if lies is not None else None
        return BuildDates(
            build=self.network.build,
            job=self.job,
            today=self.today,
            network=self.network,
            strips=tuple(self._strip(index, critical=index in marked) for index in range(last + 1)),
            orders=tuple(replace(each, critical=each.order.first in marked) for each in orders),
            due=due,
            earliest=self.early[last].finish,
            earliest_bound=self.early[last].bound or self.early[last].walked is None,
            binding=self._along(binding),
            critical=critical,
            rival=rival,
            starts=_starts(self.network, self.late),
            ships=_start(self.late[self.network.ships]),
            kickoff=_start(self.late[kickoff]) if kickoff is not None else None,
            cumulative=self._cumulative(kickoff, due),
            unknown=tuple(
                dict.fromkeys(
                    f"{each.item}: {each.time.name}"
                    for each in self.network.activities
                    if each.time.duration is None
                )
            ),
        )

    def _strip(self, index: int, *, critical: bool) -> Strip:
        return Strip(
            activity=self.network.activities[index],
            late=self.late[index],
            early=self.early[index],
            critical=critical,
        )

    def _cumulative(self, kickoff: int | None, due: dt.date | None) -> int | None:
        day = _start(self.late[kickoff]) if kickoff is not None else None
        return None if day is None or due is None else (due - day).days + 1

    def _order(self, order: Order) -> OrderDates:
        first, last = self.late[order.first], self.late[order.last]
        latest, paper = _start(first), _start(self.paper[order.first])
        planned = self.early[order.first].start
        own = range(order.first, order.last + 1)
        times = [self.network.activities[index].time for index in own]
        unknown = tuple(leg.name for leg in times if leg.duration is None)
        return OrderDates(
            build=self.network.build,
            order=order,
            latest=latest,
            order_by=None if latest is None else previous_open_day(order.asked, latest),
            planned=planned,
            slack=None if latest is None else (latest - planned).days,
            need=last.due if last is not None else None,
            ready=self.early[order.last].finish,
            paper=paper,
            paper_late=None if latest is None or paper is None else (paper - latest).days,
            chain=(*own[:-1], *trace_on(self.network, self.late, order.last, self.waiting)),
            own=len(own),
            bound=bool(unknown) or (last is not None and last.bound),
            ready_bound=bool(unknown) or self.early[order.last].bound,
            unknown=unknown,
            faster=tuple(self._faster(order, planned, last.due if last is not None else None)),
        )

    def _faster(self, order: Order, planned: dt.date, need: dt.date | None) -> Iterable[Faster]:
        item = self.job.product.item(order.item)
        if order.source is None or item is None or order.ordered is not None:
            return
        source: Source = item.source[order.source]
        firm = self.job.product.firms.get(order.place or "")
        incoming = firm.factory.incoming if firm is not None and firm.factory is not None else None
        for each in source.expedite:
            owners = Owners(seller=source.seller, factory=order.place)
            legs = (
                *expedited_legs(source, each, owners, self.book),
                *incoming_leg(incoming, order.place, self.book),
            )
            there = walk_forward(legs, planned).finish
            latest = None if need is None else walk_back(legs, need).start
            yield Faster(
                expedite=each,
                latest=latest,
                order_by=None if latest is None else previous_open_day(order.asked, latest),
                there=there,
                in_time=None if need is None else there <= need,
                valid=None if each.valid_until is None else planned <= each.valid_until,
            )

    def _path(self, orders: Iterable[OrderDates], other_than: str = "") -> Path | None:
        """Return the chain of the most pressing order, from what holds it up at the latest to the arrival.

        ``other_than`` passes over chains that begin with that item.
        """
        for each in orders:
            before = trace_back(self.network, self.early, each.order.first)
            path = self._along((*before[:-1], *each.chain))
            if each.slack is not None and path.items[0] != other_than:
                return replace(path, slack=each.slack)
        return None

    def _along(self, strips: Sequence[int]) -> Path:
        items = dict.fromkeys(self.network.activities[index].item for index in strips)
        first = self.late[strips[0]]
        slack = None if first is None else (first.start - self.early[strips[0]].start).days
        return Path(strips=tuple(strips), items=tuple(items), slack=slack)


def _start(lies: Lies | None) -> dt.date | None:
    return None if lies is None else lies.start


def _starts(network: Network, late: Sequence[Lies | None]) -> dict[str, dt.date]:
    firsts = {number: late[first] for number, (first, _) in network.runs.items()}
    return {number: lies.start for number, lies in firsts.items() if lies is not None}


def _first_of_all(network: Network, late: Sequence[Lies | None]) -> int | None:
    """Return the activity that has to begin first of those that have not begun."""
    begun = {
        index
        for order in network.orders
        if order.ordered is not None
        for index in range(order.first, order.last + 1)
    }
    dated = [
        (lies.start, index) for index, lies in enumerate(late) if lies is not None and index not in begun
    ]
    return min(dated)[1] if dated else None


def build_days(job: Job, book: Book) -> BuildDays:
    """Return the latest dates of a build, as other answers use them; empty where the plan gives none.

    Raises NoSuchDay.
    """
    network = network_of(job, book)
    late = backward(network)
    needs: dict[str, dt.date] = {}
    for order in network.orders:
        lies = late[order.last]
        if order.kind == "part" and lies is not None and lies.due is not None:
            needs[order.item] = min(needs.get(order.item, lies.due), lies.due)
    ships = _start(late[network.ships])
    return BuildDays(
        starts=_starts(network, late),
        needs=needs,
        ships=ships,
        arrives=None if ships is None else _arrives(job, book, ships),
    )


def _arrives(job: Job, book: Book, ships: dt.date) -> dt.date | None:
    product, build = job.product, job.build
    factory = maker_of(build, product.assemblies.get(build.sku))
    customer = customer_of(product, job.plan, build)
    legs = lane_legs(product.lanes.get(build.lane or ""), factory, customer, book, "likely")
    chain = walk_forward(legs, ships)
    return None if chain.at_least else chain.finish


def latest_kickoff(job: Job, receive_by: dt.date, book: Book) -> Kickoff | None:
    """Return the latest day on which the whole chain of a build can start to be received by a day.

    The build's own dates play no part, nor what was begun; stock and open orders do (``job.covers``). None if
    there is nothing left to begin. Raises NoSuchDay.
    """
    build = replace(job.build, receive_by=When(day=receive_by), ship=None, start=None)
    network = network_of(replace(job, build=build), book)
    late = backward(network)
    index = _first_of_all(network, late)
    lies = late[index] if index is not None else None
    if index is None or lies is None:
        return None
    path = trace_on(network, late, index)
    return Kickoff(
        day=lies.start,
        item=network.activities[index].item,
        strips=tuple(network.activities[each] for each in path),
        bound=any(each.time.duration is None for each in network.activities),
    )
