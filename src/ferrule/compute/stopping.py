"""What tools have not earned back if building stops at some quantity of each SKU.

Three numbers, never one: what was paid, the planned share in a piece, and what is open when nothing more is made.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.explode import explode
from ferrule.compute.rates import rates_of
from ferrule.compute.structure import Context, structure_of
from ferrule.compute.tooling import ToolCost, tool_costs
from ferrule.model.product import Product

__all__ = ["StoppedTool", "stopped_tools"]

_ZERO = Fraction(0)


class StoppedTool(Struct, frozen=True, kw_only=True):
    """One tool when building stops, in the home currency; None where its amount is not known.

    ``over`` is the pieces its amount is spread over (0: none), ``planned`` its share in a piece by that,
    ``made`` the pieces made, ``true`` the amount over those (None if none), ``open`` what is not earned back.
    """

    number: str
    name: str
    amount: Fraction | None
    over: Fraction
    planned: Fraction | None
    made: Fraction
    true: Fraction | None
    open: Fraction | None


def stopped_tools(product: Product, made: Mapping[str, Fraction], day: dt.date) -> tuple[StoppedTool, ...]:
    """Return every tool that serves some SKUs, sorted by number, when so many of each are made and no more.

    A tool that makes several parts counts the pieces of the one needed most, over all SKUs together. A scrap
    value the tool states is not lost. Raises ValueError where assemblies contain themselves.
    """
    total: dict[str, Fraction] = {}
    single: dict[str, Fraction] = {}
    for sku, units in made.items():
        quantities = explode(product, structure_of(product, Context(day=day)), sku).quantities
        for part, qty in {sku: 1, **quantities}.items():
            total[part] = total.get(part, _ZERO) + Fraction(qty) * units
            single[part] = single.get(part, _ZERO) + Fraction(qty)
    rates = rates_of(product)
    used = {tool.number: tool for tool in tool_costs(product, rates, total, Fraction(1), _ZERO)}
    served = tool_costs(product, rates, single, _ZERO, _ZERO)
    return tuple(_stopped(used.get(tool.number, tool)) for tool in served)


def _stopped(tool: ToolCost) -> StoppedTool:
    amount = tool.cash
    return StoppedTool(
        number=tool.number,
        name=tool.name,
        amount=amount,
        over=tool.over,
        planned=None if amount is None else amount / tool.over if tool.over else _ZERO,
        made=tool.made,
        true=None if amount is None or not tool.made else amount / tool.made,
        open=tool.open,
    )
