"""Supply risk in money and days: what a source that fails costs, what takes that away, and what it is worth.

    exposure = (time to qualify a replacement - cover on hand) x weekly units x contribution
    expected = exposure x yearly chance
    carrying = units x price x yearly rate x weeks / 52

Never a score, which nobody can pay or insure. What is not stated is named, and makes a figure unknown, never nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import BuyRow
from ferrule.compute.cash import Ground
from ferrule.compute.credit import carrying
from ferrule.compute.leads import rough_days
from ferrule.compute.makers import is_sole_sourced, makers_behind
from ferrule.compute.rates import rates_of
from ferrule.compute.selling_rate import SellingRate
from ferrule.compute.use import is_bought, use_of
from ferrule.model.product import Product
from ferrule.model.records.part import Item

__all__ = [
    "Measure",
    "PriceRisk",
    "SoleRisk",
    "exposure",
    "price_risks",
    "sole_risks",
    "weekly_need",
    "weeks_of",
]

_ZERO = Fraction(0)
_YEAR_OF_WEEKS = Fraction(52)


class Measure(Struct, frozen=True, kw_only=True):
    """Something that takes exposure away: cash once, cost a year, and how much it removes; None is not known."""

    words: str
    once: Fraction | None
    a_year: Fraction | None
    removed: Fraction | None


class SoleRisk(Struct, frozen=True, kw_only=True):
    """A part of which one maker stands behind every approved source, and what it costs if that one fails.

    ``qualify`` and ``cover`` are weeks: to have a replacement approved, and that stock and what the seller holds
    for us last at the plan's rate of sale. ``worth`` is what a week without sales costs. ``unknown`` names what
    is not stated.
    """

    part: str
    kind: str
    makers: tuple[str, ...]
    skus: tuple[str, ...]
    need: Fraction
    held: Fraction
    qualify: Fraction | None
    cover: Fraction | None
    worth: Fraction | None
    chance: Fraction | None
    exposure: Fraction | None
    measures: tuple[Measure, ...]
    unknown: tuple[str, ...]

    @property
    def gap(self) -> Fraction | None:
        """Return the weeks without the part."""
        return None if self.qualify is None or self.cover is None else max(_ZERO, self.qualify - self.cover)

    @property
    def expected(self) -> Fraction | None:
        """Return the exposure times the yearly chance."""
        return None if self.exposure is None or self.chance is None else self.exposure * self.chance


class PriceRisk(Struct, frozen=True, kw_only=True):
    """An order whose price is not held on its day: what it costs more at the price of the break before.

    ``ends`` is the quote's last day, None where it states none. ``at_risk`` is None where the price or a dearer
    break is not known.
    """

    part: str
    seller: str
    source: int
    qty: Fraction
    price: Fraction | None
    dearer: Fraction | None
    order_day: dt.date
    ends: dt.date | None

    @property
    def at_risk(self) -> Fraction | None:
        """Return quantity times the rise of the price."""
        return None if self.price is None or self.dearer is None else self.qty * (self.dearer - self.price)


def weeks_of(days: Fraction) -> Fraction:
    """Return days in weeks."""
    return days / 7


def exposure(qualify: Fraction, cover: Fraction, a_week: Fraction, contribution: Fraction) -> Fraction:
    """Return what a source that fails costs: weeks without the part x units a week x contribution of a unit.

    (26 - 6) x 400 x 32 = 256,000. Nothing where the cover lasts until a replacement is approved.
    """
    return max(_ZERO, qualify - cover) * a_week * contribution


def weekly_need(rows: Sequence[BuyRow], ground: Ground, rates: Mapping[str, SellingRate]) -> Fraction:
    """Return how much of a part the plan's sales use in a week, losses included.

    For each SKU its units a week times what the plan's builds of it need for a unit.
    """
    runs = {run.name: run for run in ground.bought.runs.runs}
    built: dict[str, Fraction] = {}
    for run in runs.values():
        built[run.sku] = built.get(run.sku, _ZERO) + run.qty
    total = _ZERO
    for row in rows:
        used = sum((use.quantity for use in row.uses), _ZERO)
        losses = row.gross.total / used if used else Fraction(1)
        for use in row.uses:
            sku = runs[use.run].sku
            rate = rates.get(sku)
            total += _ZERO if rate is None else rate.a_week * use.quantity * losses / built[sku]
    return total


def sole_risks(product: Product, ground: Ground, rates: Mapping[str, SellingRate]) -> tuple[SoleRisk, ...]:
    """Return the sole-sourced parts that a plan buys, the unknown before all, then the largest exposure first."""
    spots, rows = use_of(product).spots, _by_part(ground.bought.rows)
    found = []
    for kind, number, item in sorted(product.items(), key=lambda each: each[1]):
        if (
            number in rows
            and is_bought(product, number, item)
            and is_sole_sourced(product, item, spots.get(number, ()))
        ):
            found.append(_Sole(product, ground, rates).risk(kind, number, item, rows[number]))
    return tuple(sorted(found, key=_heaviest))


def _heaviest(risk: SoleRisk) -> tuple[bool, Fraction, str]:
    return risk.exposure is not None, -(risk.exposure or _ZERO), risk.part


def _by_part(rows: Sequence[BuyRow]) -> Mapping[str, list[BuyRow]]:
    found: dict[str, list[BuyRow]] = {}
    for row in rows:
        found.setdefault(row.part, []).append(row)
    return found


class _Sole:
    def __init__(self, product: Product, ground: Ground, rates: Mapping[str, SellingRate]) -> None:
        self.product, self.ground, self.rates = product, ground, rates

    def risk(self, kind: str, number: str, item: Item, rows: Sequence[BuyRow]) -> SoleRisk:
        runs = {run.name: run.sku for run in self.ground.bought.runs.runs}
        skus = tuple(sorted({runs[use.run] for row in rows for use in row.uses}))
        need, held = weekly_need(rows, self.ground, self.rates), self._held(item, rows)
        qualify = None if item.qualify is None else weeks_of(rough_days(item.qualify))
        cover = held / need if need else None
        worth, unknown = self._worth(skus)
        gap = None if qualify is None or cover is None else max(_ZERO, qualify - cover)
        known = qualify is not None and cover is not None and worth is not None
        lost = exposure(qualify or _ZERO, cover or _ZERO, Fraction(1), worth or _ZERO) if known else None
        return SoleRisk(
            part=number,
            kind=kind,
            makers=tuple(sorted(makers_behind(self.product, item))),
            skus=skus,
            need=need,
            held=held,
            qualify=qualify,
            cover=cover,
            worth=worth,
            chance=None if item.loss_chance is None else Fraction(item.loss_chance.fraction),
            exposure=lost,
            measures=tuple(self._measures(item, rows, None if gap is None else gap * need, lost)),
            unknown=(*_not_stated(item), *(() if need else ("units sold a week",)), *unknown),
        )

    def _held(self, item: Item, rows: Sequence[BuyRow]) -> Fraction:
        stock = sum((row.netted.usable for row in rows), _ZERO)
        return stock + sum((Fraction(source.held_for_us or 0) for source in item.source), _ZERO)

    def _worth(self, skus: Sequence[str]) -> tuple[Fraction | None, tuple[str, ...]]:
        """Return what a week's sales of some SKUs leave; a SKU the plan does not sell leaves nothing."""
        rates = [self.rates[sku] for sku in skus if sku in self.rates]
        unknown = tuple(words for rate in rates for words in rate.unknown)
        known = [rate.worth_a_week for rate in rates]
        if None in known:
            return None, unknown
        return sum((each for each in known if each is not None), _ZERO), unknown

    def _measures(
        self, item: Item, rows: Sequence[BuyRow], units: Fraction | None, lost: Fraction | None
    ) -> Iterator[Measure]:
        """Yield extra cover for the weeks without the part, and a second source."""
        price, rate = _price(rows), self.product.policy.carrying_rate
        cash = None if units is None or price is None else units * price
        yield Measure(
            words="extra cover",
            once=cash,
            a_year=None
            if cash is None or rate is None
            else carrying(cash, Fraction(rate.fraction), _YEAR_OF_WEEKS, _YEAR_OF_WEEKS),
            removed=lost,
        )
        home = self.product.head.currency
        cost = item.qualify_cost
        yield Measure(
            words="second source",
            once=None if cost is None else rates_of(self.product).money(cost, home, home),
            a_year=_ZERO,
            removed=lost,
        )


