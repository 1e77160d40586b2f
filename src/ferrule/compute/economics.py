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
from ferrule.compute.selling import usual_weeks, week_reached, weekly_units
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Breakeven", "breakeven", "margin_in", "margins_of", "penalties"]

_ZERO = Fraction(0)


class Breakeven(Struct, frozen=True, kw_only=True):
    """How many units pay for a plan's fixed costs, and the week in which its sales reach that many.

    ``contribution`` is blended over the plan's sales; ``naive`` the same from revenue less landed cost, with
    its quantity. None where it cannot be said. ``unknown`` says what the figures leave out.
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
    """Return what a unit leaves in one channel, which the product must have."""
    charged = penalties(product, cost, channel)
    return channel_margin(product, rates_of(product), cost.ask.sku, channel, cost.total, chargebacks=charged)


def breakeven(product: Product, plan: PlanFile, costs: Mapping[str, UnitCost]) -> Breakeven:
    """Return the breakeven of a plan; ``costs`` holds the unit cost of each SKU it sells.

    Quantity = fixed costs / blended contribution, rounded up; the week is the first by whose end the plan's
    cumulative sales reach it. Overhead is counted over the whole plan.
    """
    rates = rates_of(product)
    arrivals = {name: days.arrives for name, days in runs_of(product, plan).days.items()}
    known = {name: day for name, day in arrivals.items() if day is not None}
    weekly = weekly_units(plan, known, usual=usual_weeks(product))
    margins = {
        (margin.sku, margin.channel): margin
        for cost in costs.values()
        for margin in margins_of(product, cost)
    }
    outlays = fixed_outlays(product, rates, plan)
    fixed = sum((outlay.amount or _ZERO for outlay in outlays), _ZERO)
    unknown = [f"amount of {outlay.name}" for outlay in outlays if outlay.amount is None]
    mix, naive_mix, units = [], [], 0
    for selling in weekly.sales:
        sold = selling.units or 0
        units += sold
        margin = margins.get((selling.sku, selling.channel))
        if margin is None or margin.margin is None or margin.naive is None:
            unknown.append(f"margin of {selling.sku} in {selling.channel}")
            continue
        unknown += [f"{words} ({selling.channel})" for words in margin.unknown]
        mix.append((margin.margin, sold))
        naive_mix.append((margin.naive, sold))
    contribution, naive = blended(mix), blended(naive_mix)
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
        units=units,
        unknown=tuple(dict.fromkeys([*unknown, *weekly.unknown])),
    )
