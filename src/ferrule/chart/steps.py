"""Step lines read: the level pieces of a line, its value at an x, its lowest point, and what each step did."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.chart.scale import Marks, Scale, rounded_ends
from ferrule.chart.wording import along, amount
from ferrule.model.exact import Exact
from ferrule.model.text import visible
from ferrule.report.picture import Curve, Line, Step

__all__ = [
    "Run",
    "causes",
    "known",
    "line_of",
    "lowest",
    "runs",
    "said",
    "scales",
    "value_at",
    "value_before",
]


class Run(Struct, frozen=True):
    """A level piece of a line from ``start`` to ``end``; ``end`` is None for the last, which goes on."""

    start: Exact
    end: Exact | None
    y: Exact


def runs(line: Line) -> Iterator[Run]:
    """Yield the level pieces of a line from the left; where its value is not known there is none."""
    ends: list[Exact | None] = [x for x, _ in line.points[1:]]
    for (x, y), end in zip(line.points, [*ends, None], strict=False):
        if y is not None:
            yield Run(x, end, y)


def value_at(line: Line, x: Exact) -> Exact | None:
    """Return what the line holds from x on; None where that is not known, or before its first point."""
    return next((y for at, y in reversed(line.points) if at <= x), None)


def value_before(line: Line, x: Exact) -> Exact | None:
    """Return what the line holds just before x; None where that is not known or there is nothing before."""
    return next((y for at, y in reversed(line.points) if at < x), None)


def known(curve: Curve) -> list[Exact]:
    """Return every known y of a curve, without its floor."""
    return [y for line in curve.lines for _, y in line.points if y is not None]


def scales(curve: Curve, most: int) -> tuple[Scale, Marks] | None:
    """Return the scale along and the one up, floor included; None if no value is known."""
    values = known(curve)
    if not values:
        return None
    if curve.floor is not None:
        values.append(curve.floor.y)
    across = [Fraction(x) for line in curve.lines for x, _ in line.points]
    return Scale(min(across), max(across), curve.spread == "ratio"), rounded_ends(
        min(values), max(values), most
    )


def lowest(curve: Curve) -> tuple[Exact, Exact] | None:
    """Return the lowest known point (x, y) of the first line, the earliest of equal ones."""
    if not curve.lowest or not curve.lines:
        return None
    points = [(x, y) for x, y in curve.lines[0].points if y is not None]
    return min(points, key=lambda point: point[1], default=None)


def line_of(curve: Curve, step: Step) -> Line | None:
    """Return the line a step is on; None if there is none of that name."""
    if not step.line:
        return curve.lines[0] if curve.lines else None
    return next((line for line in curve.lines if line.name == step.line), None)


def causes(curve: Curve) -> Iterator[str]:
    """Yield a sentence for every labelled step: where, from what to what, and why."""
    for step in curve.labels:
        line = line_of(curve, step)
        whose = f"{visible(step.line)} " if step.line else ""
        yield f"{whose}at {along(curve, step.x)}: {_change(curve, line, step.x)}{visible(step.cause)}"


def _change(curve: Curve, line: Line | None, x: Exact) -> str:
    if line is None:
        return ""
    before, after = value_before(line, x), value_at(line, x)
    if before is None or before == after:
        return f"{amount(after, curve.rounding)}, "
    return f"{amount(before, curve.rounding)} to {amount(after, curve.rounding)}, "


def said(curve: Curve, point: tuple[Exact, Exact]) -> str:
    """Return the words for the lowest point: "trough -12,000.00 at W12"."""
    return f"{visible(curve.lowest)} {amount(point[1], curve.rounding)} at {along(curve, point[0])}"
