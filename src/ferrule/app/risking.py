"""`risk`: what failing sources, ending parts, long leads and weak prices cost, and what chance leaves of a plan."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.app.cashing import Cashing, plan_under
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.cash import Ground
from ferrule.compute.chances import Luck, chance_of_plan
from ferrule.compute.draws import Chance
from ferrule.compute.risk import PriceRisk, SoleRisk, price_risks, sole_risks
from ferrule.compute.risk_time import EndRisk, LaneRisk, LeadRisk, end_risks, lane_risks, lead_risks
from ferrule.compute.schedule import books_of
from ferrule.compute.selling_rate import SellingRate, selling_rates
from ferrule.errors import FerruleError
from ferrule.model.text import nearest

__all__ = ["Risking", "chance_of", "named_part", "risks_of"]


class Risking(Struct, frozen=True, kw_only=True):
    """The supply risk of a plan: rates of sale, sole sources, ends, leads, ways home and prices."""

    ground: Ground
    rates: Mapping[str, SellingRate]
    soles: tuple[SoleRisk, ...]
    ends: tuple[EndRisk, ...]
    leads: tuple[LeadRisk, ...]
    lanes: tuple[LaneRisk, ...]
    prices: tuple[PriceRisk, ...]


def risks_of(cashing: Cashing, service: Fraction | None) -> Risking:
    """Return the supply risk of a plan as agreed; ``service`` is the share of need kept for repairs."""
    product, plan = cashing.product, cashing.plan
    ground = plan_under(cashing).ground
    rates = selling_rates(product, plan, ground)
    try:
        lanes = lane_risks(product, plan, ground, rates)
    except NoSuchDay as error:
        raise FerruleError(str(error), "look at the closures and weekends in product.toml") from None
    return Risking(
        ground=ground,
        rates=rates,
        soles=sole_risks(product, ground, rates),
        ends=end_risks(product, cashing.today, service),
        leads=lead_risks(ground, rates),
        lanes=lanes,
        prices=price_risks(ground),
    )


def chance_of(cashing: Cashing, luck: Luck) -> Chance:
    """Return what so many draws of the plan come to; raises FerruleError."""
    books = books_of(cashing.product, cashing.holidays.days)
    try:
        return chance_of_plan(cashing.product, cashing.plan, plan_under(cashing).ground, books, luck)
    except NoSuchDay as error:
        raise FerruleError(str(error), "look at the closures and weekends in product.toml") from None


def named_part(found: Risking, part: str) -> SoleRisk:
    """Return the sole-sourced part of this number; raises FerruleError."""
    for risk in found.soles:
        if risk.part == part:
            return risk
    best = nearest(part, [risk.part for risk in found.soles])
    raise FerruleError(
        f"{part} is no part of this plan that one maker stands behind",
        f"did you mean {best}?" if best else "`ferrule risk` lists them",
    )
