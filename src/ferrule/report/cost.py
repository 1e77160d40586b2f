"""`cost` in words: a unit's cost by element and quantity, what stands beside it, and what it rests on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from ferrule.compute.cost import UnitCost, duty_at
from ferrule.compute.economics import Breakeven, margins_of
from ferrule.compute.weakness import weakness
from ferrule.model.product import Product
from ferrule.report.cost_beside import beside, tools, yields
from ferrule.report.cost_channels import breakeven, channels
from ferrule.report.cost_elements import bars, elements
from ferrule.report.document import Cell, Document
from ferrule.report.wording import CAUTION, money, percent

__all__ = ["describe_cost"]


def describe_cost(
    product: Product,
    costs: Sequence[UnitCost],
    label: str,
    even: Breakeven | None,
    facts: Sequence[tuple[str, Cell]],
) -> Document:
    """Return the cost of a unit at several quantities, with what stands beside it."""
    main = costs[-1]
    home = product.head.currency
    margins = margins_of(product, main)
    tables = [elements(costs), beside(costs, home), yields(main), tools(main)]
    if margins:
        tables.append(channels(product, margins, main))
    if even is not None:
        tables.append(breakeven(even, home))
    return Document(
        key="cost",
        title=f"What one good {main.ask.sku} costs{', landed' if main.landed is not None else ' at the factory'}",
        facts=(("sku", main.ask.sku), *facts, ("state", label), ("currency", home)),
        tables=tuple(tables),
        notes=tuple(_notes(product, costs)),
        cautions=(*_to_confirm(product, main), CAUTION),
        pictures=(bars(costs, home),),
    )


def _notes(product: Product, costs: Sequence[UnitCost]) -> Iterator[str]:
    home = product.head.currency
    for cost in costs[-1:]:
        weak = weakness(cost)
        for kind, share in weak.shares.items():
            names = _first(weak.names[kind])
            yield f"{percent(share)} of the cost at {cost.ask.name} rests on prices that are {kind}: {names}"
        if weak.missing:
            yield f"no price at all: {', '.join(weak.missing)}"
        yield from _unknown_notes(costs)
        yield from cost.notes
        plain, bound = cost.total - cost.yield_cost, "at least " if cost.is_bound else ""
        if plain:
            yield (
                f"without a single failure a unit would cost {bound}{money(plain, 3)} {home};"
                f" yields add {money(cost.yield_cost, 3)}"
            )


def _first(names: Sequence[str], most: int = 8) -> str:
    """Return names in a row, the first of them where there are many."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return f"{', '.join(names[:most])}{more}"


def _unknown_notes(costs: Sequence[UnitCost]) -> Iterator[str]:
    """Yield what is not known, with the quantities where that is not all of them."""
    where: dict[str, list[str]] = {}
    for cost in costs:
        for words in cost.unknown:
            where.setdefault(words, []).append(cost.ask.name)
    for words, names in where.items():
        at = "" if len(names) == len(costs) else f" at {', '.join(names)}"
        yield f"not known{at}: {words}"


def _to_confirm(product: Product, cost: UnitCost) -> Iterator[str]:
    """Yield the facts behind a landed cost that a qualified person has to confirm."""
    lane = product.lanes.get(cost.ask.lane or "")
    if lane is None:
        return
    assembly = product.assemblies[cost.ask.sku]
    duty = duty_at(product, cost.ask.sku, lane)
    if duty is None:
        yield f"to confirm: tariff number, duty and origin of {cost.ask.sku} for {lane.destination or 'its destination'}"
        return
    code = next(each for each in assembly.customs_code if each.destination == lane.destination)
    paper = f" ({code.evidence})" if code.evidence else ""
    yield (
        f"to confirm: tariff number {code.code}, {_checked(code.checked, code.checked_by)}{paper}; origin"
        f" {assembly.origin or 'not stated'}; duty {duty.rate or 'not stated'} and {duty.basis} value for"
        f" {duty.destination}, {_checked(duty.checked, duty.checked_by)}"
    )


def _checked(day: dt.date | None, by: str | None) -> str:
    return "never checked" if day is None else f"checked {day} by {by or 'nobody named'}"
