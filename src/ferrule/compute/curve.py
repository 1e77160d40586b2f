"""Unit cost and cash at every carton multiple, and what causes each step: a price, a pack, a pallet, a tier."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.cost import CostAsk, UnitCost, unit_cost
from ferrule.compute.workings import a_unit
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product

__all__ = ["Cause", "Point", "cost_curve"]

_ZERO = Fraction(0)


class Cause(Struct, frozen=True):
    """Why a point differs from the one before: words, and the effect on the unit cost or on the cash."""

    kind: Literal["price", "packs", "steps", "way"]
    words: str
    unit: Fraction
    cash: Fraction


class Point(Struct, frozen=True, kw_only=True):
    """A quantity with its unit cost and the cash it takes, leftovers included; causes largest first."""

    qty: int
    unit: Fraction
    cash: Fraction
    at_least: bool
    causes: tuple[Cause, ...]


def cost_curve(product: Product, ask: CostAsk, quantities: Iterable[int]) -> Iterator[Point]:
    """Yield a point for each quantity, which are given rising; each buys for itself, stock left aside.

    A cause is named where a part's price changes, its order grows by more than the need does, a step's or
    factory's tier changes, or the way home is paid for another count of pallets or containers.
    """
    before: UnitCost | None = None
    for qty in quantities:
        cost = unit_cost(product, replace(ask, qty=Fraction(qty), name=f"{qty}"), effects=False)
        causes = sorted(
            _causes(product, before, cost),
            key=lambda cause: (-abs(cause.unit), -abs(cause.cash), cause.words),
        )
        yield Point(qty=qty, unit=cost.total, cash=cost.cash, at_least=cost.is_bound, causes=tuple(causes))
        before = cost


def _causes(product: Product, before: UnitCost | None, after: UnitCost) -> Iterator[Cause]:
    if before is None:
        return
    yield from _part_causes(product, before, after)
    yield from _step_causes(before, after)
    yield from _way_causes(before, after)


def _part_causes(product: Product, before: UnitCost, after: UnitCost) -> Iterator[Cause]:
    olds = {(row.part, row.buyer): row for row in before.bought.rows}
    for row in after.bought.rows:
        old = olds.get((row.part, row.buyer))
        if old is None or not row.orders or not old.orders:
            continue
        have, had = row.orders[0].basket, old.orders[0].basket
        if have is None or had is None or have.each is None or had.each is None:
            continue
        item = product.item(row.part)
        unit = item.unit if item is not None else "each"
        if have.each != had.each:
            more = (have.each - had.each) * row.gross.total / after.ask.qty
            price = f"{_short(have.each)} {product.head.currency} {a_unit(unit)}"
            words = f"{row.part} at {_counted_in(have.qty, unit)}: {_short(had.each)} to {price}"
            yield Cause("price", words, more, have.spend - had.spend)
        elif (row.left_value or _ZERO) > (old.left_value or _ZERO):
            words = f"{row.part}: order of {_short(had.qty)} to {_counted_in(have.qty, unit)}"
            yield Cause("packs", words, _ZERO, have.spend - had.spend)


def _step_causes(before: UnitCost, after: UnitCost) -> Iterator[Cause]:
    olds = {(cost.element, cost.name): cost for cost in before.contributions}
    for cost in after.contributions:
        old = olds.get((cost.element, cost.name))
        if old is not None and cost.amount is not None and cost.tier and cost.tier != old.tier:
            change = cost.amount - (old.amount or _ZERO)
            yield Cause("steps", f"{cost.name}: {cost.tier}", change, change * after.ask.qty)


def _way_causes(before: UnitCost, after: UnitCost) -> Iterator[Cause]:
    """Yield each further pallet or container, with what the lane asks for it."""
    olds, news = _counted(before), _counted(after)
    for noun, (count, amount) in news.items():
        old = olds.get(noun, (count, _ZERO))[0]
        if count != old:
            unit = amount * (count - old) / count
            yield Cause("way", f"{noun} {count}", unit, unit * after.ask.qty)


def _counted(cost: UnitCost) -> dict[str, tuple[int, Fraction]]:
    """Return how many pallets and containers go, each with what they cost a unit."""
    found: dict[str, tuple[int, Fraction]] = {}
    for each in cost.contributions:
        if each.count is not None:
            noun, count = each.count
            found[noun] = count, found.get(noun, (0, _ZERO))[1] + (each.amount or _ZERO)
    return found


def _counted_in(number: Fraction, unit: str) -> str:
    """Return a quantity with its unit; pieces are counted without one."""
    return _short(number) if unit == "each" else f"{_short(number)} {unit}"


def _short(number: Fraction) -> str:
    text = shown_amount(number, 4)
    return text.rstrip("0").rstrip(".")
