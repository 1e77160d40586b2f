"""Three different numbers for a tool: its share in a unit, the cash it takes, and what is open if we stop.

A tool is in the unit cost by its share, in the cash plan by its instalments, and never in either twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.rates import Rates
from ferrule.model.product import Product
from ferrule.model.records.tool import Tool

__all__ = ["ToolCost", "tool_costs", "unrecovered"]

_ZERO = Fraction(0)


class ToolCost(Struct, frozen=True, kw_only=True):
    """What one tool costs a product, in the home currency; None where its amount is not known.

    ``cash`` is the amount; ``each`` its share in one good unit of the product; ``over`` the pieces it is
    spread over, fewer where its life ends before; ``made`` the pieces of it in a quantity of units;
    ``true_each`` the amount over the units of that quantity; ``open`` what is not recovered if we stop
    there. ``in_customs_value`` is the share that enters the customs value of a unit (an assist).
    """

    number: str
    name: str
    cash: Fraction | None
    each: Fraction | None
    over: Fraction
    made: Fraction
    true_each: Fraction | None
    open: Fraction | None
    in_customs_value: Fraction | None


def tool_costs(
    product: Product, rates: Rates, pieces: Mapping[str, Fraction], units: Fraction, planned: Fraction
) -> tuple[ToolCost, ...]:
    """Return the tools that make something in a product, sorted by number.

    ``pieces`` gives how many of each part and assembly are in one unit; ``units`` is the quantity asked about,
    ``planned`` the units over which an assist is spread that the unit cost does not spread.
    Share = amount / pieces it is spread over, or its life if that is smaller, times the pieces in a unit.
    A tool that makes several parts is used by the one needed most; one shot gives ``cavities`` of each.
    """
    found = []
    for number, tool in sorted(product.tools.items()):
        each = max((pieces.get(part, _ZERO) for part in tool.makes), default=_ZERO)
        if each:
            found.append(_cost(product, rates, number, tool, each, units, planned))
    return tuple(found)


def _cost(  # noqa: PLR0913, PLR0917  one tool against one quantity
    product: Product,
    rates: Rates,
    number: str,
    tool: Tool,
    each: Fraction,
    units: Fraction,
    planned: Fraction,
) -> ToolCost:
    home = product.head.currency
    firm = product.firms.get(tool.firm or "")
    own = (firm.currency if firm is not None else None) or home
    cash = rates.money(tool.amount, own, home) if tool.amount is not None else None
    over = _spread(tool)
    made = each * units
    share = None if cash is None else cash * each / over if over else _ZERO
    assist = None if cash is None else share if over else cash / planned if planned else None
    return ToolCost(
        number=number,
        name=tool.name,
        cash=cash,
        each=share,
        over=over,
        made=made,
        true_each=None if cash is None or not units else cash / units,
        open=None if cash is None else unrecovered(tool, cash, made),
        in_customs_value=assist if tool.assist else _ZERO,
    )


def unrecovered(tool: Tool, cash: Fraction, made: Fraction) -> Fraction:
    """Return what of a tool's amount is not recovered when ``made`` pieces of what it makes are: exposure if stopped.

    Amount x (1 - scrap value) - amount x made / pieces it is spread over, never below zero.
    """
    over = _spread(tool)
    recovered = cash * made / over if over else _ZERO
    return max(_ZERO, cash * (1 - _scrap(tool)) - recovered)


def _scrap(tool: Tool) -> Fraction:
    """Return the share of its amount a tool is still worth at the end; not stated counts as nothing."""
    return Fraction(tool.scrap_value.fraction) if tool.scrap_value is not None else _ZERO


def _spread(tool: Tool) -> Fraction:
    """Return the pieces the amount is spread over: as stated, or what is left of the tool's life if less.

    A tool past its life has nothing left to spread over: its successor costs as much for a whole life.
    """
    stated = Fraction(tool.amortise_over or 0)
    if not stated or not tool.life:
        return stated
    life, used = Fraction(tool.life), Fraction(tool.used or 0)
    return min(stated, (life - used if used < life else life) * (tool.cavities or 1))
