"""Every document of a plan that becomes money: who pays whom, how much, on which events, and why.

Amounts come from the purchase list, the unit cost and the schedule, never typed twice; terms decide only when
they are paid. What is not known stays in the list, so that the balance can say what it leaves out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import Bought, BuyRow, OrderLine
from ferrule.compute.calendars import LegTime, calendar_of, walk_forward
from ferrule.compute.cost import UnitCost, duty_at
from ferrule.compute.demand import maker_of, us
from ferrule.compute.factory import CONSIGNED
from ferrule.compute.leads import lane_legs, rough_days, source_legs
from ferrule.compute.outlays import occurrences
from ferrule.compute.owners import Book, Owners
from ferrule.compute.rates import Rates
from ferrule.compute.schedule import BuildDates, PlanDates, Strip
from ferrule.model.due import Due
from ferrule.model.duration import Duration
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Lane
from ferrule.model.records.part import Source
from ferrule.model.records.plan import Build, PlanFile
from ferrule.model.shares import Share

__all__ = ["Bill", "Facts", "bills_of"]

_ZERO = Fraction(0)
Events = Mapping[str, dt.date | None]


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


class Facts(Struct, frozen=True, kw_only=True):
    """What a plan's bills are made from: purchases (stock netted), the cost of each build's unit, dates."""

    product: Product
    plan: PlanFile
    rates: Rates
    book: Book
    bought: Bought
    costs: Mapping[str, UnitCost]
    dates: PlanDates

    @property
    def home(self) -> str:
        """Return the home currency."""
        return self.product.head.currency


def bills_of(facts: Facts) -> tuple[Bill, ...]:
    """Return all bills of a plan but its sales, in the order tools, purchases, builds, ways home, the rest."""
    maker = _Maker(facts)
    return (
        *maker.tools(),
        *maker.purchases(),
        *maker.open_orders(),
        *maker.builds(),
        *maker.ways(),
        *maker.outlays(),
        *maker.funding(),
    )


class _Maker:
    def __init__(self, facts: Facts) -> None:
        self.facts, self.product, self.plan = facts, facts.product, facts.plan
        self.own = us(facts.product)
        self.days = {build.build: _build_days(facts, build) for build in facts.dates.builds}

    def _own_amount(self, amount: Fraction | None, currency: str) -> Fraction | None:
        """Return a home amount in another currency."""
        return None if amount is None else self.facts.rates.convert(amount, self.facts.home, currency)

    def _currency(self, firm: str | None) -> str:
        record = self.product.firms.get(firm or "")
        return (record.currency if record is not None else None) or self.facts.home

    def _terms(self, firm: str | None, own: tuple[Payment, ...] = ()) -> tuple[Payment, ...]:
        record = self.product.firms.get(firm or "")
        return own or (record.payment if record is not None else ())

    def _shipped(self, sku_parts: Iterable[str]) -> tuple[tuple[dt.date | None, Fraction], ...]:
        """Return the units of the builds that use some parts, by the day they ship."""
        wanted = set(sku_parts)
        found = []
        for demand in self.facts.bought.demands:
            made = {each.assembly for each in demand.made} | {use.part for use in demand.uses}
            if wanted & made:
                found.append((self.days[demand.run.name].get("shipment"), demand.run.qty))
        return tuple(found)

    def tools(self) -> Iterator[Bill]:
        """Yield a bill for each tool that costs something."""
        for number, tool in sorted(self.product.tools.items()):
            if tool.amount is not None and not tool.amount.number:
                continue
            currency = (
                tool.amount.currency
                if tool.amount is not None and tool.amount.currency
                else self._currency(tool.firm)
            )
            yield Bill(
                name=f"{number} {tool.name}",
                kind="tools" if tool.kind not in ("certification", "engineering", "set-up") else tool.kind,
                payer=self.own,
                payee=tool.firm or "not named",
                amount=None if tool.amount is None else Fraction(tool.amount.number),
                currency=currency,
                payments=self._terms(tool.firm, tool.schedule),
                events=self._tool_events(number),
                units=self._shipped(tool.makes),
                reason=f"{tool.kind} {tool.name}",
                home=("tool", number, "amount"),
            )

    def _tool_events(self, number: str) -> dict[str, dt.date | None]:
        """Return the days of a tool: its order, the end of its first leg, its approval, the first build's days."""
        tool = self.product.tools[number]
        found = [
            (build, order)
            for build in self.facts.dates.builds
            for order in build.orders
            if order.item == number
        ]
        events: dict[str, dt.date | None] = {"order": tool.ordered, "kick-off": tool.ordered}
        events["approval"] = tool.approved
        if found:
            build, order = min(found, key=lambda pair: (pair[1].order_by or dt.date.max, pair[0].build))
            day = tool.ordered or _order_day(order.order_by, order.planned)
            legs = [build.strips[index] for index in range(order.order.first, order.order.last + 1)]
            begun = tool.ordered is not None or (order.order_by is not None and order.order_by < build.today)
            ends = [_finish(leg, begun=begun) for leg in legs]
            events |= {"order": day, "kick-off": day, "first shots": ends[0] if ends else None}
            events["approval"] = tool.approved or (ends[-1] if ends else None)
            events["invoice"] = events["receipt"] = events["approval"]
            events |= {name: value for name, value in self.days[build.build].items() if name not in events}
        return events

    def purchases(self) -> Iterator[Bill]:
        """Yield a bill for everything we order ourselves, and for what a factory's leftovers come to."""
        for row in self.facts.bought.rows:
            if row.buyer == self.own:
                for order in row.orders:
                    yield self._purchase(row, order)
            elif row.buyer is not None:
                yield from self._covered(row)

    def _purchase(self, row: BuyRow, order: OrderLine) -> Bill:
        source = order.quote.source
        currency = order.quote.currency or self._currency(source.seller)
        kind = "part" if row.part in self.product.parts else "assembly"
        once = order.one_off
        spend = None if order.spend is None else order.spend + once
        return Bill(
            name=f"order of {row.part}",
            kind="own purchases",
            payer=self.own,
            payee=source.seller or "seller not known",
            amount=self._own_amount(spend, currency),
            currency=currency,
            payments=self._terms(source.seller, self._sources(row.part)[order.quote.index].payment),
            events=self._source_events(row, order),
            reason=f"{row.part}: we buy and send it",
            home=(kind, row.part, "source", order.quote.index),
            facts=(f"order quantity {order.qty}", f"order by {order.order_by}"),
        )

    def _source_events(self, row: BuyRow, order: OrderLine) -> dict[str, dt.date | None]:
        source = order.quote.source
        day = _order_day(order.order_by, self.facts.bought.ask.today)
        legs = source_legs(source, Owners(seller=source.seller), self.facts.book, "likely", order.qty)
        inbound = 1 if source.inbound is not None else 0
        sent = _end(legs[: len(legs) - inbound], day)
        there = _end(legs, day)
        return {
            "order": day,
            "kick-off": day,
            "shipment": sent,
            "invoice": sent,
            "arrival": there,
            "receipt": there,
            "start": min((each.day for _, each in row.wanted if each.day is not None), default=None),
        }

    def _covered(self, row: BuyRow) -> Iterator[Bill]:
        """Yield what we must take over of a factory's leftovers, where its terms say after how long."""
        firm = self.product.firms.get(row.buyer or "")
        terms = firm.factory if firm is not None else None
        bought = sum((order.qty for order in row.orders), _ZERO)
        left = min(row.left, bought)
        if terms is None or terms.covers_stock is None or left <= 0 or row.left_value is None:
            return
        value = row.left_value * left / row.left
        markup = Fraction(terms.stock_markup.fraction) if terms.stock_markup is not None else _ZERO
        storage = Fraction(terms.stock_storage.fraction) if terms.stock_storage is not None else _ZERO
        months = _months(terms.covers_stock)
        last = max((each.day for _, each in row.wanted if each.day is not None), default=None)
        currency = self._currency(row.buyer)
        amount = value * (1 + markup + storage * months)
        yield Bill(
            name=f"leftover of {row.part}",
            kind="leftovers",
            payer=self.own,
            payee=row.buyer or "",
            amount=self._own_amount(amount, currency),
            currency=currency,
            payments=(),
            events={"": None if last is None else _later(last, terms.covers_stock)},
            reason=f"{row.part}: the factory's leftover, taken over after {terms.covers_stock}",
            home=("firm", row.buyer or "", "factory", "covers_stock"),
        )

    def open_orders(self) -> Iterator[Bill]:
        """Yield what is still to pay on orders already placed."""
        for index, order in enumerate(self.product.orders):
            if order.each is None:
                amount, currency = None, self._currency(order.seller)
            else:
                amount = Fraction(order.qty) * Fraction(order.each.number)
                currency = order.each.currency or self._currency(order.seller)
            source = next((s for s in self._sources(order.part) if s.seller == order.seller), None)
            yield Bill(
                name=f"{order.id}, {order.part}",
                kind="open orders",
                payer=self.own,
                payee=order.seller,
                amount=amount,
                currency=currency,
                payments=self._terms(order.seller, source.payment if source is not None else ()),
                events={
                    "order": order.ordered,
                    "kick-off": order.ordered,
                    "shipment": order.due,
                    "invoice": order.due,
                    "arrival": order.due,
                    "receipt": order.due,
                },
                reason=f"{order.part}, ordered {order.ordered or 'on no stated day'}",
                home=("order", index),
                paid=Fraction(order.paid.fraction) if order.paid is not None else _ZERO,
            )

    def _sources(self, part: str) -> tuple[Source, ...]:
        item = self.product.item(part)
        return item.source if item is not None else ()

    def builds(self) -> Iterator[Bill]:
        """Yield the factory's bill for each build: its price of a unit times the units."""
        for build in self.plan.build:
            cost = self.facts.costs.get(build.name)
            if cost is None:
                continue
            factory = maker_of(build, self.product.assemblies.get(build.sku))
            currency = self._currency(factory)
            unpriced = any(each.amount is None for each in cost.contributions if each.element != CONSIGNED)
            yield Bill(
                name=f"factory, {build.name}",
                kind="factory",
                payer=self.own,
                payee=factory or "factory not named",
                amount=None if unpriced else self._own_amount(cost.factory * Fraction(build.qty), currency),
                currency=currency,
                payments=self._terms(factory, build.payment),
                events=self.days[build.name],
                units=((self.days[build.name].get("shipment"), Fraction(build.qty)),),
                reason=f"{build.qty} {build.sku} at the pooled price of a unit",
                home=("plan", self.plan.plan.id, "build", self.plan.build.index(build)),
            )

    def ways(self) -> Iterator[Bill]:
        """Yield freight, duty and import tax of each build."""
        for build in self.plan.build:
            cost = self.facts.costs.get(build.name)
            lane = self.product.lanes.get(build.lane or "")
            if cost is None or cost.landed is None or lane is None:
                continue
            yield from self._freight(build, cost, lane)
            yield from self._customs(build, cost, lane)

    def _freight(self, build: Build, cost: UnitCost, lane: Lane) -> Iterator[Bill]:
        landed = cost.landed
        if landed is None:
            return
        kept = [
            e
            for e in landed.elements
            if e.kind not in ("goods", "consigned", "tools", "duty", "entry fee", "import tax")
        ]
        if not kept:
            return
        currency = lane.currency or self._currency(lane.carrier)
        known = None if any(e.amount is None for e in kept) else sum((e.amount or _ZERO for e in kept), _ZERO)
        yield Bill(
            name=f"way home, {build.name}",
            kind="freight",
            payer=self.own,
            payee=lane.carrier or "carrier not named",
            amount=self._own_amount(known, currency),
            currency=currency,
            payments=self._terms(lane.carrier, lane.payment),
            events=self.days[build.name],
            reason=f"{lane.name}: {', '.join(dict.fromkeys(e.name for e in kept))}",
            home=("lane", build.lane or ""),
        )

    def _customs(self, build: Build, cost: UnitCost, lane: Lane) -> Iterator[Bill]:
        landed = cost.landed
        if landed is None:
            return
        entry = {"": self.days[build.name].get("entry")}
        kept = [e for e in landed.elements if e.kind in ("duty", "entry fee", "import tax")]
        where = lane.destination or "customs"
        if kept:
            known = (
                None if any(e.amount is None for e in kept) else sum((e.amount or _ZERO for e in kept), _ZERO)
            )
            yield self._simple(
                f"duty, {build.name}", "duty", f"customs of {where}", known, entry, ("lane", build.lane or "")
            )
        tax = landed.recovered_tax
        if tax is None:
            return
        home = ("lane", build.lane or "")
        yield self._simple(
            f"import tax, {build.name}", "import tax", f"customs of {where}", tax.amount, entry, home
        )
        back = {"": self._recovered(entry[""], cost)}
        yield self._simple(
            f"import tax back, {build.name}",
            "import tax",
            f"customs of {where}",
            tax.amount,
            back,
            home,
            incoming=True,
        )

    def _recovered(self, entry: dt.date | None, cost: UnitCost) -> dt.date | None:
        lane = self.product.lanes.get(cost.ask.lane or "")
        duty = duty_at(self.product, cost.ask.sku, lane) if lane is not None else None
        if entry is None or duty is None or duty.import_tax_recovered is None:
            return None
        return _later(entry, duty.import_tax_recovered)

    def _simple(  # noqa: PLR0913, PLR0917  one amount on one day, with all that belongs to it
        self,
        name: str,
        kind: str,
        other: str,
        amount: Fraction | None,
        events: Events,
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
            payer=other if incoming else self.own,
            payee=self.own if incoming else other,
            amount=amount,
            currency=self.facts.home,
            payments=(),
            events=events,
            reason=name,
            home=home,
            incoming=incoming,
            signed=signed,
            financing=financing,
        )

    def outlays(self) -> Iterator[Bill]:
        """Yield overhead, day by day, and one-off costs."""
        plan = self.plan.plan
        for index, overhead in enumerate(self.plan.overhead):
            for day in occurrences(plan, overhead):
                yield self._money_bill(
                    overhead.name,
                    overhead.kind,
                    overhead.amount,
                    {"": day},
                    ("plan", plan.id, "overhead", index),
                )
        first = self.days.get(self.plan.build[0].name, {}) if self.plan.build else {}
        for index, once in enumerate(self.plan.one_off):
            events: dict[str, dt.date | None] = dict(first)
            if once.when is not None:
                own = once.when.on(plan.start)
                events |= dict.fromkeys(("", "invoice", "order", "receipt"), own)
            payments = once.payment
            if once.due is not None and not payments:
                payments = _whole(once.due)
            yield self._money_bill(
                once.name,
                once.kind,
                once.amount,
                events,
                ("plan", plan.id, "one_off", index),
                once.payee,
                payments,
            )
        for index, loan in enumerate(self.plan.loan):
            if loan.fee is not None:
                day = loan.from_.on(plan.start) if loan.from_ is not None else plan.start
                yield self._money_bill(
                    f"fee of {loan.name}",
                    "loan fee",
                    loan.fee,
                    {"": day},
                    ("plan", plan.id, "loan", index),
                    loan.lender,
                )

    def _money_bill(  # noqa: PLR0913, PLR0917  one stated amount with all that belongs to it
        self,
        name: str,
        kind: str,
        amount: Money,
        events: Events,
        home: tuple[str | int, ...],
        payee: str | None = None,
        payments: tuple[Payment, ...] = (),
    ) -> Bill:
        return Bill(
            name=name,
            kind=kind,
            payer=self.own,
            payee=payee or name,
            amount=Fraction(amount.number),
            currency=amount.currency or self._currency(payee),
            payments=payments,
            events=events,
            reason=name,
            home=home,
        )

    def funding(self) -> Iterator[Bill]:
        """Yield money that comes without a sale, and loans paid back, their interest apart. Grants are income."""
        plan = self.plan.plan
        for index, fund in enumerate(self.plan.funding):
            day = fund.when.on(plan.start)
            home = ("plan", plan.id, "funding", index)
            other = fund.payer or fund.name
            amount = self.facts.rates.money(fund.amount, self.facts.home, self.facts.home)
            financing = fund.kind in ("equity", "loan", "deposit")
            yield self._simple(
                fund.name,
                fund.kind,
                other,
                amount,
                {"": day},
                home,
                incoming=True,
                signed=fund.signed,
                financing=financing,
            )
            if fund.repay is None:
                continue
            back = fund.repay.on(plan.start)
            yield self._simple(
                f"{fund.name}, paid back",
                fund.kind,
                other,
                amount,
                {"": back},
                home,
                signed=fund.signed,
                financing=financing,
            )
            if fund.interest is not None and fund.interest.number:
                part = (
                    Fraction(fund.interest.fraction) * (back - day).days / self.product.conventions.year_days
                )
                owed = None if amount is None else amount * part
                name = f"interest of {fund.name}"
                yield self._simple(name, "interest", other, owed, {"": back}, home, signed=fund.signed)


