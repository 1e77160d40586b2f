"""What a cut-in decision rests on, taken from two revisions: needs by week, stock, open orders, prices."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import Bought
from ferrule.compute.cost import UnitCost
from ferrule.compute.cutin import CutInAsk, OpenLot, WeekNeed
from ferrule.compute.demand import Run
from ferrule.compute.figures import Figures, PlanFigures
from ferrule.compute.idle import cancel_fee, is_fixed, order_price, price_of
from ferrule.compute.pooling import Market

__all__ = ["CutInFacts", "Spread", "cut_in_facts", "unit_at"]

_ZERO = Fraction(0)
_WEEK = dt.timedelta(weeks=1)


class Spread(Struct, frozen=True, kw_only=True):
    """How the decision is to be counted: units made a week (None: each build in one week), warranty, salvage."""

    weekly: int | None = None
    warranty: Fraction = _ZERO
    salvage: Fraction = _ZERO


class CutInFacts(Struct, frozen=True, kw_only=True):
    """The question, its first Monday, and its runs in the order of their weeks.

    While something is ``unknown`` there is no answer. What is ``unvalued`` is in the books only: sunk money and
    write-off are not known then.
    """

    ask: CutInAsk
    monday: dt.date
    runs: tuple[tuple[int, Run], ...]
    unknown: tuple[str, ...]
    unvalued: tuple[str, ...] = ()


def cut_in_facts(
    before: Figures, after: Figures, plan: str, parts: tuple[str, str], spread: Spread
) -> CutInFacts:
    """Return what a change from one part to another rests on in a plan of both revisions.

    Weeks are counted from the one of the day of asking; needs that lie before it count in week 0.
    """
    old, new = parts
    monday = after.today - dt.timedelta(days=after.today.weekday())
    one, other = before.plans[plan], after.plans[plan]
    olds, news = _per_unit(one.ground.bought, old), _per_unit(other.ground.bought, new)
    days = _days(other.ground.bought, new) | _days(one.ground.bought, old)
    runs = sorted(
        (
            (max(0, (days.get(run.name, run.day) - monday).days // 7), run)
            for run in other.ground.bought.runs.runs
            if run.sku in olds
        ),
        key=lambda pair: (pair[0], pair[1].day, pair[1].name),
    )
    market = Market(after.product)
    unknown: list[str] = []
    unvalued: list[str] = []
    stock, stock_value = _stock(market, old, unvalued)
    return CutInFacts(
        ask=CutInAsk(
            weeks=tuple(_weeks(runs, olds, news, spread.weekly)),
            stock=stock,
            stock_value=stock_value,
            orders=tuple(_orders(market, old, (after.today, monday), unknown, unvalued)),
            new_price=_known(_new_price(market, other.ground.bought, new), f"price of {new}", unknown),
            other=_other(one, other, parts, [run for _, run in runs], unknown),
            warranty=spread.warranty,
            salvage=spread.salvage,
        ),
        monday=monday,
        runs=tuple(runs),
        unknown=tuple(dict.fromkeys(unknown)),
        unvalued=tuple(dict.fromkeys(unvalued)),
    )


def _per_unit(bought: Bought, part: str) -> dict[str, Fraction]:
    """Return the gross need of a part for one unit, by SKU."""
    runs = {run.name: run for run in bought.runs.runs}
    needs: dict[str, Fraction] = {}
    units: dict[str, Fraction] = {}
    for row in bought.rows:
        if row.part == part:
            for name, wanted in row.wanted:
                needs[name] = needs.get(name, _ZERO) + wanted.gross
    for name in needs:
        sku = runs[name].sku
        units[sku] = units.get(sku, _ZERO) + runs[name].qty
    total: dict[str, Fraction] = {}
    for name, need in needs.items():
        total[runs[name].sku] = total.get(runs[name].sku, _ZERO) + need
    return {sku: need / units[sku] for sku, need in total.items()}


def _days(bought: Bought, part: str) -> dict[str, dt.date]:
    """Return the day on which each run needs a part."""
    found: dict[str, dt.date] = {}
    for row in bought.rows:
        if row.part == part:
            found |= {name: wanted.day for name, wanted in row.wanted if wanted.day is not None}
    return found


def _weeks(
    runs: Iterable[tuple[int, Run]],
    olds: Mapping[str, Fraction],
    news: Mapping[str, Fraction],
    weekly: int | None,
) -> Iterator[WeekNeed]:
    made: dict[int, list[tuple[int, str]]] = {}
    at = 0
    for week, run in runs:  # one after the other, so that units have an order
        left, at = int(run.qty), max(at, week)
        while left > 0:
            many = left if weekly is None else min(left, weekly)
            made.setdefault(at, []).append((many, run.sku))
            left -= many
            at += 1 if left else 0
    for number in range(max(made, default=-1) + 1):
        each = made.get(number, [])
        yield WeekNeed(
            number=number,
            units=sum(many for many, _ in each),
            old=sum((many * olds.get(sku, _ZERO) for many, sku in each), _ZERO),
            new=sum((many * news.get(sku, _ZERO) for many, sku in each), _ZERO),
        )


def _stock(market: Market, part: str, unknown: list[str]) -> tuple[Fraction, Fraction]:
    """Return what lies of a part, ours and not in quarantine, and its value."""
    home = market.product.head.currency
    qty = value = _ZERO
    for stock in market.product.stock:
        if stock.part == part and stock.ours and stock.status != "quarantined":
            many = Fraction(stock.qty)
            each = (
                market.rates.money(stock.value, home, home)
                if stock.value is not None
                else price_of(market, part, None, many)
            )
            qty += many
            value += many * _known(each, f"value of {part} at {stock.place}", unknown)
    return qty, value


def _orders(
    market: Market, part: str, days: tuple[dt.date, dt.date], unknown: list[str], unvalued: list[str]
) -> Iterator[OpenLot]:
    today, monday = days
    for order in market.product.orders:
        if order.part != part:
            continue
        qty, fee = Fraction(order.qty), None
        is_sunk = is_fixed(market.product, order)
        words = f"price of order {order.id}"
        value = qty * _known(order_price(market, order), words, unvalued if is_sunk else unknown)
        if not is_sunk:
            share = cancel_fee(market.product, order, today)
            fee = value * _known(share, f"fee of cancelling {order.id}", unknown)
        week = None if order.due is None else max(0, (order.due - monday).days // 7)
        yield OpenLot(name=order.id, week=week, qty=qty, value=value, fee=fee)


def _new_price(market: Market, bought: Bought, part: str) -> Fraction | None:
    """Return what one costs in the plan's order; where nothing is ordered, at the need."""
    rows = [row for row in bought.rows if row.part == part]
    ordered = sum((row.ordered for row in rows), _ZERO)
    if not ordered:
        need = sum((row.gross.total for row in rows), _ZERO)
        return price_of(market, part, None, need)
    spends = [row.spend for row in rows if row.ordered]
    return None if None in spends else sum((spend or _ZERO for spend in spends), _ZERO) / ordered


