"""Money by week as plain text: the step line, and under it a line for what comes in and one for what goes out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from ferrule.chart.marks_curve import Grid, curve_lines
from ferrule.chart.marks_looks import Looks
from ferrule.chart.money import Flow, curve_of, flows
from ferrule.chart.wording import UNKNOWN, flow_scale
from ferrule.model.exact import Exact
from ferrule.model.text import visible
from ferrule.report.picture import Balance

__all__ = ["balance_lines"]


def balance_lines(balance: Balance, columns: int | None, looks: Looks) -> Iterator[str]:
    """Yield the curve's lines, those of what moves under its axis. Only sentences may be wider than ``columns``."""
    yield from curve_lines(
        curve_of(balance), columns, looks, lambda grid, left: _moving(balance, grid, left, looks)
    )


def _moving(balance: Balance, grid: Grid, left: int, looks: Looks) -> Iterator[str]:
    """Yield both lines. A column holds all weeks that begin in it; one of which a part is not known is "?"."""
    found = flows(balance)
    incomes = _summed(grid, [(flow.x, flow.income) for flow in found])
    outgoes = _summed(grid, [(flow.x, flow.outgo) for flow in found])
    most = max(
        [each for each in (*incomes.values(), *outgoes.values()) if each is not None], default=Fraction(0)
    )
    for name, sums in (("in", incomes), ("out", outgoes)):
        cells = "".join(_cell(sums.get(column, Fraction(0)), most, looks) for column in range(grid.wide))
        yield f"{name:>{left - 2}} {looks.edge}{cells}".rstrip()
    yield flow_scale(balance, most, _most_weeks(grid, found))
    if balance.remark:
        yield visible(balance.remark)


def _summed(grid: Grid, amounts: list[tuple[Fraction, Exact | None]]) -> dict[int, Fraction | None]:
    sums: dict[int, Fraction | None] = {}
    for x, amount in amounts:
        column = grid.column(x)
        before = sums.get(column, Fraction(0))
        sums[column] = None if before is None or amount is None else before + Fraction(amount)
    return sums


def _most_weeks(grid: Grid, found: list[Flow]) -> int:
    columns = [grid.column(flow.x) for flow in found]
    return max(map(columns.count, columns), default=1)


def _cell(amount: Fraction | None, most: Fraction, looks: Looks) -> str:
    if amount is None:
        return UNKNOWN
    return looks.levels[math.ceil(amount * len(looks.levels) / most) - 1] if amount else " "
