"""What a plan has to buy: demand pooled by part and buyer, netted by date, ordered from the chosen source.

Pooling holds inside one buyer: what the factory buys and what we buy and send are never one order. Whoever
buys, the money is in the home currency.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.alternates import Switch, with_alternates
from ferrule.compute.calendars import LegTime, NoSuchDay
from ferrule.compute.demand import Demand, Use, maker_of
from ferrule.compute.gross import Gross, Pack
from ferrule.compute.leads import incoming_leg, latest_order, lead_days
from ferrule.compute.needs import NO_GROSS
from ferrule.compute.netting import Netted, Wanted, counted, net_after
from ferrule.compute.owners import book_of
from ferrule.compute.pooling import Market, Pool, PoolNeeds, pools_of
from ferrule.compute.purchase import Basket, Later, Purchase, Strategy
from ferrule.compute.quotes import Doubt, Quote, standing
from ferrule.compute.runs import PlanRuns
from ferrule.compute.sourcing import Choice, Chosen, Way, available, choose
from ferrule.compute.worth import each_of, left_value, plain_sum_of, summed
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Source

__all__ = ["Ask", "Before", "Bought", "BuyRow", "OrderLine", "buy", "way_of"]

_ZERO = Fraction(0)


class Ask(Struct, frozen=True, kw_only=True):
    """How to buy: the day of asking, the strategy that decides, and how a source is picked."""

    today: dt.date
    strategy: Strategy = "least cash now"
    choice: Choice = "preferred"


class OrderLine(Struct, frozen=True, kw_only=True):
    """One order of a part at one source.

    ``qty`` is what is ordered; ``basket`` says at which prices, None where none is known. ``one_off`` is what the
    source asks once ever: it stands with the first of its orders. ``order_by`` is the last day that is early
    enough, None without lead time or date; ``doubts`` weaken the price. ``alone`` and ``rivals`` are those of the
    choice.
    """

    share: Fraction
    purchase: Purchase
    qty: Fraction
    basket: Basket | None
    order_by: dt.date | None
    order_day: dt.date
    doubts: tuple[Doubt, ...]
    one_off: Fraction = _ZERO
    alone: bool = False
    rivals: tuple[Purchase, ...] = ()

    @property
    def quote(self) -> Quote:
        """Return the source's quote."""
        return self.purchase.quote

    @property
    def spend(self) -> Fraction | None:
        """Return what the order costs with its charges, one-off ones aside; None where the price is not known."""
        return None if self.basket is None else self.basket.spend


class BuyRow(Struct, frozen=True, kw_only=True):
    """One part for one buyer, with its working. Quantities in the part's unit, money in the home currency.

    ``wanted`` holds each run's day and added gross need, by date; ``nets`` the net needs by the pack it comes in.
    ``before`` are the needs of earlier runs, ``earlier`` is what they take of stock and receipts. ``lacking`` is
    what no source can be asked for: none is there, or more is needed than they have allocated. ``quotes`` are those
    the orders were chosen from, less what other buyers take of an allocation; ``unfit`` packs cannot serve. ``left`` is what is
    over when all is built, stock on hand included; ``left_value`` its value, None where a price is missing.
    ``plain`` is the demand times the price paid, as a spreadsheet has it. ``later`` is firm demand that may use the
    leftover.
    """

    part: str
    buyer: str | None
    supply: str
    uses: tuple[Use, ...]
    wanted: tuple[tuple[str, Wanted], ...]
    gross: Gross
    netted: Netted
    nets: dict[Pack, tuple[Fraction, ...]]
    before: tuple[Wanted, ...]
    earlier: Fraction
    in_house: bool
    lacking: Fraction
    orders: tuple[OrderLine, ...]
    quotes: tuple[Quote, ...]
    unfit: frozenset[Pack]
    later: Later
    left: Fraction
    left_value: Fraction | None
    plain: Fraction | None
    unknown: tuple[str, ...]

    @property
    def ordered(self) -> Fraction:
        """Return the quantity ordered from all sources."""
        return sum((order.qty for order in self.orders), _ZERO)

    @property
    def spend(self) -> Fraction | None:
        """Return what all orders cost; None where one has no known price."""
        return summed(order.spend for order in self.orders)

    @property
    def is_short(self) -> bool:
        """Return whether something is needed and no source can be asked for it."""
        return self.netted.net > 0 and not self.orders and self.buyer is not None and not self.in_house


class Bought(Struct, frozen=True, kw_only=True):
    """The purchase list of some runs. ``good`` is the number of sellable units they make."""

    ask: Ask
    runs: PlanRuns
    demands: tuple[Demand, ...]
    rows: tuple[BuyRow, ...]
    switches: tuple[Switch, ...]
    good: Fraction
    unknown: tuple[str, ...]


class Before(Struct, frozen=True):
    """A purchase list of the same runs, and the parts that come out otherwise than in it; no other may."""

    bought: Bought
    changed: frozenset[str]

    @property
    def rows(self) -> dict[Pool, BuyRow]:
        """Return the rows of the other parts."""
        return {(row.part, row.buyer): row for row in self.bought.rows if row.part not in self.changed}


