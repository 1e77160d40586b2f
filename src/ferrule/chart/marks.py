"""Pictures as plain text, for terminals and pipes: bars of letters and blocks, step lines of strokes.

Every element begins with its letter, so that the fill is only a help to the eye; every value stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ferrule.chart.marks_balance import balance_lines
from ferrule.chart.marks_bars import bar_lines
from ferrule.chart.marks_curve import curve_lines
from ferrule.chart.marks_looks import BLOCKS, NARROWEST, PLAIN
from ferrule.chart.marks_strips import strip_lines
from ferrule.model.columns import wrap
from ferrule.model.text import visible
from ferrule.report.picture import Balance, Bars, Picture, Strips

__all__ = ["as_marks"]


def as_marks(picture: Picture, columns: int | None, *, ascii_only: bool = False) -> Iterator[str]:
    """Yield the lines of a picture, none wider than ``columns`` (40 at least).

    None means no limit: the drawing is 100 columns wide and no sentence is wrapped. ``ascii_only`` is about our own
    characters; names are shown as they are, as everywhere.
    """
    looks = PLAIN if ascii_only else BLOCKS
    limit = None if columns is None else max(columns, NARROWEST)
    if isinstance(picture, Strips):
        draw = strip_lines(picture, limit, looks)
    elif isinstance(picture, Bars):
        draw = bar_lines(picture, limit, looks)
    elif isinstance(picture, Balance):
        draw = balance_lines(picture, limit, looks)
    else:
        draw = curve_lines(picture, limit, looks)
    yield from _wrapped([visible(picture.title), visible(picture.description)], limit)
    yield from _wrapped(draw, limit)


def _wrapped(lines: Iterable[str], limit: int | None) -> Iterator[str]:
    """Yield lines, what is too wide wrapped and indented as it was."""
    for line in lines:
        indent = line[: len(line) - len(line.lstrip(" "))]
        if limit is None:
            yield line
        else:
            yield from ((indent + part).rstrip() for part in wrap(line.lstrip(" "), limit - len(indent)))
