"""How the activities of a build hang together: what each leg waits for.

Parts are due when the first batch begins the step that needs them, not when the assembly starts; a tool before
the step whose fixture it is, else before the first step of what it makes, and before a bought part that it makes
is ordered. A sub-assembly is there when its last unit is. Parts pass the factory's incoming inspection first;
so does a sub-assembly that another factory makes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec.structs import replace

from ferrule.compute.activities import Activity, Cover, ItemKind, Job, Network, Order
from ferrule.compute.calendars import LegTime, walk_forward
from ferrule.compute.demand import maker_of
from ferrule.compute.leads import (
    ask_calendar,
    incoming_leg,
    lane_legs,
    preferred,
    source_legs,
    tool_legs,
)
from ferrule.compute.owners import Book, Owners, customer_of
from ferrule.compute.placement import Place, places_of
from ferrule.compute.running import at_step, run_legs
from ferrule.model.duration import Duration
from ferrule.model.records.firms import Factory
from ferrule.model.records.part import Source
from ferrule.model.records.tool import Tool
from ferrule.model.when import When

__all__ = ["network_of"]

_DAY = dt.timedelta(days=1)


def network_of(job: Job, book: Book) -> Network:
    """Return the network of a build in some calendars. Raises NoSuchDay."""
    return _Weaver(job, book).network()


class _Weaver:
    """Adds activities, what is waited for before what waits."""

    def __init__(self, job: Job, book: Book) -> None:
        self.job, self.book, self.product, self.build = job, book, job.product, job.build
        self.places = places_of(job.product, job.demand)
        self.activities: list[Activity] = []
        self.orders: list[Order] = []
        self.runs: dict[str, tuple[int, int]] = {}
        self.in_stock: set[str] = set()
        #: Activities to wait for, by assembly or part and leg of it.
        self.waits: dict[tuple[str, int], list[int]] = {}

    def network(self) -> Network:
        for number in sorted(self.product.tools):
            self._tool(number, self.product.tools[number])
        for (part, factory), places in sorted(self._bought().items(), key=lambda each: str(each[0])):
            self._part(part, factory, places)
        for number in reversed(dict.fromkeys(made.assembly for made in self.job.demand.made)):
            if number != self.build.sku:
                self._assembly(number)
        ships = self._delivery()
        return Network(
            build=self.build.name,
            activities=tuple(self.activities),
            orders=tuple(self.orders),
            runs=self.runs,
            ships=ships,
            in_stock=tuple(sorted(self.in_stock)),
        )

    def _factory(self, number: str) -> str | None:
        """Return who makes an assembly."""
        return maker_of(self.build, self.product.assemblies.get(number))

    def _terms(self, factory: str | None) -> Factory | None:
        firm = self.product.firms.get(factory or "")
        return firm.factory if firm is not None else None

    def _chain(
        self, item: str, kind: ItemKind, legs: Iterable[LegTime], after: Iterable[int] = ()
    ) -> tuple[int, int]:
        """Add legs one after the other and return the first and last."""
        first, waits = len(self.activities), tuple(after)
        for leg in legs:
            self.activities.append(Activity(item=item, kind=kind, time=leg, after=waits))
            waits = (len(self.activities) - 1,)
        return first, len(self.activities) - 1

    def _ordered(self, order: Order) -> int:
        """Keep an order, let its first leg begin as it did or as its seller takes orders; return its last."""
        self.orders.append(order)
        self.activities[order.first] = replace(
            self.activities[order.first], begun=order.ordered, asked=order.asked
        )
        return order.last

    def _wait(self, item: str, leg: int, activity: int) -> None:
        self.waits.setdefault((item, leg), []).append(activity)

    # Tools

    def _tool(self, number: str, tool: Tool) -> None:
        """Add a tool that something in this build waits for; an approved one is done."""
        needs = self._needs(number, tool)
        if tool.approved is not None or not needs:
            return
        first, last = self._chain(number, "tool", tool_legs(tool, self.book, self.job.kind))
        self._ordered(
            Order(
                item=number,
                kind="tool",
                first=first,
                last=last,
                seller=tool.firm,
                ordered=tool.ordered,
                asked=self.book.of_firm(tool.firm),
            )
        )
        for need in needs:
            self._wait(*need, last)
        self._legs_with_a_step(tool, first, last)

    def _needs(self, number: str, tool: Tool) -> list[tuple[str, int]]:
        """Return what waits for a tool: the steps whose fixture it is, else the first of what it makes."""
        needs = []
        assemblies = {made.assembly for made in self.job.demand.made}
        fixed = [(name, step) for name in sorted(assemblies) for step in self._fixed(number, name)]
        bought = {place.part for place in self.places if not place.made}
        for made in tool.makes:
            is_fixed = any(name == made for name, _ in fixed)
            if (made in assemblies or made in bought) and not is_fixed:
                needs.append((made, 0))
        return [*fixed, *needs]

    def _fixed(self, tool: str, number: str) -> list[int]:
        assembly = self.product.assemblies.get(number)
        steps = assembly.steps if assembly is not None else ()
        return [at_step(assembly, index) for index, step in enumerate(steps) if step.fixture == tool]

    def _legs_with_a_step(self, tool: Tool, first: int, last: int) -> None:
        """Let a step wait for the leg that must be finished before it, in whatever assembly made here."""
        if last - first + 1 != len(tool.leg):
            return
        for position, leg in enumerate(tool.leg):
            for number in dict.fromkeys(made.assembly for made in self.job.demand.made):
                assembly = self.product.assemblies.get(number)
                names = [step.name for step in assembly.steps] if assembly is not None else []
                if leg.step is not None and leg.step in names:
                    self._wait(number, at_step(assembly, names.index(leg.step)), first + position)

    # Parts

    def _bought(self) -> dict[tuple[str, str | None], list[Place]]:
        found: dict[tuple[str, str | None], list[Place]] = {}
        for place in self.places:
            if not place.made:
                found.setdefault((place.part, self._factory(place.assembly)), []).append(place)
        return found

    def _part(self, part: str, factory: str | None, places: Sequence[Place]) -> None:
        cover = self.job.covers.get(part)
        if cover is not None and cover.due is None:
            self.in_stock.add(part)
            return
        item = self.product.item(part)
        sources = item.source if item is not None else ()
        chosen = self.job.chosen.get(part) or preferred(sources)
        lasts = (
            [self._open_order(part, factory, cover)]
            if cover is not None
            else [self._order(part, factory, index, sources[index]) for index in chosen]
            or [self._sourceless(part, factory)]
        )
        for place in places:
            leg = at_step(self.product.assemblies.get(place.assembly), place.step)
            for last in lasts:
                self._wait(place.assembly, leg, last)

    def _order(self, part: str, factory: str | None, index: int, source: Source) -> int:
        owners = Owners(seller=source.seller, factory=factory)
        legs = source_legs(source, owners, self.book, self.job.kind, self._units(part))
        first, last = self._chain(
            part, "part", (*legs, *self._incoming(factory)), self.waits.get((part, 0), ())
        )
        return self._ordered(
            Order(
                item=part,
                kind="part",
                first=first,
                last=last,
                seller=source.seller,
                source=index,
                place=factory,
                asked=ask_calendar(source, self.book),
            )
        )

    def _open_order(self, part: str, factory: str | None, cover: Cover) -> int:
        """Add what is on order: it comes on its promised day, whatever its lead time."""
        due = cover.due or dt.date.min
        begun = min(cover.ordered or due, due)
        days = Duration(Decimal((due - begun).days + 1), "days")
        leg = LegTime(name=f"on order {cover.order}".rstrip(), calendar=self.book.weekends, duration=days)
        first, last = self._chain(part, "part", (leg, *self._incoming(factory)))
        return self._ordered(
            Order(
                item=part,
                kind="part",
                first=first,
                last=last,
                place=factory,
                ordered=begun,
                asked=self.book.weekends,
                cover=cover,
            )
        )

    def _sourceless(self, part: str, factory: str | None) -> int:
        weekends = self.book.weekends
        leg = LegTime(name="no source", calendar=weekends, duration=None)
        first, last = self._chain(
            part, "part", (leg, *self._incoming(factory)), self.waits.get((part, 0), ())
        )
        return self._ordered(
            Order(item=part, kind="part", first=first, last=last, place=factory, asked=weekends)
        )

    def _units(self, part: str) -> Fraction:
        return sum((use.quantity for use in self.job.demand.uses if use.part == part), Fraction(0))

    def _incoming(self, factory: str | None) -> tuple[LegTime, ...]:
        terms = self._terms(factory)
        return incoming_leg(terms.incoming if terms is not None else None, factory, self.book)

    # Assemblies

    def _run(self, number: str) -> tuple[LegTime, ...]:
        """Return the legs of making all that the build needs of an assembly."""
        made = [made.starts for made in self.job.demand.made if made.assembly == number]
        factory = self._factory(number)
        terms = self._terms(factory) if number == self.build.sku else None
        return run_legs(
            self.product.assemblies.get(number),
            sum(made, Fraction(0)),
            factory,
            self.book,
            terms.capacity_per_week if terms is not None else None,
        )

    def _assembly(self, number: str) -> None:
        self._steps(number, self._run(number))
        for place in self.places:
            if place.made and place.part == number:
                leg = at_step(self.product.assemblies.get(place.assembly), place.step)
                self._wait(place.assembly, leg, self._received(number, place.assembly))

    def _steps(self, number: str, legs: Sequence[LegTime]) -> None:
        """Add the legs of a run; each waits for the one before and for what its step needs."""
        first = len(self.activities)
        for position, leg in enumerate(legs):
            before = (len(self.activities) - 1,) if position else ()
            waits = (*before, *self.waits.get((number, position), ()))
            self.activities.append(Activity(item=number, kind="assembly", time=leg, after=waits))
        self.runs[number] = (first, len(self.activities) - 1)

    def _received(self, number: str, parent: str) -> int:
        """Return the last activity before an assembly can be used in another."""
        last, factory = self.runs[number][1], self._factory(parent)
        legs = self._incoming(factory) if factory != self._factory(number) else ()
        return self._chain(number, "assembly", legs, (last,))[1] if legs else last

    # Delivery

    def _delivery(self) -> int:
        """Add the run of what is built, inspection and shipping, with the dates the plan gives."""
        sku, build, factory = self.build.sku, self.build, self._factory(self.build.sku)
        run = self._run(sku)
        inspected = tuple(self._inspection(factory))
        lane = lane_legs(
            self.product.lanes.get(build.lane or ""),
            factory,
            customer_of(self.product, self.job.plan, build),
            self.book,
            self.job.kind,
        )
        self._steps(sku, run)
        first, finished = self.runs[sku]
        if inspected:
            finished = self._chain(build.name, "build", inspected, (finished,))[1]
        ships, arrived = self._chain(build.name, "build", lane, (finished,))
        if build.start is not None:
            self._pin(first, (*run, *inspected, *lane), build.start)
            if (
                run[0].duration is None
            ):  # its first day is stated, so what comes before it is due all the same
                self._limit(first, due=build.start.on(self.job.plan.plan.start) - _DAY)
        if build.ship is not None:
            self._pin(ships, lane, build.ship)
            self._limit(finished, due=build.ship.on(self.job.plan.plan.start) - _DAY)
        if build.receive_by is not None:
            self._limit(arrived, due=build.receive_by.on(self.job.plan.plan.start))
        return ships

    def _inspection(self, factory: str | None) -> Iterator[LegTime]:
        if self.build.inspection is not None:
            yield LegTime(
                name="inspection before shipment",
                calendar=self.book.of_firm(factory),
                duration=self.build.inspection,
            )

    def _pin(self, first: int, legs: Sequence[LegTime], when: When) -> None:
        """Let legs to the end begin on a day of the plan, and each be due when it is over if they do."""
        day = when.on(self.job.plan.plan.start)
        self._limit(first, not_before=day)
        for index, stretch in enumerate(walk_forward(legs, day).stretches, first):
            if stretch.walked is not None and not stretch.at_least:
                self._limit(index, due=stretch.walked.finish)

    def _limit(self, index: int, *, due: dt.date | None = None, not_before: dt.date | None = None) -> None:
        """Hold an activity to a day as well: a due day never moves later, a first day never earlier."""
        held = self.activities[index]
        dues = [day for day in (held.due, due) if day is not None]
        starts = [day for day in (held.not_before, not_before) if day is not None]
        self.activities[index] = replace(
            held, due=min(dues, default=None), not_before=max(starts, default=None)
        )