def buy(  # noqa: PLR0913  what is asked, and what is known of it before
    product: Product,
    runs: PlanRuns,
    ask: Ask,
    *,
    netted: bool = True,
    market: Market | None = None,
    before: Before | None = None,
) -> Bought:
    """Return what some runs have to buy; ``netted`` False asks for everything anew, stock left aside.

    ``market`` is the product's, where it has been asked before. ``before`` is a list from which the rows of
    all parts but some can be taken over.
    Raises ValueError where assemblies contain themselves.
    """
    asked = market or Market(product)
    demands = before.bought.demands if before else tuple(asked.demand(run) for run in runs.runs)
    uses = [use for demand in demands for use in demand.uses]
    desk = _Desk(asked, runs, ask, netted=netted)
    spread, switches = desk.with_alternates(uses)
    later = desk.needs.later_demand()
    pools = pools_of(spread)
    kept = before.rows if before else {}
    # What one buyer orders of a source leaves less for the next, so a part stays only with all its buyers.
    anew = {pool[0] for pool, group in pools.items() if pool not in kept or kept[pool].uses != tuple(group)}
    rows = tuple(
        desk.row(pool, tuple(group), later.get(pool, ())) if pool[0] in anew else kept[pool]
        for pool, group in pools.items()
    )
    return Bought(
        ask=ask,
        runs=runs,
        demands=demands,
        rows=rows,
        switches=switches,
        good=sum((run.qty for run in runs.runs), _ZERO),
        unknown=tuple(dict.fromkeys(words for demand in demands for words in demand.unknown)),
    )


def way_of(product: Product, runs: PlanRuns, ask: Ask) -> Way:
    """Return how the sources of some runs are picked; days count in their calendars."""
    book = runs.book or book_of(product)
    return Way(ask.choice, ask.strategy, lambda quote: lead_days(quote.source, book))


