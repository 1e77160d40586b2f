"""Strips of time as SVG: closures as hatched columns, the deciding ones outlined thickly, the marked day a tick."""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from ferrule.chart.days import Axis, axis_of
from ferrule.chart.marks_strips import FILLS
from ferrule.chart.sheet import LINE, MARGIN, SIZE, Sheet, long, pixels, put, write
from ferrule.chart.wording import NOTHING, TOO_NARROW, in_words, strips_key
from ferrule.model.columns import wrap
from ferrule.model.text import visible
from ferrule.report.picture import StripRow, Strips

__all__ = ["draw_strips"]

_ROW = 22
_TALL = 12
_GAP = 8
_LEAST = 80
_NAMED = Fraction(1, 3)


class _Plot(Struct, frozen=True):
    axis: Axis
    left: Fraction
    right: Fraction

    def x(self, share: Fraction) -> Fraction:
        return self.left + share * (self.right - self.left)


def draw_strips(sheet: Sheet, strips: Strips) -> None:
    """Draw the key, the months, the rows, and under them the closures by name."""
    axis = axis_of(strips)
    if axis is None:
        sheet.paragraph(NOTHING)
        return
    sheet.paragraph(strips_key(strips, outlined=True), "quiet")
    names = [wrap(visible(row.name), sheet.columns(sheet.inner * _NAMED)) for row in strips.rows]
    labels = [_label(row) for row in strips.rows]
    left = MARGIN + max(long(line) for lines in names for line in lines) + _GAP
    right = Fraction(sheet.width - MARGIN) - max(map(long, labels)) - _GAP
    if right - left < _LEAST:
        for sentence in (TOO_NARROW, *in_words(strips)):
            sheet.paragraph(sentence)
        return
    _legend(sheet, strips)
    plot = _Plot(axis, left, right)
    _months(sheet, plot)
    top = sheet.y
    heights = [max(_ROW, LINE * len(lines) + 4) for lines in names]
    _columns(sheet, strips, plot, top, sum(heights))
    for row, lines, label, height in zip(strips.rows, names, labels, heights, strict=True):
        _row(sheet, row, plot)
        for number, line in enumerate(lines):
            write(sheet.body, MARGIN, sheet.y + SIZE + LINE * number, line, "strong" if row.critical else "")
        write(sheet.body, sheet.width - MARGIN, sheet.y + SIZE, label, end=True)
        sheet.y += height
    sheet.y += 6
    for closed in strips.closures:
        sheet.paragraph(f"{visible(closed.name)}: {closed.start} to {closed.finish}")


def _label(row: StripRow) -> str:
    return f"{visible(row.label)} {row.tick}".strip() if row.tick is not None else ""


def _legend(sheet: Sheet, strips: Strips) -> None:
    """Write a swatch for each kind of stretch, for closures and for today, flowing over lines."""
    kinds = {each.kind for row in strips.rows for each in row.stretches}
    entries: list[tuple[str, str]] = [(kind, sheet.pattern(FILLS[kind])) for kind in FILLS if kind in kinds]
    entries += [("closed", sheet.hatching())] if strips.closures else []
    x = Fraction(MARGIN)
    for name, fill in entries:
        wide = 24 + long(name) + 14
        if x + wide > sheet.width - MARGIN and x > MARGIN:
            x, sheet.y = Fraction(MARGIN), sheet.y + LINE + 4
        put(sheet.body, "rect", "edge", x=x, y=sheet.y + 1, width=18, height=SIZE, fill=fill)
        write(sheet.body, x + 24, sheet.y + SIZE, name)
        x += wide
    if strips.today is not None:
        text = f"today {strips.today}"
        if x + 24 + long(text) > sheet.width - MARGIN and x > MARGIN:
            x, sheet.y = Fraction(MARGIN), sheet.y + LINE + 4
        put(sheet.body, "path", "floor", d=f"M{pixels(x + 9)} {sheet.y} v{SIZE + 2}")
        write(sheet.body, x + 24, sheet.y + SIZE, text)
    sheet.y += LINE + 8


def _months(sheet: Sheet, plot: _Plot) -> None:
    """Write the months that find room, each with a short tick at its first day."""
    end = Fraction(0)
    for day, name in plot.axis.months():
        x = plot.x(plot.axis.at(day))
        put(sheet.body, "path", "line faint", d=f"M{pixels(x)} {sheet.y + LINE} v4")
        if x >= end and x + long(name) <= plot.right:
            write(sheet.body, x, sheet.y + SIZE, name, "quiet")
            end = x + long(name) + _GAP
    sheet.y += LINE + 4
    put(
        sheet.body,
        "path",
        "line faint",
        d=f"M{pixels(plot.left)} {sheet.y - 4} H{pixels(plot.right)}",
    )


def _columns(sheet: Sheet, strips: Strips, plot: _Plot, top: int, height: int) -> None:
    """Draw closures as hatched columns behind the rows, and today as a dashed upright."""
    axis = plot.axis
    for closed in strips.closures:
        if closed.finish < axis.first or closed.start > axis.last:
            continue
        start, end = plot.x(axis.at(closed.start)), plot.x(axis.after(closed.finish))
        put(sheet.body, "rect", x=start, y=top, width=end - start, height=height, fill=sheet.hatching())
    if strips.today is not None:
        x = pixels(plot.x(axis.at(strips.today)))
        put(sheet.body, "path", "floor", d=f"M{x} {top} V{top + height}")


def _row(sheet: Sheet, row: StripRow, plot: _Plot) -> None:
    for each in row.stretches:
        start, end = plot.x(plot.axis.at(each.start)), plot.x(plot.axis.after(each.finish))
        put(
            sheet.body,
            "rect",
            "edge",
            x=start,
            y=sheet.y + 3,
            width=end - start,
            height=_TALL,
            fill=sheet.pattern(FILLS[each.kind]),
            stroke_width="2.5" if row.critical else "0.8",
        )
    if row.tick is not None:
        x = pixels(plot.x(plot.axis.at(row.tick)))
        put(sheet.body, "path", "edge", d=f"M{x} {sheet.y} v{_TALL + 6}", stroke_width="2.5")
