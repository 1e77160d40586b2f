"""`risk` in words: exposures in money and days, beside each what takes it away and what that costs. No scores."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from ferrule.compute.draws import Chance
from ferrule.compute.risk import PriceRisk, SoleRisk
from ferrule.compute.risk_time import EndRisk, LaneRisk, LeadRisk
from ferrule.compute.selling_rate import SellingRate
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.risk_chance import chance_facts, chance_notes, chances
from ferrule.report.wording import CAUTION, FINANCE, counted, listed, quantity

__all__ = ["CAUTIONS", "describe_risk"]

_ZERO = Fraction(0)
_EXPOSURES = (
    "Exposures are what would be lost if it happened, as far as the stated times, chances and sales go; whether a "
    "replacement is safe and lawful, qualified people decide."
)
CAUTIONS = (
    _EXPOSURES,
    FINANCE,
    CAUTION,
)


def describe_risk(  # noqa: PLR0913  one table for each kind of risk
    product: Product,
    plan: str,
    label: str,
    *,
    rates: Mapping[str, SellingRate],
    soles: Sequence[SoleRisk],
    ends: Sequence[EndRisk],
    leads: Sequence[LeadRisk],
    lanes: Sequence[LaneRisk],
    prices: Sequence[PriceRisk],
    most: int,
    chance: Chance | None = None,
) -> Document:
    """Return all risks of a plan; ``most`` orders are shown by their float, and as many prices."""
    tables = (
        *((chances(chance),) if chance is not None else ()),
        _sole_table(soles),
        _measure_table(soles),
        _end_table(ends),
        _lead_table(leads[:most]),
        _lane_table(lanes),
        _price_table(prices[:most]),
        _rate_table(rates),
    )
    return Document(
        key="risk",
        title=f"What could go wrong, in money and days: {product.plans[plan].plan.name or plan}",
        facts=(
            ("plan", plan),
            *chance_facts(chance),
            ("parts with one maker", len(soles)),
            ("exposure of them", _sum(soles)),
            ("state", label),
            ("currency", product.head.currency),
        ),
        tables=tuple(table for table in tables if table.rows),
        notes=(
            *_notes(soles, leads[most:], prices[most:]),
            *_end_notes(ends),
            *(chance_notes(chance) if chance is not None else ()),
        ),
        cautions=CAUTIONS,
    )


def _sum(soles: Sequence[SoleRisk]) -> Cell:
    known = [risk.exposure for risk in soles]
    return None if None in known else Amount(sum((each for each in known if each is not None), _ZERO))


def _sole_table(soles: Sequence[SoleRisk]) -> Table:
    columns = (
        Column("part", "part"),
        Column("maker", "only maker", rank=2),
        Column("qualify", "weeks to replace", "number"),
        Column("cover", "weeks of cover", "number"),
        Column("worth", "a week costs", "number"),
        Column("exposure", "exposure", "number"),
        Column("chance", "% a year", "number", rank=1),
        Column("expected", "expected a year", "number"),
    )
    rows = [
        (
            risk.part,
            listed(risk.makers) or "not known",
            _weeks(risk.qualify),
            _weeks(risk.cover),
            _money(risk.worth),
            _money(risk.exposure),
            None if risk.chance is None else Amount(risk.chance * 100),
            _money(risk.expected),
        )
        for risk in soles
    ]
    return Table(key="sole_sources", title="If the only maker fails", columns=columns, rows=rows)


def _weeks(number: Fraction | None) -> Cell:
    return None if number is None else Amount(number, 1, trim=True)


def _money(amount: Fraction | None) -> Cell:
    return None if amount is None else Amount(amount)


def _measure_table(soles: Sequence[SoleRisk]) -> Table:
    columns = (
        Column("part", "part"),
        Column("measure", "what takes it away"),
        Column("once", "cash once", "number"),
        Column("a_year", "cost a year", "number"),
        Column("removed", "exposure removed", "number"),
        Column("expected", "expected a year removed", "number", rank=1),
    )
    rows = [
        (
            risk.part,
            f"{each.words}, {quantity(risk.gap * risk.need, 0)} for {quantity(risk.gap, 1)} weeks"
            if each.words == "extra cover" and risk.gap is not None
            else each.words,
            _money(each.once),
            _money(each.a_year),
            _money(each.removed),
            None if each.removed is None or risk.chance is None else Amount(each.removed * risk.chance),
        )
        for risk in soles
        for each in risk.measures
        if risk.gap is None or risk.gap > 0
    ]
    return Table(key="measures", title="What takes it away", columns=columns, rows=rows)


def _end_table(ends: Sequence[EndRisk]) -> Table:
    columns = (
        Column("part", "part"),
        Column("status", "status", rank=2),
        Column("last_order", "last order"),
        Column("need", "plans need", "number"),
        Column("service", "service", "number", rank=3),
        Column("reserve", "reserve", "number", rank=4),
        Column("stock", "stock and on order", "number"),
        Column("qty", "to buy", "number"),
        Column("cash", "costs", "number"),
        Column("redesign", "or redesign", "number"),
    )
    rows = [
        (
            risk.part,
            risk.status,
            risk.last_order.isoformat() if risk.last_order is not None else None,
            Amount(risk.need, 0),
            "not asked" if risk.service is None else Amount(risk.service, 0),
            Amount(risk.reserve, 0),
            Amount(risk.stock, 0),
            Amount(risk.qty, 0),
            _money(risk.cash),
            _money(risk.redesign),
        )
        for risk in ends
    ]
    return Table(key="ends", title="Parts that end: the last order", columns=columns, rows=rows)


def _lead_table(leads: Sequence[LeadRisk]) -> Table:
    columns = (
        Column("item", "order of"),
        Column("build", "for"),
        Column("order_by", "order by"),
        Column("slack", "days of float", "number"),
        Column("lead", "days of lead", "number"),
        Column("worth", "a week late costs", "number"),
        Column("measure", "what buys days", rank=2),
        Column("once", "at", "number", rank=2),
        Column("removed", "worth", "number", rank=2),
    )
    rows: list[tuple[Cell, ...]] = []
    for risk in leads:
        head = (
            risk.item,
            risk.build,
            risk.order_by.isoformat() if risk.order_by is not None else None,
            f"at most {risk.slack}" if risk.bound else risk.slack,
            risk.lead,
            _money(risk.worth),
        )
        measures = [(each.words, _money(each.once), _money(each.removed)) for each in risk.measures]
        rows += [(*head, *measure) for measure in measures or [("", "", "")]]
    return Table(key="leads", title="Orders with the least float", columns=columns, rows=rows)


def _lane_table(lanes: Sequence[LaneRisk]) -> Table:
    columns = (
        Column("build", "build"),
        Column("lane", "planned", rank=1),
        Column("other", "instead"),
        Column("days", "days gained", "number"),
        Column("cost", "costs more", "number"),
        Column("removed", "days worth", "number"),
    )
    rows = [
        (risk.build, risk.lane, risk.other, risk.days, _money(risk.cost), _money(risk.removed))
        for risk in lanes
    ]
    return Table(key="reserve", title="A faster way home in reserve", columns=columns, rows=rows)


def _price_table(prices: Sequence[PriceRisk]) -> Table:
    columns = (
        Column("part", "part"),
        Column("seller", "seller", rank=2),
        Column("qty", "quantity", "number", rank=3),
        Column("order_day", "ordered"),
        Column("ends", "quote ends"),
        Column("price", "price", "number"),
        Column("dearer", "break before", "number"),
        Column("at_risk", "at risk", "number"),
    )
    rows = [
        (
            risk.part,
            risk.seller,
            Amount(risk.qty, 3, trim=True),
            risk.order_day.isoformat(),
            None if risk.ends is None else risk.ends.isoformat(),
            None if risk.price is None else Amount(risk.price, 4),
            None if risk.dearer is None else Amount(risk.dearer, 4),
            _money(risk.at_risk),
        )
        for risk in prices
    ]
    return Table(
        key="prices", title="Prices that no quote holds on the day of the order", columns=columns, rows=rows
    )


def _rate_table(rates: Mapping[str, SellingRate]) -> Table:
    columns = (
        Column("sku", "SKU"),
        Column("units", "units", "number"),
        Column("weeks", "weeks", "number"),
        Column("a_week", "a week", "number"),
        Column("contribution", "a unit leaves", "number"),
        Column("worth", "a week leaves", "number"),
    )
    rows = [
        (
            rate.sku,
            rate.units,
            rate.weeks,
            Amount(rate.a_week, 1),
            _money(rate.contribution),
            _money(rate.worth_a_week),
        )
        for rate in rates.values()
    ]
    return Table(key="rates", title="What the plan sells", columns=columns, rows=rows)


def _notes(soles: Sequence[SoleRisk], more: Sequence[LeadRisk], prices: Sequence[PriceRisk]) -> Iterator[str]:
    if not soles:
        yield "no part of this plan has one maker only"
    for risk in soles:
        if risk.unknown:
            yield f"{risk.part}: not known: {'; '.join(dict.fromkeys(risk.unknown))}; what rests on it is at most"
    if soles:
        yield (
            "exposure: (weeks to replace - weeks of cover) x what a week's sales leave; cover is usable stock and what "
            "sellers hold for us, for finished units and orders on the way nobody vouches"
        )
    if more:
        yield f"{counted(len(more), 'order')} with more float not shown: --most"
    if prices:
        yield f"{counted(len(prices), 'price')} more not held: --most"


def _end_notes(ends: Sequence[EndRisk]) -> Iterator[str]:
    for risk in ends:
        if not risk.need:
            yield f"{risk.part}: no plan that is not over needs it"
    if any(risk.service is None for risk in ends):
        yield "what repairs will need is in no last order: say it with --service, a share of what the plans need"