class _Desk:
    """Buys pool by pool, with what is the same for all of them at hand."""

    def __init__(self, market: Market, runs: PlanRuns, ask: Ask, *, netted: bool) -> None:
        self.market, self.runs, self.ask = market, runs, ask
        self.product = market.product
        self.needs = PoolNeeds(market, runs, netted=netted)
        self.book = runs.book or book_of(market.product)
        self.way = way_of(market.product, runs, ask)
        #: By part and source: what is ordered so far, over all buyers.
        self._ordered: dict[tuple[str, int], Fraction] = {}

    def with_alternates(self, uses: Sequence[Use]) -> tuple[tuple[Use, ...], tuple[Switch, ...]]:
        """Return the uses with alternates where the first part cannot be had in full."""
        runs = {run.name: run for run in self.runs.runs}
        spread, switches = with_alternates(self.product, uses, runs, self._lack)
        for use in spread:
            if use.buyer is not None and use.buyer not in self.needs.buyers.setdefault(use.part, []):
                self.needs.buyers[use.part].append(use.buyer)
        return spread, switches

    def _lack(self, pool: Pool, uses: Sequence[Use]) -> Fraction:
        """Return by how much a pool needs more than stock and sources have; buyers are served in their order."""
        part, buyer = pool
        item = self.market.item(part)
        if buyer is None or item is None or item.in_house:
            return _ZERO
        most = available(self.market.quotes(part))
        if most is None:
            return _ZERO
        for other, group in pools_of(uses).items():
            alone, held = self.needs.gross_alone(group), self.needs.held(other)
            need = max(_ZERO, alone - held) if other[1] is not None else _ZERO
            if other == pool:
                return max(_ZERO, need - most)
            most = max(_ZERO, most - need)
        return _ZERO

    def row(self, pool: Pool, uses: tuple[Use, ...], later: Sequence[Wanted]) -> BuyRow:
        """Return the row of one pool."""
        part, buyer = pool
        item = self.market.item(part)
        in_house = item is not None and item.in_house
        need, supplies = self.needs.of(pool, uses), self.needs.supplies(part, buyer)
        quotes = self._quotes(part) if buyer and item is not None and not in_house else ()
        packs = [form.pack for quote in quotes for form in quote.forms or (quote.bare,)]
        use_later = need.later(later, packs or [Pack()], self.product.policy.carrying_rate)
        sourced = choose(quotes, need.fitting, need.net, use_later, self.way)
        pack = max(self._packs(sourced.orders), key=need.net, default=Pack())
        gross = need.gross(pack)
        wanted = need.wanted(pack) if gross is not None else need.nothing()
        net, taken = net_after(need.before, wanted, supplies)
        orders = self._orders(part, sourced.orders, wanted, net, self._incoming(uses))
        lacking = _ZERO if in_house or buyer is None else min(sourced.lacking if orders else net.net, net.net)
        ordered = sum((order.qty for order in orders), _ZERO)
        left = net.over + max(_ZERO, ordered - net.net + lacking)
        each = each_of([order.basket for order in orders])
        offers = [offer.quote for each in sourced.orders for offer in (each.purchase, *each.rivals)]
        demand = sum((use.quantity for use in uses), _ZERO)
        return BuyRow(
            part=part,
            buyer=buyer,
            supply=uses[0].supply,
            uses=uses,
            wanted=tuple((name, each) for (name, _), each in zip(need.runs, wanted, strict=True)),
            gross=gross or NO_GROSS,
            netted=net,
            nets=need.nets(offers) if orders else {},
            before=tuple(need.before),
            earlier=taken,
            in_house=in_house,
            lacking=lacking,
            orders=orders,
            quotes=quotes,
            unfit=need.unfit(packs),
            later=use_later,
            left=left,
            left_value=left_value(left, ordered, each, counted(supplies, wanted), self._home),
            plain=plain_sum_of(demand, each, () if orders else quotes),
            unknown=tuple(dict.fromkeys([*need.unknown, *_missing(item, uses, orders, lacking)])),
        )

    def _home(self, value: Money) -> Fraction | None:
        home = self.product.head.currency
        return self.market.rates.money(value, home, home)

    def _quotes(self, part: str) -> tuple[Quote, ...]:
        """Return the quotes of a part, less what other buyers take of a quantity on allocation."""
        return tuple(
            quote
            if quote.most is None
            else replace(quote, most=max(_ZERO, quote.most - self._ordered.get((part, quote.index), _ZERO)))
            for quote in self.market.quotes(part)
        )

    def _orders(
        self,
        part: str,
        chosen: Iterable[Chosen],
        wanted: Sequence[Wanted],
        net: Netted,
        incoming: Sequence[LegTime],
    ) -> tuple[OrderLine, ...]:
        """Return the orders of a part; a small need leaves nothing for a small share."""
        if not net.net:
            return ()
        first = next((each for each in zip(wanted, net.nets, strict=True) if each[1]), None)
        orders = []
        for each in chosen:
            order, key = self._order(each, first, incoming), (part, each.purchase.quote.index)
            if order.qty:
                once = order.quote.one_off if key not in self._ordered else _ZERO
                self._ordered[key] = self._ordered.get(key, _ZERO) + order.qty
                orders.append(replace(order, one_off=once))
        return tuple(orders)

    def _packs(self, chosen: Sequence[Chosen]) -> list[Pack]:
        """Return the packs that are ordered; where nothing is, the main ones."""
        offers = [each.purchase for each in chosen]
        baskets = [offer.baskets[self.ask.strategy] for offer in offers if offer.baskets]
        ordered = [lot.form.pack for basket in baskets for lot in basket.lots]
        return ordered or [(*offer.quote.forms, offer.quote.bare)[0].pack for offer in offers]

    def _latest(
        self, source: Source, usable: dt.date, incoming: Sequence[LegTime], qty: Fraction
    ) -> dt.date | None:
        try:
            return latest_order(source, usable, self.book, incoming, qty)
        except NoSuchDay:  # the seller's calendar never opens: the schedule says so
            return None

    def _incoming(self, uses: Sequence[Use]) -> tuple[LegTime, ...]:
        """Return the incoming inspection at the factory that uses a part."""
        assembly = self.product.assemblies.get(uses[0].assembly)
        run = next(run for run in self.runs.runs if run.name == uses[0].run)
        name = maker_of(run, assembly) or ""
        firm = self.product.firms.get(name)
        time = firm.factory.incoming if firm is not None and firm.factory is not None else None
        return incoming_leg(time, name, self.book)

    def _order(
        self, chosen: Chosen, first: tuple[Wanted, Fraction] | None, incoming: Sequence[LegTime]
    ) -> OrderLine:
        """Return the order of a purchase, due on the first day that something is short."""
        purchase = chosen.purchase
        basket = purchase.baskets.get(self.ask.strategy)
        source = purchase.quote.source
        latest = None
        if first is not None and first[0].day is not None:
            latest = self._latest(source, first[0].day, incoming, first[1] * chosen.share)
        day = max(self.ask.today, latest) if latest is not None else self.ask.today
        return OrderLine(
            share=chosen.share,
            purchase=purchase,
            qty=basket.qty if basket is not None else purchase.quote.bare.rounded(purchase.need),
            basket=basket,
            order_by=latest,
            order_day=day,
            doubts=standing(source, day, self.product.policy.quote_max_age),
            alone=chosen.alone,
            rivals=chosen.rivals,
        )


def _missing(
    item: Item | None, uses: Sequence[Use], orders: Sequence[OrderLine], lacking: Fraction
) -> list[str]:
    """Return in words what is not known about a row."""
    missing = []
    if any(use.attrition is None for use in uses):
        missing.append("attrition")
    if any(use.setup_loss is None for use in uses):
        missing.append("set-up loss")
    if item is None:
        missing.append("the part itself, defined in no file")
    elif lacking and not any(source.allocated is not None for source in item.source):
        missing.append("source")
    elif lacking:
        missing.append("more is needed than its sources have allocated")
    for order in orders:
        if order.basket is None:
            missing.append("price")
        if order.order_by is None:
            missing.append("lead time" if order.quote.source.lead_time is None else "day of need")
        missing += order.quote.unknown
    return missing
