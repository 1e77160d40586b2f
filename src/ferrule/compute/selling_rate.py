"""How fast each SKU of a plan sells, and what a week of it is worth."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.cash import Ground
from ferrule.compute.economics import margins_of
from ferrule.compute.margin import blended
from ferrule.compute.selling import usual_weeks, weekly_units
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["SellingRate", "selling_rates"]


class SellingRate(Struct, frozen=True, kw_only=True):
    """What a SKU sells in a plan: units over the weeks from the plan's first sale to its last, both counted.

    ``contribution`` is what a unit leaves, blended over its channels; None where that is not known.
    ``unknown`` says what the figures leave out.
    """

    sku: str
    units: int
    weeks: int
    contribution: Fraction | None
    unknown: tuple[str, ...] = ()

    @property
    def a_week(self) -> Fraction:
        """Return the units sold in a week, on average."""
        return Fraction(self.units, self.weeks)

    @property
    def worth_a_week(self) -> Fraction | None:
        """Return what a week's sales leave."""
        return None if self.contribution is None else self.a_week * self.contribution


def selling_rates(product: Product, plan: PlanFile, ground: Ground) -> Mapping[str, SellingRate]:
    """Return the rate of every SKU that a plan sells, by number; sales outside the plan's weeks are not in it."""
    arrivals = {name: days.arrives for name, days in ground.bought.runs.days.items()}
    known = {name: day for name, day in arrivals.items() if day is not None}
    weekly = weekly_units(plan, known, usual=usual_weeks(product))
    margins = {(m.sku, m.channel): m for cost in ground.costs.values() for m in margins_of(product, cost)}
    weeks: list[dt.date] = []
    mixes: dict[str, list[tuple[Fraction, int]]] = {}
    sold: dict[str, int] = {}
    costs: dict[str, dict[str, None]] = {}
    for cost in ground.costs.values():
        costs.setdefault(cost.ask.sku, {}).update(
            (f"cost of {cost.ask.sku}: {words}", None) for words in cost.unknown
        )
    unknown: dict[str, dict[str, None]] = {}
    for sale in weekly.sales:
        units = sum(sale.weeks.values())
        if not units:
            continue
        weeks.extend(sale.weeks)
        sold[sale.sku] = sold.get(sale.sku, 0) + units
        margin = margins.get((sale.sku, sale.channel))
        if margin is None or margin.margin is None:
            unknown.setdefault(sale.sku, {})[f"margin of {sale.sku} in {sale.channel}"] = None
        else:
            mixes.setdefault(sale.sku, []).append((margin.margin, units))
            unknown.setdefault(sale.sku, {}).update(dict.fromkeys(margin.unknown))
    return {
        sku: SellingRate(
            sku=sku,
            units=units,
            weeks=(max(weeks) - min(weeks)).days // 7 + 1,
            contribution=blended(mixes[sku])
            if sku in mixes and not any(words.startswith("margin of") for words in unknown.get(sku, {}))
            else None,
            unknown=tuple({**unknown.get(sku, {}), **costs.get(sku, {})}),
        )
        for sku, units in sorted(sold.items())
    }
