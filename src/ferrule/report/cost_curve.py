"""`cost --curve`: unit cost and cash along the quantities, as a table and a picture, each step with its cause."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.curve import Point
from ferrule.model.product import Product
from ferrule.report.cost_elements import amount_cell
from ferrule.report.document import Amount, Column, Document, Table
from ferrule.report.picture import Curve, Line, Step
from ferrule.report.wording import CAUTION, money

__all__ = ["describe_curve"]


def describe_curve(
    product: Product, sku: str, points: Sequence[Point], label: str, shown: int = 12
) -> Document:
    """Return unit cost and cash at every carton multiple, each step with its cause."""
    home = product.head.currency
    rows = [
        (
            point.qty,
            "at least" if point.at_least else "",
            amount_cell(_drawn(point), 3),
            None if point.at_least and not point.cash else Amount(point.cash),
            "; ".join(cause.words for cause in point.causes[:2]),
        )
        for point in points
    ]
    return Document(
        key="cost_curve",
        title=f"Unit cost and cash of {sku} at every carton multiple",
        facts=(("sku", sku), ("points", len(points)), ("state", label), ("currency", home)),
        tables=(
            Table(
                key="curve",
                columns=(
                    Column("quantity", "quantity", "number"),
                    Column("bound", ""),
                    Column("unit", "a unit", "number"),
                    Column("cash", "cash", "number"),
                    Column("cause", "what changed"),
                ),
                rows=rows,
            ),
        ),
        notes=(
            *_lowest_notes(points, home),
            "between the steps the cost falls because what comes once with an order, a run or a shipment is spread",
            "cash: the run's units and what is left over of their parts; each quantity buys for itself, no stock used",
        ),
        cautions=(CAUTION,),
        pictures=(_curve(points, home, shown),),
    )


def _lowest_notes(points: Sequence[Point], home: str) -> Iterator[str]:
    lowest = min(points, key=lambda point: (point.unit, point.qty))
    if lowest.unit:
        bound = "at least " if lowest.at_least else ""
        yield f"least unit cost {bound}{money(lowest.unit, 3)} {home} at {lowest.qty:,}"
    if any(point.at_least for point in points):
        yield "at least: something is not known, without --curve it is named"


def _drawn(point: Point) -> Fraction | None:
    return None if point.at_least and not point.unit else point.unit


def _curve(points: Sequence[Point], home: str, shown: int) -> Curve:
    """Return the picture: unit cost as a step line, the largest steps named."""
    stepped = [
        (abs(after.unit - before.unit), after)
        for before, after in itertools.pairwise(points)
        if after.causes and after.causes[0].unit
    ]
    largest = sorted(stepped, key=lambda pair: (-pair[0], pair[1].qty))[:shown]
    return Curve(
        title="Unit cost by quantity",
        description="A step line of the cost of one unit over the quantity made at once; the largest steps are named.",
        unit_x="units made at once",
        unit_y=f"{home} a unit",
        lines=(Line("", tuple((Fraction(point.qty), _drawn(point)) for point in points)),),
        labels=tuple(
            Step(Fraction(point.qty), point.causes[0].words)
            for _, point in sorted(largest, key=lambda pair: pair[1].qty)
        ),
        spread="ratio",
    )
