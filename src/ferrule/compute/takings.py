"""What sales bring in and cost, week by week, when it is paid: direct settlements, retail terms, returns, warranty.

Sales tax passes through and is in none of it. A retailer's deductions are taken before it pays; what comes back is
refunded later. A week's sales count as made on its Friday. Where our terms offer a customer a discount for paying
early, nobody is counted on to take it: money in full and late is what the terms promise; ``early`` says what it would be.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from fractions import Fraction

from msgspec import Struct, structs

from ferrule.compute.billing import Purse
from ferrule.compute.calendars import WorkCalendar
from ferrule.compute.ledger import CashEvent, Early
from ferrule.compute.margin import ChannelMargin
from ferrule.compute.memory import Memory
from ferrule.compute.owners import Book
from ferrule.compute.selling import Selling, Weekly
from ferrule.compute.terms import Instalment, days_after, instalments, pay_run, to_coin
from ferrule.model.duration import Duration
from ferrule.model.money import Money
from ferrule.model.records.assembly import Assembly, Sale
from ferrule.model.records.firms import Channel

__all__ = ["takings"]

_ZERO = Fraction(0)
_FRIDAY = dt.timedelta(days=4)
_EVENTS = ("", "sale", "receipt", "arrival", "shipment", "invoice", "order")
_Margins = Mapping[tuple[str, str], ChannelMargin]


def takings(  # noqa: PLR0913, PLR0917  what the takings are made from
    memory: Memory,
    purse: Purse,
    plan: str,
    weekly: Weekly,
    margins: _Margins,
    assemblies: Mapping[str, Assembly],
    channels: Mapping[str, Channel],
    book: Book,
) -> Iterator[tuple[CashEvent, ...]]:
    """Yield every payment that the plan's sales cause, entry by entry; what is not known has no amount.

    A customer with a calendar makes no payment on a day closed in it, and counts working days by it. Raises
    NoSuchDay.
    """
    for selling in weekly.sales:
        channel = channels.get(selling.channel)
        assembly = assemblies.get(selling.sku)
        sale = assembly.sale.get(selling.channel) if assembly is not None else None
        margin = margins.get((selling.sku, selling.channel))
        payer = _calendar(book, channel)
        yield memory.of(_entry, purse, plan, selling, channel, sale, payer, *_amounts(margin))


def _calendar(book: Book, channel: Channel | None) -> WorkCalendar | None:
    """Return the calendar of the customer, None where none is stated."""
    customer = channel.customer if channel is not None else None
    return book.of_firm(customer) if book.firms.get(customer or "") is not None else None


def _amounts(margin: ChannelMargin | None) -> tuple[Fraction | None, Fraction, Fraction]:
    """Return what a unit brings in after fees, what its delivery costs, and what is given back on returns."""
    if margin is None or margin.revenue is None:
        return None, _ZERO, _ZERO
    return margin.revenue - (margin.fees or _ZERO), margin.delivery or _ZERO, margin.returned or _ZERO


def _entry(  # noqa: PLR0913, PLR0917  what one entry's payments are made from
    purse: Purse,
    plan: str,
    selling: Selling,
    channel: Channel | None,
    sale: Sale | None,
    payer: WorkCalendar | None,
    each: Fraction | None,
    delivery: Fraction,
    returned: Fraction,
) -> tuple[CashEvent, ...]:
    own = (channel.currency if channel is not None else None) or purse.home
    till = _Till(purse=purse, plan=plan, selling=selling, channel=channel, own=own, payer=payer)
    weeks = [(monday + _FRIDAY, units) for monday, units in selling.weeks.items()]
    if channel is None or sale is None or each is None:
        words = "price or channel not known"
        return tuple(till.event(day, None, "sales", words, incoming=True) for day, _ in weeks)
    costs = list(till.costs(sale, channel, delivery, returned))
    found: list[CashEvent] = []
    for day, units in weeks:
        found += till.receipts(channel, day, units, each * units)
        found += (
            till.event(days_after(day, span, payer), -amount * units, kind, f"{words} of {units}")
            for words, kind, amount, span in costs
        )
    return tuple(found)


class _Till(Struct, frozen=True, kw_only=True):
    """The payments of one entry of a plan's sales."""

    purse: Purse
    plan: str
    selling: Selling
    channel: Channel | None
    own: str
    payer: WorkCalendar | None

    def receipts(self, channel: Channel, sale: dt.date, units: int, amount: Fraction) -> Iterator[CashEvent]:
        """Yield what one week's sales bring in: settled directly, or by the customer's terms."""
        settlement = channel.settlement
        if channel.kind != "direct" or channel.payment:
            yield from self._billed(channel, sale, units, amount)
            return
        reserve = settlement.reserve if settlement is not None else None
        held = amount * Fraction(reserve.fraction) if reserve is not None else _ZERO
        settled = days_after(sale, settlement.lag if settlement is not None else None, self.payer)
        day = pay_run(settled, settlement, self.payer)
        yield self.event(day, amount - held, "sales", f"{units} sold, settled", incoming=True)
        if held:
            back = days_after(day, settlement.reserve_for if settlement is not None else None, self.payer)
            yield self.event(back, held, "sales", f"{units} sold, reserve back", incoming=True)

    def _billed(self, channel: Channel, sale: dt.date, units: int, amount: Fraction) -> Iterator[CashEvent]:
        billed = self.purse.amount_in(self.own, amount)
        if billed is None:
            words = f"{units} sold, no rate to {self.own}"
            yield self.event(sale, None, "sales", words, incoming=True)
            return
        events, shipped = dict.fromkeys(_EVENTS, sale), ((sale, Fraction(units)),)
        for part in instalments(
            billed,
            self.own,
            channel.payment,
            events,
            shipped,
            working=self.payer,
            convert=self.purse.rates.convert,
        ):
            home = self.purse.rates.convert(part.amount, self.own, self.purse.home)
            words = f"{units} delivered, {part.words}"
            event = self.event(self._run(part.day, channel), home, "sales", words, incoming=True)
            yield structs.replace(event, since=sale, early=self._early(part, channel))

    def _early(self, part: Instalment, channel: Channel) -> Early | None:
        """Return what a customer pays who takes the discount for paying early, at which pay-run; None without one."""
        if part.discounted is None:
            return None
        home = self.purse.rates.convert(part.discounted, self.own, self.purse.home)
        amount = None if home is None else to_coin(home, self.purse.home)
        return Early(self._run(part.discount_day, channel), amount)

    def _run(self, day: dt.date | None, channel: Channel) -> dt.date | None:
        return None if day is None else pay_run(day, channel.settlement, self.payer)

    def costs(
        self, sale: Sale, channel: Channel, delivery: Fraction, returned: Fraction
    ) -> Iterator[tuple[str, str, Fraction, Duration | None]]:
        """Yield what a sale costs later: words, kind, amount of one unit, and after how long."""
        returns = sale.returns or channel.returns
        if delivery:
            yield "delivery", "delivery", delivery, None
        if returned:
            yield "refunds", "returns", returned, channel.return_lag
        handling = self._amount(sale.return_cost or channel.return_cost)
        if returns is not None and returns.number and handling:
            yield "handling of returns", "returns", Fraction(returns.fraction) * handling, channel.return_lag
        warranty = sale.warranty or channel.warranty
        if warranty is not None and warranty.number:
            cost = delivery + (self._amount(sale.warranty_handling) or _ZERO)
            if cost:
                yield "warranty", "warranty", Fraction(warranty.fraction) * cost, sale.warranty_lag

    def _amount(self, money: Money | None) -> Fraction | None:
        return None if money is None else self.purse.rates.money(money, self.own, self.purse.home)

    def event(
        self, day: dt.date | None, amount: Fraction | None, kind: str, words: str, *, incoming: bool = False
    ) -> CashEvent:
        """Return one payment of the entry."""
        selling, purse = self.selling, self.purse
        other = (self.channel.customer if self.channel is not None else None) or selling.channel
        coin = None if amount is None else to_coin(amount, purse.home)
        return CashEvent(
            day=day,
            amount=coin,
            own=None if coin is None else purse.rates.convert(coin, purse.home, self.own),
            currency=self.own,
            kind=kind,
            document=f"{selling.sku} in {selling.channel}",
            payer=other if incoming else purse.own,
            payee=purse.own if incoming else other,
            words=words,
            reason=f"{selling.sku} sold in {selling.channel}"
            + (f" from {selling.build}" if selling.build else ""),
            home=("plan", self.plan, "sales", selling.index),
            incoming=incoming,
        )
