"""What a plan binds itself to, and when: orders of ours, orders of the factory, tools, builds, each with its payments.

Every part is pooled as it is bought. What builds use is taken from stock first, then from open orders in the order
of their days, then from what the plan orders; what is over when builds are dropped is what is owed for nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.billing import Bill, Purse, build_events, end_of
from ferrule.compute.bills import Facts, bills_of
from ferrule.compute.buy import BuyRow, OrderLine
from ferrule.compute.cash import Cash, Ground
from ferrule.compute.demand import us
from ferrule.compute.leads import rough_days, source_legs
from ferrule.compute.memory import Memory
from ferrule.compute.netting import Stores
from ferrule.compute.owners import Owners
from ferrule.compute.rates import Rates, rates_of
from ferrule.compute.regret_terms import is_made_for_us
from ferrule.compute.terms import to_coin
from ferrule.model.product import Product
from ferrule.model.records.firms import Factory
from ferrule.model.records.part import Source
from ferrule.model.records.plan import PlanFile

__all__ = ["Commitment", "Commitments", "Pool", "commitments_of", "in_layers", "made_of", "needs_of"]

_ZERO, _ONE = Fraction(0), Fraction(1)
Pool = tuple[str, str | None]
Kind = Literal["our orders", "open orders", "factory stock", "builds", "tools"]


class Commitment(Struct, frozen=True, kw_only=True):
    """One thing a plan is bound to from ``ordered`` on, at ``value`` in the home currency (None: not known).

    ``delivery`` is the day promised, of a build its start. ``qty`` of the pool's part is ordered. ``uplift`` is
    what a firm adds to stock that we must take over; None where it has no such right. ``payments`` are days and
    amounts; what was paid before any day is in ``settled``.
    """

    kind: Kind
    name: str
    firm: str
    ordered: dt.date | None
    delivery: dt.date | None
    value: Fraction | None
    home: tuple[str | int, ...]
    pool: Pool | None = None
    qty: Fraction = _ONE
    source: Source | None = None
    ncnr: bool | None = None
    ours: bool = False
    uplift: Fraction | None = _ONE
    storage: Fraction = _ZERO
    binds: int = 0
    payments: tuple[tuple[dt.date, Fraction], ...] = ()
    settled: Fraction = _ZERO

    def paid(self, day: dt.date) -> Fraction:
        """Return what is paid before a day."""
        return self.settled + sum((amount for on, amount in self.payments if on < day), _ZERO)

    def is_bound(self, day: dt.date) -> bool:
        """Return whether it is ordered before a day; a build is from its start, or once its forecast binds."""
        if self.kind == "builds":
            return self.delivery is not None and (self.delivery - day).days < self.binds
        return self.ordered is not None and self.ordered < day


class Commitments(Struct, frozen=True, kw_only=True):
    """All commitments of a plan, with what serves each pool before them and what every build needs of it.

    ``before`` is usable stock of a pool less what other runs take of it first (below zero: what they take of
    orders). ``needs`` holds the gross need by pool and build, ``made`` the pieces of each part and assembly in
    a build. ``unknown`` says what has no amount.
    """

    all: tuple[Commitment, ...]
    before: Mapping[Pool, Fraction]
    needs: Mapping[Pool, Mapping[str, Fraction]]
    made: Mapping[str, Mapping[str, Fraction]]
    rates: Rates
    unknown: tuple[str, ...]


def commitments_of(product: Product, plan: PlanFile, ground: Ground, cash: Cash) -> Commitments:
    """Return what a plan binds itself to when it is carried out as it stands. Raises NoSuchDay."""
    rates = rates_of(product)
    facts = Facts(
        product=product,
        plan=plan,
        purse=Purse(own=us(product), home=product.head.currency, rates=rates),
        book=ground.book,
        bought=ground.bought,
        costs=ground.costs,
        dates=ground.dates,
        days=build_events(ground.dates, plan.plan, product.lanes, ground.book),
    )
    maker = _Maker(facts, cash)
    found = tuple(maker.all())
    return Commitments(
        all=found,
        before={_pool(row): row.netted.usable - row.earlier for row in ground.bought.rows},
        needs=needs_of(ground),
        made=made_of(ground),
        rates=rates,
        unknown=tuple(
            dict.fromkeys(f"amount of {each.name}, {each.kind}" for each in found if each.value is None)
        ),
    )


def needs_of(ground: Ground) -> dict[Pool, dict[str, Fraction]]:
    """Return the gross need of each pool by build."""
    found: dict[Pool, dict[str, Fraction]] = {}
    for row in ground.bought.rows:
        own = found.setdefault(_pool(row), {})
        for name, wanted in row.wanted:
            own[name] = own.get(name, _ZERO) + wanted.gross
    return found


def made_of(ground: Ground) -> dict[str, dict[str, Fraction]]:
    """Return the pieces of every part and the good ones of every assembly in each build."""
    found: dict[str, dict[str, Fraction]] = {}
    for demand in ground.bought.demands:
        pieces = found.setdefault(demand.run.name, {})
        for use in demand.uses:
            pieces[use.part] = pieces.get(use.part, _ZERO) + use.pieces
        for each in demand.made:
            pieces[each.assembly] = pieces.get(each.assembly, _ZERO) + each.good
    return found


def _pool(row: BuyRow) -> Pool:
    return row.part, row.buyer


class _Maker:
    def __init__(self, facts: Facts, cash: Cash) -> None:
        self.facts, self.product = facts, facts.product
        self.purse, self.own, self.home = facts.purse, facts.purse.own, facts.purse.home
        groups = bills_of(facts, Memory())
        self.bills = {(bill.name, bill.home): bill for group in groups for bill in group}
        book = cash.ledger
        self.events: dict[tuple[str, tuple[str | int, ...]], list[tuple[dt.date, Fraction]]] = {}
        for event in (*book.before, *book.events, *book.after):
            if event.day is not None and event.amount is not None:
                self.events.setdefault((event.document, event.home), []).append((event.day, -event.amount))
        self.stores = Stores(self.product)
        self.buyers: dict[str, list[str]] = {}
        for row in facts.bought.rows:
            if row.buyer is not None:
                self.buyers.setdefault(row.part, []).append(row.buyer)

    def all(self) -> Iterator[Commitment]:
        """Yield every commitment: tools, orders, builds."""
        yield from self._tools()
        yield from self._open_orders()
        for row in self.facts.bought.rows:
            for order in row.orders:
                if row.buyer == self.own:
                    yield from self._own_order(row, order)
                elif row.buyer is not None:
                    yield self._factory_order(row, order, row.buyer)
        yield from self._builds()

    def _value(self, bill: Bill) -> Fraction | None:
        """Return what a bill comes to in the home currency, to the coin, as its payments do."""
        if bill.amount is None:
            return None
        amount = self.purse.rates.convert(to_coin(bill.amount, bill.currency), bill.currency, self.home)
        return None if amount is None else to_coin(amount, self.home)

    def _paid(self, bill: Bill) -> tuple[tuple[dt.date, Fraction], ...]:
        return tuple(self.events.get((bill.name, bill.home), ()))

    def _tools(self) -> Iterator[Commitment]:
        for (_, home), bill in self.bills.items():
            if home[0] == "tool":
                yield Commitment(
                    kind="tools",
                    name=str(home[1]),
                    firm=bill.payee,
                    ordered=bill.events.get("order"),
                    delivery=bill.events.get("approval"),
                    value=self._value(bill),
                    home=home,
                    payments=self._paid(bill),
                )

    def _open_orders(self) -> Iterator[Commitment]:
        pools: dict[int, Pool] = {}
        for part, buyers in self.buyers.items():
            for buyer in buyers:
                supplies = self.stores.supplies(part, buyer, self.own, buyers)
                pools |= {index: (part, buyer) for index, _ in supplies.orders}
        dated = sorted(enumerate(self.product.orders), key=lambda pair: (pair[1].due or dt.date.max, pair[0]))
        for index, order in dated:
            bill = self.bills[f"{order.id}, {order.part}", ("order", index)]
            item = self.product.item(order.part)
            sources = item.source if item is not None else ()
            value = self._value(bill)
            yield Commitment(
                kind="open orders",
                name=order.part,
                firm=order.seller,
                ordered=order.ordered or dt.date.min,
                delivery=order.due,
                value=value,
                home=bill.home,
                pool=pools.get(index),
                qty=Fraction(order.qty),
                source=next((each for each in sources if each.seller == order.seller), None),
                ncnr=order.ncnr,
                ours=is_made_for_us(item),
                payments=self._paid(bill),
                settled=(value or _ZERO) * bill.paid,
            )

    def _own_order(self, row: BuyRow, order: OrderLine) -> Iterator[Commitment]:
        kind = "part" if row.part in self.product.parts else "assembly"
        bill = self.bills.get((f"order of {row.part}", (kind, row.part, "source", order.quote.index)))
        if bill is None:
            return
        yield Commitment(
            kind="our orders",
            name=row.part,
            firm=bill.payee,
            ordered=bill.events.get("order"),
            delivery=bill.events.get("shipment"),
            value=self._value(bill),
            home=bill.home,
            pool=_pool(row),
            qty=order.qty,
            source=order.quote.source,
            ours=is_made_for_us(self.product.item(row.part)),
            payments=self._paid(bill),
        )

    def _factory_order(self, row: BuyRow, order: OrderLine, buyer: str) -> Commitment:
        kind = "part" if row.part in self.product.parts else "assembly"
        source = order.quote.source
        terms = self._factory(buyer)
        return Commitment(
            kind="factory stock",
            name=row.part,
            firm=buyer,
            ordered=order.order_day,
            delivery=self._delivery(source, order),
            value=order.spend,
            home=(kind, row.part, "source", order.quote.index),
            pool=_pool(row),
            qty=order.qty,
            source=source,
            ours=is_made_for_us(self.product.item(row.part)),
            uplift=_uplift(terms),
            storage=_share(terms.stock_storage) if terms is not None else _ZERO,
        )

    def _factory(self, firm: str) -> Factory | None:
        record = self.product.firms.get(firm)
        return record.factory if record is not None else None

    def _delivery(self, source: Source, order: OrderLine) -> dt.date | None:
        """Return the day a seller is done with an order of a factory, the way there left out."""
        legs = source_legs(source, Owners(seller=source.seller), self.facts.book, "likely", order.qty)
        return end_of(legs[: len(legs) - (source.inbound is not None)], order.order_day)

    def _builds(self) -> Iterator[Commitment]:
        for build in self.facts.plan.build:
            bill = next((each for each in self.bills.values() if each.name == f"factory, {build.name}"), None)
            if bill is None:
                continue
            terms = self._factory(bill.payee)
            binds = (
                rough_days(terms.forecast_binds)
                if terms is not None and terms.forecast_binds is not None
                else _ZERO
            )
            yield Commitment(
                kind="builds",
                name=build.name,
                firm=bill.payee,
                ordered=bill.events.get("order"),
                delivery=bill.events.get("start") or bill.events.get("shipment"),
                value=self._value(bill),
                home=bill.home,
                qty=Fraction(build.qty),
                binds=int(binds),
                payments=self._paid(bill),
            )


def _uplift(terms: Factory | None) -> Fraction | None:
    """Return one with mark-up and storage of stock that a factory may hand over; None where it may not."""
    if terms is None or terms.covers_stock is None:
        return None
    months = rough_days(terms.covers_stock) / 30
    return 1 + _share(terms.stock_markup) + _share(terms.stock_storage) * months


def _share(percent: object) -> Fraction:
    return Fraction(getattr(percent, "fraction", 0))


def in_layers(commitments: Sequence[Commitment], before: Fraction, used: Fraction) -> list[Fraction]:
    """Return how much of each commitment of a pool is left over when ``used`` is taken, stock first, then in turn."""
    left, over = used - before, []
    for each in commitments:
        taken = min(each.qty, max(_ZERO, left))
        left -= taken
        over.append(each.qty - taken)
    return over