def _other(
    before: PlanFigures, after: PlanFigures, parts: tuple[str, str], runs: Iterable[Run], unknown: list[str]
) -> Fraction:
    """Return what a new unit costs more than an old one beside the part, on average over the units."""
    more = units = _ZERO
    for run in runs:
        one, other = before.ground.costs.get(run.name), after.ground.costs.get(run.name)
        units += run.qty
        if one is None or other is None:
            unknown.append(f"unit cost of {run.name} before or after")
            continue
        unknown += [words for words in other.unknown if words not in one.unknown]
        more += run.qty * (_beside(other, parts[1]) - _beside(one, parts[0]))
    return more / units if units else _ZERO


def _beside(cost: UnitCost, part: str) -> Fraction:
    return cost.total - sum((each.amount or _ZERO for each in cost.contributions if each.name == part), _ZERO)


def _known(amount: Fraction | None, words: str, unknown: list[str]) -> Fraction:
    """Return an amount; where it is not known a note of that, and nothing that may be used."""
    if amount is None:
        unknown.append(words)
        return _ZERO
    return amount


def unit_at(facts: CutInFacts, units: int) -> tuple[str, int, int | None] | None:
    """Return build, number in it (from 1) and serial number of the first unit after so many; None after the last."""
    left = units
    for _, run in facts.runs:
        if left < run.qty:
            serial = run.serials[0] + left if run.serials is not None else None
            return run.name, left + 1, serial
        left -= int(run.qty)
    return None