def _whole(due: Due) -> tuple[Payment, ...]:
    return (Payment(share=Share(), due=due),)


def _order_day(latest: dt.date | None, today: dt.date) -> dt.date:
    """Return the day an order is placed: as late as it may be, today where that has passed or is not known."""
    return today if latest is None else max(latest, today)


def _finish(strip: Strip, *, begun: bool) -> dt.date:
    lies = strip.early if begun or strip.late is None else strip.late
    return lies.finish


def _end(legs: Iterable[LegTime], day: dt.date) -> dt.date | None:
    chain = walk_forward(tuple(legs), day)
    return None if chain.at_least else chain.finish


def _later(day: dt.date, span: Duration) -> dt.date:
    """Return the day a span later, working days from Monday to Friday."""
    leg = LegTime(name="", calendar=calendar_of(None), duration=span)
    return walk_forward((leg,), day + dt.timedelta(days=1)).finish


def _months(span: Duration) -> Fraction:
    """Return a span in months of thirty days, for storage charged by the month."""
    return rough_days(span) / 30


def _build_days(facts: Facts, build: BuildDates) -> dict[str, dt.date | None]:
    """Return the days of a build that terms can name, shifted as a whole where it is late at best."""
    shift, record = dt.timedelta(days=build.late_by), build.job.build
    stated = record.ship.on(facts.plan.plan.start) if record.ship is not None else None
    ships = build.ships or stated  # a stated day to ship needs no way home
    ships = ships + shift if ships is not None else None
    lane = facts.product.lanes.get(record.lane or "")
    legs = lane_legs(lane, None, None, facts.book, "likely") if lane is not None else ()
    arrives = _end(legs, ships) if ships is not None and legs else None
    orders = [order for order in build.orders if order.order.kind == "part" and order.order.ordered is None]
    firsts = [_order_day(order.order_by, build.today) for order in orders]
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
