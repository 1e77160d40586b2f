"""Money by week as SVG: the balance as a step line, and under it a narrow strip with a tick up and a tick down a week.

What comes in is filled and goes up, what goes out is hollow and goes down, both on one scale.
"""

from __future__ import annotations

import itertools
from fractions import Fraction

from ferrule.chart.money import Flow, curve_of, flows
from ferrule.chart.sheet import LINE, SIZE, Sheet, pixels, put, write
from ferrule.chart.svg_curve import Plot, draw_curve
from ferrule.chart.wording import flow_scale, tallest
from ferrule.model.exact import Exact
from ferrule.model.text import visible
from ferrule.report.picture import Balance

__all__ = ["draw_balance"]

_HALF = 24
_THICK = Fraction(5)


def draw_balance(sheet: Sheet, balance: Balance) -> None:
    """Draw the curve of the balance, and the strip of what moves under its axis."""
    draw_curve(sheet, curve_of(balance), lambda plot: _strip(sheet, balance, plot))


def _strip(sheet: Sheet, balance: Balance, plot: Plot) -> None:
    found = flows(balance)
    most = tallest(found)
    level = sheet.y + _HALF
    thick = _thickness(found, plot)
    for flow in found:
        for looks, amount, down in (
            ("income tone0", flow.income, False),
            ("outgo tone3 edge", flow.outgo, True),
        ):
            _tick(sheet, looks, amount, (plot.x(flow.x) - thick / 2, level, thick), most, down=down)
    put(sheet.body, "path", "line faint", d=f"M{pixels(plot.left)} {level} H{pixels(plot.right)}")
    write(sheet.body, plot.left - 7, level - 8, "in", "quiet", end=True)
    write(sheet.body, plot.left - 7, level + SIZE + 3, "out", "quiet", end=True)
    sheet.y = level + _HALF + 6
    sheet.paragraph(flow_scale(balance), "quiet")
    if balance.remark:
        sheet.paragraph(visible(balance.remark), "quiet")
    sheet.y += LINE // 3


def _thickness(found: list[Flow], plot: Plot) -> Fraction:
    """Return how thick ticks are: three fifths of the way to the next, and no thicker than looks well."""
    gaps = [plot.x(after.x) - plot.x(before.x) for before, after in itertools.pairwise(found)]
    return min([_THICK, *(gap * Fraction(3, 5) for gap in gaps)])


def _tick(  # noqa: PLR0913  a look, an amount and its place
    sheet: Sheet,
    looks: str,
    amount: Exact | None,
    at: tuple[Fraction, int, Fraction],
    most: Fraction,
    *,
    down: bool,
) -> None:
    """Draw a tick from the strip's middle; hatched over the whole half where the amount is not known."""
    x, level, thick = at
    if amount is None:
        y = Fraction(level if down else level - _HALF)
        put(sheet.body, "rect", "unknown", x=x, y=y, width=thick, height=_HALF, fill=sheet.hatching())
    elif amount:
        tall = Fraction(amount) * _HALF / most
        y = Fraction(level) if down else level - tall
        put(sheet.body, "rect", looks, x=x, y=y, width=thick, height=tall, stroke_width="0.8")
