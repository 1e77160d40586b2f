"""What a plan's mix of channels leaves, and when it has paid for what is spent once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.cost import UnitCost
from ferrule.compute.margin import ChannelMargin, blended, breakeven_quantity, channel_margin
from ferrule.compute.outlays import Outlay, fixed_outlays
from ferrule.compute.rates import rates_of
from ferrule.compute.runs import runs_of
from ferrule.compute.selling import Weekly, usual_weeks, week_reached, weekly_units
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Breakeven", "Sold", "breakeven", "margin_in", "margins_of", "penalties"]

_ZERO = Fraction(0)


class Sold(Struct, frozen=True, kw_only=True):
    """What a plan sells of a SKU in a channel, and what one unit of it leaves; None where that is not known."""

    sku: str
    channel: str
    units: int
    margin: Fraction | None
    at_most: bool


class Breakeven(Struct, frozen=True, kw_only=True):
    """How many units pay for a plan's fixed costs, and the week in which its sales reach that many.

    ``contribution`` is blended over the plan's sales; ``naive`` the same from revenue less landed cost, with
    its quantity. None where it cannot be said. ``unknown`` says what the figures leave out: that can only add
    to what is spent once and lower what a unit leaves, so a quantity that leaves something out is a lower bound.
    """

    fixed: Fraction
    outlays: tuple[Outlay, ...]
    contribution: Fraction | None
    quantity: int | None
    week: dt.date | None
    naive: Fraction | None
    naive_quantity: int | None
    naive_week: dt.date | None
    units: int
    unknown: tuple[str, ...]
    contribution_at_most: bool = False
    naive_at_most: bool = False
    mix: tuple[Sold, ...] = ()

    @property
    def fixed_at_least(self) -> bool:
        """Return whether something that is spent once is not known."""
        return any(outlay.amount is None for outlay in self.outlays)

    @property
    def at_least(self) -> bool:
        """Return whether more than ``quantity`` units may be needed."""
        return self.fixed_at_least or self.contribution_at_most

    @property
    def naive_at_least(self) -> bool:
        """Return whether more than ``naive_quantity`` units may be needed."""
        return self.fixed_at_least or self.naive_at_most


def penalties(product: Product, cost: UnitCost, channel: str) -> Fraction | None:
    """Return what a channel's penalties cost a unit: for the part-full carton of a run, else nothing.

    None where an amount cannot be converted or is asked by something else than the carton.
    """
    record = product.channels[channel]
    rates, home, total = rates_of(product), product.head.currency, _ZERO
    for charge in record.chargeback:
        amount = rates.money(charge.amount, record.currency or home, home)
        if amount is None or charge.per != "carton" or cost.load.per_carton is None:
            return None
        total += amount / cost.ask.qty if cost.load.part_units else _ZERO
    return total


def margins_of(product: Product, cost: UnitCost) -> tuple[ChannelMargin, ...]:
    """Return what a unit leaves in every channel of its SKU, in the order of the file."""
    sale = product.assemblies[cost.ask.sku].sale
    return tuple(margin_in(product, cost, channel) for channel in sale if channel in product.channels)


def margin_in(product: Product, cost: UnitCost, channel: str) -> ChannelMargin:
    """Return what a unit leaves in one channel, which the product must have.

    Where something in the cost is not known, the cost is a lower bound and so the margin an upper one.
    """
    total = cost.total
    return channel_margin(
        product,
        rates_of(product),
        cost.ask.sku,
        channel,
        total or (None if cost.is_bound else _ZERO),
        landed_at_least=cost.is_bound and bool(total),
        chargebacks=penalties(product, cost, channel),
    )


def breakeven(
    product: Product, plan: PlanFile, costs: Mapping[str, UnitCost], in_weeks: Weekly | None = None
) -> Breakeven:
    """Return the breakeven of a plan; ``costs`` holds the unit cost of each SKU it sells.

    ``in_weeks`` is what it sells week by week, where the days on which builds arrive are known better than by the plan.

    Quantity = fixed costs / blended contribution, rounded up; the week is the first by whose end the plan's
    cumulative sales reach it. Overhead is counted over the whole plan.
    """
    rates = rates_of(product)
    weekly = in_weeks or _weekly(product, plan)
    margins = {
        (margin.sku, margin.channel): margin
        for cost in costs.values()
        for margin in margins_of(product, cost)
    }
    outlays = fixed_outlays(product, rates, plan)
    fixed = sum((outlay.amount or _ZERO for outlay in outlays), _ZERO)
    unknown = [f"amount of {outlay.name}" for outlay in outlays if outlay.amount is None]
    sold = [(margins.get((sale.sku, sale.channel)), sale, sale.units or 0) for sale in weekly.sales]
    for margin, sale, _ in sold:
        if margin is None or margin.margin is None:
            unknown.append(f"margin of {sale.sku} in {sale.channel}")
        else:
            unknown += [f"{words} ({sale.sku} in {sale.channel})" for words in margin.unknown]
    contribution = blended(
        [(margin.margin if margin is not None else None, units) for margin, _, units in sold]
    )
    naive = blended([(margin.naive if margin is not None else None, units) for margin, _, units in sold])
    known_margins = [margin for margin, _, units in sold if margin is not None and units]
    quantity = breakeven_quantity(fixed, contribution) if contribution is not None else None
    naive_quantity = breakeven_quantity(fixed, naive) if naive is not None else None
    return Breakeven(
        fixed=fixed,
        outlays=outlays,
        contribution=contribution,
        quantity=quantity,
        week=week_reached(weekly, quantity) if quantity is not None else None,
        naive=naive,
        naive_quantity=naive_quantity,
        naive_week=week_reached(weekly, naive_quantity) if naive_quantity is not None else None,
        units=sum(units for _, _, units in sold),
        contribution_at_most=any(margin.at_most for margin in known_margins),
        mix=tuple(
            Sold(
                sku=sale.sku,
                channel=sale.channel,
                units=units,
                margin=margin.margin if margin is not None else None,
                at_most=margin is not None and margin.at_most,
            )
            for margin, sale, units in sold
        ),
        naive_at_most=any(margin.naive_at_most for margin in known_margins),
        unknown=tuple(dict.fromkeys([*unknown, *weekly.unknown])),
    )


def _weekly(product: Product, plan: PlanFile) -> Weekly:
    """Return what a plan sells week by week, by the days on which it says its builds arrive."""
    arrivals = {name: days.arrives for name, days in runs_of(product, plan).days.items()}
    known = {name: day for name, day in arrivals.items() if day is not None}
    return weekly_units(plan, known, usual=usual_weeks(product))
