"""The elements of a unit's cost at several quantities: the table, the bars, and how their cells are read."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from ferrule.compute.cost import LANDING_ORDER, UnitCost
from ferrule.compute.factory import CONSIGNED
from ferrule.report.document import Amount, Cell, Column, Table
from ferrule.report.picture import Bar, Bars, Segment
from ferrule.report.wording import quantity

__all__ = [
    "amount_cell",
    "bars",
    "elements",
    "elements_of",
    "quantity_column",
    "unless_nothing",
    "whole_name",
]

_ZERO = Fraction(0)
#: How the elements come together in a bar, in its order; what is in none of them is "other".
_GROUPS = {
    "materials": ("material, ",),
    "losses and charges": ("losses in placing", "order charges"),
    "labour": ("labour", "packing work", "other steps"),
    "test": ("test",),
    "factory price": ("quoted factory price",),
    "mark-up": ("mark-up", "handling of consigned parts"),
    "consigned": (CONSIGNED,),
    "way": (
        "origin haul",
        "export clearance",
        "loading",
        "freight",
        "insurance",
        "terminal at arrival",
        "delivery",
    ),
    "duty and entry": ("import clearance", "duty", "entry fees", "import tax"),
}
#: Elements are shown in this order within the factory's price; others follow by name.
_FACTORY_ORDER = (
    "losses in placing",
    "order charges",
    "labour",
    "test",
    "packing work",
    "other steps",
    "quoted factory price",
    "mark-up",
    "handling of consigned parts",
)


def elements_of(costs: Sequence[UnitCost]) -> list[str]:
    """Return the elements of some unit costs in the order of a report: materials, factory, ours, the way."""
    names = {name for cost in costs for name in cost.elements}
    materials = sorted(name for name in names if name.startswith("material, "))
    factory = [name for name in _FACTORY_ORDER if name in names]
    ours = [CONSIGNED] if CONSIGNED in names else []
    return [*materials, *factory, *ours, *(name for name in LANDING_ORDER if name in names)]


def quantity_column(cost: UnitCost) -> Column:
    """Return the column of a quantity; 10, 100,000 and 100 are left out, in this order, where there is no room."""
    qty = quantity(cost.ask.qty)
    name = cost.ask.name if cost.ask.name == qty else f"{cost.ask.name} {qty}"
    rank = {"10": 3, "100,000": 2, "100": 1}.get(cost.ask.name, 0)
    key = "unit_" + "".join(c if c.isalnum() else "_" for c in name.replace(",", "")).lower()
    return Column(key, name, "number", rank=rank)


def elements(costs: Sequence[UnitCost]) -> Table:
    """Return the cost of one good unit by element, with the factory price and the whole."""
    names = elements_of(costs)
    factory = [name for name in names if name != CONSIGNED and name not in LANDING_ORDER]
    rows: list[tuple[Cell, ...]] = [
        *(_row(name, costs) for name in factory),
        ("= factory price", *(unless_nothing(cost.factory, cost) for cost in costs)),
        *(_row(name, costs) for name in names[len(factory) :]),
    ]
    total = f"= {whole_name(costs)}"
    rows.append((total, *(unless_nothing(cost.total, cost) for cost in costs)))
    if any(cost.is_bound for cost in costs):
        rows.append(("at least, see below", *("at least" if cost.is_bound else "" for cost in costs)))
    return Table(
        key="elements",
        title="One good unit",
        columns=(Column("element", "element"), *(quantity_column(cost) for cost in costs)),
        rows=rows,
    )


def whole_name(costs: Sequence[UnitCost]) -> str:
    """Return what the sum of all elements is called."""
    return "landed" if costs[-1].landed is not None else "cost"


def _row(name: str, costs: Sequence[UnitCost]) -> tuple[Cell, ...]:
    return (name, *(_element(name, cost) for cost in costs))


def _element(name: str, cost: UnitCost) -> Cell:
    """Return an element's amount; blank where the cost has none, unknown where nothing of it is known."""
    known = [each.amount for each in cost.contributions if each.element == name]
    if not known:
        return ""
    return None if all(amount is None for amount in known) else Amount(cost.elements[name], 3)


def unless_nothing(amount: Fraction, cost: UnitCost, places: int = 3) -> Cell:
    """Return an amount; unknown where it adds up to nothing because what it is made of is not known."""
    return None if not amount and cost.is_bound else Amount(amount, places)


def amount_cell(value: Fraction | None, places: int = 2) -> Cell:
    """Return an amount, or None where it is not known."""
    return None if value is None else Amount(value, places)


def bars(costs: Sequence[UnitCost], home: str) -> Bars:
    """Return the picture: a bar for each quantity, cut into groups of elements."""
    names = elements_of(costs)
    rows = []
    for cost in costs:
        segments = []
        for group, heads in _GROUPS.items():
            kept = [name for name in names if name.startswith(heads)]
            value = sum((cost.elements.get(name, _ZERO) for name in kept), _ZERO)
            if value:
                segments.append(Segment(group, value))
        if cost.is_bound:
            segments.append(Segment("missing amounts", None))
        rows.append(Bar(quantity_column(cost).heading, tuple(segments)))
    return Bars(
        title=f"What one good {costs[0].ask.sku} is made of",
        description="One bar for each quantity, cut into cost elements; all bars share one scale.",
        unit=f"{home} a unit",
        rows=tuple(rows),
    )
