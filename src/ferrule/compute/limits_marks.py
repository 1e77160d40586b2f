"""The conditions a plan must keep: its floor, the margin of what it sells, the days its builds must arrive."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from fractions import Fraction

from ferrule.compute.cash import Cash, Ground
from ferrule.compute.cost import UnitCost
from ferrule.compute.economics import margins_of
from ferrule.compute.limits import Mark
from ferrule.compute.margin import ChannelMargin
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["date_marks", "floor_mark", "margin_marks", "unjudged_margins"]

_ZERO = Fraction(0)


def floor_mark(cash: Cash, home: str) -> Mark:
    """Return what the lowest week leaves above the floor; above zero where the plan states no floor.

    Where it is broken, the week named is the first below.
    """
    floor = cash.floor or _ZERO
    week = cash.ledger.first_below(floor) or cash.ledger.trough
    name = "the floor" if cash.floor is not None else "money above zero"
    return Mark(
        key="floor",
        room=cash.ledger.trough.balance - floor,
        unit=home,
        words=f"{name} in week {week.number}",
    )


def margin_marks(
    product: Product, plan: PlanFile, costs: Mapping[str, UnitCost], least: Fraction = _ZERO
) -> Iterator[Mark]:
    """Yield what a unit leaves above the least margin, for every SKU in every channel the plan sells it in.

    ``least`` is a share of the revenue. Of several builds of one SKU the dearest counts. A margin that is not
    known is left out (`unjudged_margins` names it).
    """
    home = product.head.currency
    for (sku, channel), margins in _sold(product, plan, costs).items():
        rooms = [
            each.margin - least * each.revenue
            for each in margins
            if each.margin is not None and each.revenue is not None
        ]
        if rooms:
            words = f"the margin of {sku} in {channel}"
            yield Mark(
                key=f"margin of {sku} in {channel}", room=min(rooms), unit=f"{home} a unit", words=words
            )


def unjudged_margins(product: Product, plan: PlanFile, costs: Mapping[str, UnitCost]) -> tuple[str, ...]:
    """Return what is sold without a margin that can be known in full, with what is missing."""
    found = []
    for (sku, channel), margins in _sold(product, plan, costs).items():
        missing = list(dict.fromkeys(words for each in margins for words in each.unknown))
        if missing:
            found.append(f"{sku} in {channel}: {', '.join(missing)}")
    return tuple(found)


def _sold(
    product: Product, plan: PlanFile, costs: Mapping[str, UnitCost]
) -> dict[tuple[str, str], list[ChannelMargin]]:
    wanted = list(dict.fromkeys((sale.sku, sale.channel) for sale in plan.sales))
    found: dict[tuple[str, str], list[ChannelMargin]] = {}
    margins = [margin for cost in costs.values() for margin in margins_of(product, cost)]
    for key in wanted:
        own = [margin for margin in margins if (margin.sku, margin.channel) == key]
        if own:
            found[key] = own
    return found


def date_marks(plan: PlanFile, ground: Ground) -> Iterator[Mark]:
    """Yield the days between the earliest arrival of each build and its due day, and of the first to the season.

    A build that is due nowhere but has a day to ship has those between its most pressing order and the last day
    for it. The words name what the build waits for.
    """
    arrivals: list[dt.date] = []
    for build in ground.dates.builds:
        slacks = [order.slack for order in build.orders if order.slack is not None]
        if build.due is not None:
            arrivals.append(max(build.due, build.earliest))
            words, room = f"the arrival of {build.build} by {build.due}", (build.due - build.earliest).days
        elif build.ships is not None and slacks:
            words, room = f"the shipping of {build.build} by {build.ships}", min(slacks)
        else:
            continue
        held = build.binding.items[:1]
        named = f", waiting for {held[0]}" if held else ""
        yield Mark(key=f"date of {build.build}", room=Fraction(room), unit="days", words=words + named)
    season = plan.plan.season
    if season is not None and arrivals:
        room = (season - min(arrivals)).days
        yield Mark(key="season", room=Fraction(room), unit="days", words=f"the season of {season}")
