"""What stands beside a unit's cost and in none of its sums: yields, tools, leftovers, weak ground."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from ferrule.compute.cost import UnitCost
from ferrule.compute.demand import Made
from ferrule.compute.landing import Landed
from ferrule.compute.tooling import ToolCost
from ferrule.compute.weakness import weakness
from ferrule.report.cost_elements import quantity_column, unless_nothing, whole_name
from ferrule.report.document import Amount, Cell, Column, Share, Table

__all__ = ["beside", "tools", "yields"]

_ZERO = Fraction(0)


def beside(costs: Sequence[UnitCost], home: str) -> Table:
    """Return what yields, tools and leftovers cost at each quantity, and what the cost rests on; units in a column."""
    a_unit = f"{home} each"

    def each(words: str, unit: str, value: Callable[[UnitCost], Cell]) -> tuple[Cell, ...]:
        return (words, unit, *(value(cost) for cost in costs))

    def landed(cost: UnitCost, value: Callable[[Landed], Fraction]) -> Cell:
        return "" if cost.landed is None else Amount(value(cost.landed) / cost.landed.units, 3)

    rows = [
        each("added by yields below 100 %", a_unit, lambda cost: Amount(cost.yield_cost, 3)),
        each("starts for the good units", "each", lambda cost: Amount(_starts(cost), 0)),
        each("first time through", "%", lambda cost: Share(_first_time(cost))),
        each(
            "duty that tools and sent parts cause",
            a_unit,
            lambda cost: landed(cost, lambda home: home.duty_on_assists),
        ),
        each("left over, paid for", a_unit, lambda cost: unless_nothing(cost.left_value, cost)),
        each("share of tools", a_unit, lambda cost: _tool_sum(cost, lambda tool: tool.each, 3)),
        each("tools if stopped here", a_unit, lambda cost: _tool_sum(cost, lambda tool: tool.true_each, 3)),
        each(f"{whole_name(costs)} with tools and leftovers", a_unit, _with_all),
        each("cash for the run", home, lambda cost: unless_nothing(cost.cash, cost, 2)),
        each("tools not recovered if stopped", home, lambda cost: _tool_sum(cost, lambda tool: tool.open, 2)),
        each("rests on weak prices", "%", lambda cost: Share(weakness(cost).share) if cost.total else None),
    ]
    return Table(
        key="beside",
        title="Beside it, in none of the sums above",
        columns=(
            Column("what", "what"),
            Column("unit", "unit", in_text=False),
            *(quantity_column(cost) for cost in costs),
        ),
        rows=rows,
        notes=(f"starts: of {_started(costs[-1]).assembly}; first time through: one of each assembly",),
    )


def _starts(cost: UnitCost) -> Fraction:
    """Return how many of the topmost assembly that loses units have to start, rounded up."""
    return Fraction(-(-_started(cost).starts // 1))


def _started(cost: UnitCost) -> Made:
    """Return the topmost assembly that loses units, else the SKU itself."""
    lossy = [made for made in cost.demand.made if made.flow.yield_ != 1]
    return lossy[0] if lossy else cost.demand.made[0]


def _first_time(cost: UnitCost) -> Fraction:
    """Return the share that passes every step of every assembly at the first try, one of each assembly counted."""
    share = Fraction(1)
    for made in cost.demand.made:
        share *= made.flow.first_time
    return share


def _tool_sum(cost: UnitCost, of: Callable[[ToolCost], Fraction | None], places: int) -> Cell:
    """Return one figure added up over all tools; unknown where one of them is."""
    known = [of(tool) for tool in cost.tools]
    return None if None in known else Amount(sum((each or _ZERO for each in known), _ZERO), places)


def _with_all(cost: UnitCost) -> Cell:
    tools = _tool_sum(cost, lambda tool: tool.each, 3)
    return tools and unless_nothing(cost.total + cost.tool_share + cost.left_value, cost)


def yields(cost: UnitCost) -> Table:
    """Return what half a point of yield is worth at each step, the most first."""
    flows = {(made.assembly, i): flow for made in cost.demand.made for i, flow in enumerate(made.flow.steps)}
    worth = {(each.assembly, each.step): each.saved for each in cost.worth}
    rows: list[tuple[Cell, ...]] = []
    for (assembly, index), flow in flows.items():
        name = _step_name(cost, assembly, index)
        saved = worth.get((assembly, name))
        if saved is not None:
            rows.append((assembly, name, Share(flow.first_pass, 2), Share(flow.final, 2), Amount(saved, 3)))
    rows.sort(key=lambda row: -(row[4].number if isinstance(row[4], Amount) else _ZERO))
    return Table(
        key="yields",
        title=f"What half a point of yield is worth, at {cost.ask.name}",
        columns=(
            Column("assembly", "assembly"),
            Column("step", "step"),
            Column("first_pass_percent", "first pass", "number"),
            Column("final_percent", "final", "number"),
            Column("saved", "saved a unit", "number"),
        ),
        rows=rows,
    )


def _step_name(cost: UnitCost, assembly: str, index: int) -> str:
    home = ("assembly", assembly, "steps", index)
    named = next((each.name for each in cost.contributions if each.home == home), "")
    return named.removeprefix(f"{assembly}, ")


def tools(cost: UnitCost) -> Table:
    """Return the three numbers of each tool: its share in a unit, its cash, what is open if we stop."""
    rows = [
        (
            tool.number,
            tool.name,
            None if tool.cash is None else Amount(tool.cash),
            Amount(tool.over, 0) if tool.over else "not spread",
            None if tool.each is None else Amount(tool.each, 3),
            None if tool.open is None else Amount(tool.open),
            "" if not tool.in_customs_value else Amount(tool.in_customs_value, 3),
        )
        for tool in cost.tools
    ]
    return Table(
        key="tools",
        title=f"Tools: three different numbers, at {cost.ask.name}",
        columns=(
            Column("tool", "tool"),
            Column("name", "name", rank=1),
            Column("cash", "cash", "number"),
            Column("over", "spread over", "number", rank=2),
            Column("unit", "a unit", "number"),
            Column("open", "open if stopped", "number"),
            Column("customs", "in customs value", "number", rank=3),
        ),
        rows=rows,
    )