def _not_stated(item: Item) -> Iterator[str]:
    if item.qualify is None:
        yield "time to qualify a replacement (qualify)"
    if item.qualify_cost is None:
        yield "cost of qualifying it (qualify_cost)"
    if item.loss_chance is None:
        yield "yearly chance that the source fails (loss_chance)"


def _price(rows: Sequence[BuyRow]) -> Fraction | None:
    """Return the price of one in the plan's orders, else the first quote's at its least quantity."""
    baskets = [order.basket for row in rows for order in row.orders]
    paid = [basket.each for basket in baskets if basket is not None and basket.each is not None]
    if paid:
        return max(paid)
    values = [row.left_value / row.left for row in rows if row.left_value is not None and row.left]
    return max(values, default=None)


def price_risks(ground: Ground) -> tuple[PriceRisk, ...]:
    """Return the orders whose quote does not hold on their day, what is unknown first, then by money."""
    found = [
        risk
        for row in ground.bought.rows
        for order in row.orders
        if (ends := order.quote.source.valid_until) is None or ends < order.order_day
        for risk in _price_risk(row, order.quote.index, ends)
    ]
    return tuple(
        sorted(found, key=lambda risk: (risk.at_risk is not None, -(risk.at_risk or _ZERO), risk.part))
    )


def _price_risk(row: BuyRow, index: int, ends: dt.date | None) -> Iterator[PriceRisk]:
    order = next(each for each in row.orders if each.quote.index == index)
    lots = order.basket.lots if order.basket is not None else ()
    for lot in lots:
        at = lot.form.break_at(lot.qty)
        yield PriceRisk(
            part=row.part,
            seller=order.quote.source.seller or "",
            source=index,
            qty=lot.qty,
            price=lot.price,
            dearer=lot.form.breaks[at - 1][1] if at else None,
            order_day=order.order_day,
            ends=ends,
        )
    if not lots:
        yield PriceRisk(
            part=row.part,
            seller=order.quote.source.seller or "",
            source=index,
            qty=order.qty,
            price=None,
            dearer=None,
            order_day=order.order_day,
            ends=ends,
        )
