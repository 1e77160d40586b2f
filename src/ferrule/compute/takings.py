"""What sales bring in and cost, week by week, when it is paid: direct settlements, retail terms, returns, warranty.

Sales tax passes through and is in none of it. A retailer's deductions are taken before it pays; what comes back is
refunded later. A week's sales count as made on its Friday.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from fractions import Fraction

from ferrule.compute.calendars import LegTime, calendar_of, walk_forward
from ferrule.compute.ledger import CashEvent
from ferrule.compute.margin import ChannelMargin
from ferrule.compute.rates import Rates
from ferrule.compute.selling import Selling, Weekly
from ferrule.compute.terms import instalments, pay_run, to_coin
from ferrule.model.duration import Duration
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.firms import Channel
from ferrule.model.records.plan import PlanFile

__all__ = ["takings"]

_ZERO = Fraction(0)
_FRIDAY = dt.timedelta(days=4)


def takings(
    product: Product,
    plan: PlanFile,
    rates: Rates,
    weekly: Weekly,
    margins: Mapping[tuple[str, str], ChannelMargin],
) -> Iterator[CashEvent]:
    """Yield every payment that the plan's sales cause; what is not known has no amount."""
    till = _Till(product, plan, rates, margins)
    for selling in weekly.sales:
        for monday, units in selling.weeks.items():
            yield from till.week(selling, monday, units)


class _Till:
    def __init__(
        self,
        product: Product,
        plan: PlanFile,
        rates: Rates,
        margins: Mapping[tuple[str, str], ChannelMargin],
    ) -> None:
        self.product, self.plan, self.rates, self.margins = product, plan, rates, margins
        self.home = product.head.currency

    def week(self, selling: Selling, monday: dt.date, units: int) -> Iterator[CashEvent]:
        """Yield the payments of one week's sales in one channel."""
        channel = self.product.channels.get(selling.channel)
        margin = self.margins.get((selling.sku, selling.channel))
        sale = monday + _FRIDAY
        if channel is None or margin is None or margin.revenue is None:
            yield self._event(selling, sale, None, "sales", "price or channel not known")
            return
        yield from self._receipts(selling, channel, margin, sale, units)
        for words, kind, amount, span in self._costs(selling, channel, margin):
            day = _later(sale, span)
            each = None if amount is None else -amount * units
            yield self._event(selling, day, each, kind, f"{words} of {units}")

    def _receipts(
        self, selling: Selling, channel: Channel, margin: ChannelMargin, sale: dt.date, units: int
    ) -> Iterator[CashEvent]:
        amount = ((margin.revenue or _ZERO) - (margin.fees or _ZERO)) * units
        settlement = channel.settlement
        if channel.kind == "direct" and not channel.payment:
            reserve = settlement.reserve if settlement is not None else None
            held = amount * Fraction(reserve.fraction) if reserve is not None else _ZERO
            day = pay_run(_later(sale, settlement.lag if settlement is not None else None), settlement)
            yield self._event(selling, day, amount - held, "sales", f"{units} sold, settled", incoming=True)
            if held:
                back = _later(day, settlement.reserve_for if settlement is not None else None)
                yield self._event(selling, back, held, "sales", f"{units} sold, reserve back", incoming=True)
            return
        events = dict.fromkeys(("", "sale", "receipt", "arrival", "shipment", "invoice", "order"), sale)
        own = channel.currency or self.home
        billed = self.rates.convert(amount, self.home, own)
        if billed is None:
            yield self._event(selling, sale, None, "sales", f"{units} sold, no rate to {own}")
            return
        for part in instalments(billed, own, channel.payment, events):
            paid = pay_run(part.day, settlement) if part.day is not None else None
            home = self.rates.convert(part.amount, own, self.home)
            yield self._event(selling, paid, home, "sales", f"{units} delivered, {part.words}", incoming=True)

    def _costs(
        self, selling: Selling, channel: Channel, margin: ChannelMargin
    ) -> Iterator[tuple[str, str, Fraction | None, Duration | None]]:
        """Yield what a sale costs later: words, kind, amount of one unit, and after how long."""
        sale = self.product.assemblies[selling.sku].sale[selling.channel]
        returns = sale.returns or channel.returns
        if margin.delivery:
            yield "delivery", "delivery", margin.delivery, None
        if margin.returned:
            yield "refunds", "returns", margin.returned, channel.return_lag
        handling = self._amount(sale.return_cost or channel.return_cost, channel)
        if returns is not None and returns.number and handling:
            yield "handling of returns", "returns", Fraction(returns.fraction) * handling, channel.return_lag
        warranty = sale.warranty or channel.warranty
        if warranty is not None and warranty.number:
            cost = (margin.delivery or _ZERO) + (self._amount(sale.warranty_handling, channel) or _ZERO)
            if cost:
                yield "warranty", "warranty", Fraction(warranty.fraction) * cost, sale.warranty_lag

    def _amount(self, money: Money | None, channel: Channel) -> Fraction | None:
        return None if money is None else self.rates.money(money, channel.currency or self.home, self.home)

    def _event(  # noqa: PLR0913  one payment with all that belongs to it
        self,
        selling: Selling,
        day: dt.date | None,
        amount: Fraction | None,
        kind: str,
        words: str,
        *,
        incoming: bool = False,
    ) -> CashEvent:
        channel = self.product.channels.get(selling.channel)
        other = (channel.customer if channel is not None else None) or selling.channel
        own = channel.currency or self.home if channel is not None else self.home
        coin = None if amount is None else to_coin(amount, self.home)
        return CashEvent(
            day=day,
            amount=coin,
            own=None if coin is None else self.rates.convert(coin, self.home, own),
            currency=own,
            kind=kind,
            document=f"{selling.sku} in {selling.channel}",
            payer=other if incoming else "us",
            payee="us" if incoming else other,
            words=words,
            reason=f"{selling.sku} sold in {selling.channel}"
            + (f" from {selling.build}" if selling.build else ""),
            home=("plan", self.plan.plan.id, "sales", selling.index),
        )


def _later(day: dt.date, span: Duration | None) -> dt.date:
    if span is None or not span.count:
        return day
    leg = LegTime(name="", calendar=calendar_of(None), duration=span)
    return walk_forward((leg,), day + dt.timedelta(days=1)).finish
