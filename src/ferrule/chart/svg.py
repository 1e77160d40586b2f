"""Pictures as SVG that stands alone: no script, nothing from outside, the same bytes for the same picture."""

from __future__ import annotations

from ferrule.chart.sheet import Sheet
from ferrule.chart.svg_balance import draw_balance
from ferrule.chart.svg_bars import draw_bars
from ferrule.chart.svg_curve import draw_curve
from ferrule.chart.svg_strips import draw_strips
from ferrule.chart.wording import sentences
from ferrule.report.picture import Balance, Bars, Picture, Strips

__all__ = ["as_svg"]


def as_svg(picture: Picture, *, width: int = 760, key: str = "picture") -> str:
    """Return one SVG element as text with a final newline, ``width`` pixels wide (280 at least).

    Text is 12 px at that width, so ask for 360 where a telephone shows it; a wider one shrinks to its page.
    ``key`` begins every id: pictures on one page need different ones. Raises ValueError if it is no name.
    """
    sheet = Sheet(width, key)
    sheet.title(picture.title)
    if isinstance(picture, Strips):
        draw_strips(sheet, picture)
    elif isinstance(picture, Bars):
        draw_bars(sheet, picture)
    elif isinstance(picture, Balance):
        draw_balance(sheet, picture)
    else:
        draw_curve(sheet, picture)
    return sheet.finished(picture.title, sentences(picture))
