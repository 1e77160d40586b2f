"""Strips of time as SVG: closures as hatched columns, the deciding rows in a thick frame, the marked day a labelled tick.

Names stand at the left of their strips on a wide sheet, above them on a narrow one. A label stands beside its tick
where there is room, else under it.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from xml.etree import ElementTree as ET

from msgspec import Struct

from ferrule.chart.days import Axis, axis_of, calendar_marks, plan_marks, that_fit
from ferrule.chart.looks import KINDS, STRIPS
from ferrule.chart.sheet import LINE, MARGIN, SIZE, Sheet, long, pixels, put, write
from ferrule.chart.wording import NOTHING, closure_said, letter, strip_label, strips_notes
from ferrule.model.columns import wrap
from ferrule.model.text import visible
from ferrule.report.picture import StripRow, Strips

__all__ = ["draw_strips"]

_ROW = 20
_TALL = 12
_GAP = 8
_SWATCH = 18
_NAMED = Fraction(1, 3)
_WIDE = 560


class _Plot(Struct, frozen=True):
    axis: Axis
    left: Fraction
    right: Fraction
    #: Whether names stand at the left of the strips.
    beside: bool
    #: Where closures and today are drawn, behind everything.
    ground: ET.Element

    def x(self, share: Fraction) -> Fraction:
        return self.left + share * (self.right - self.left)


def draw_strips(sheet: Sheet, strips: Strips) -> None:
    """Draw the key, the axis, the rows, and under them the closures by name."""
    axis = axis_of(strips)
    if axis is None:
        sheet.paragraph(NOTHING)
        return
    sheet.paragraph("one strip a row", "quiet")
    sheet.y += 2
    _legend(sheet, strips, axis)
    plot = _laid_out(sheet, strips, axis)
    _axis(sheet, strips, plot)
    top = sheet.y
    bands = [_row(sheet, row, plot) for row in strips.rows]
    for band in [(top, sheet.y)] if plot.beside else bands:
        _ground(sheet, strips, plot, band)
    sheet.y += 6
    for index, closed in enumerate(strips.closures):
        sheet.paragraph(closure_said(index, closed))
    for note in strips_notes(strips):
        sheet.paragraph(note)


def _laid_out(sheet: Sheet, strips: Strips, axis: Axis) -> _Plot:
    beside = sheet.width >= _WIDE
    columns = sheet.columns(sheet.inner * _NAMED)
    names = [line for row in strips.rows for line in wrap(visible(row.name), columns)]
    left = MARGIN + (max(map(long, names)) + _GAP if beside else Fraction(0))
    return _Plot(axis, left, Fraction(sheet.width - MARGIN), beside, put(sheet.body, "g"))


def _legend(sheet: Sheet, strips: Strips, axis: Axis) -> None:
    """Write what each look means, flowing over lines."""
    x = Fraction(MARGIN)
    for look, words in _meanings(strips, axis):
        wide = _SWATCH + 6 + long(words) + 14
        if x + wide - 14 > sheet.width - MARGIN and x > MARGIN:
            x, sheet.y = Fraction(MARGIN), sheet.y + LINE + 4
        _swatch(sheet, x, look)
        lines = wrap(words, sheet.columns(sheet.inner - _SWATCH - 6))
        for number, line in enumerate(lines):
            write(sheet.body, x + _SWATCH + 6, sheet.y + SIZE + LINE * number, line)
        sheet.y += LINE * (len(lines) - 1)
        x += wide
    sheet.y += LINE + 8


def _meanings(strips: Strips, axis: Axis) -> Iterator[tuple[str, str]]:
    kinds = {each.kind for row in strips.rows for each in row.stretches}
    yield from ((kind, words) for kind, words in KINDS.items() if kind in kinds)
    if strips.closures:
        yield "closed", "closed or slow"
    if any(row.critical for row in strips.rows):
        yield "frame", "decides the date"
    if any(row.tick is not None for row in strips.rows):
        yield "tick", "the day beside it"
    if strips.today is not None and axis.holds(strips.today, strips.today):
        yield "today", f"today {strips.today}"


def _swatch(sheet: Sheet, x: Fraction, look: str) -> None:
    y = sheet.y + 2
    if look == "frame":
        put(sheet.body, "rect", "line", x=x + 1, y=y, width=_SWATCH - 2, height=SIZE, stroke_width="2.5")
    elif look == "tick":
        put(sheet.body, "path", "edge", d=f"M{pixels(x + 9)} {y - 1} v{SIZE + 2}", stroke_width="2.5")
    elif look == "today":
        put(sheet.body, "path", "floor", d=f"M{pixels(x + 9)} {y - 1} v{SIZE + 2}")
    else:
        fill = sheet.hatching() if look == "closed" else sheet.pattern(STRIPS[look])
        put(sheet.body, "rect", "edge", x=x, y=y, width=_SWATCH, height=SIZE, fill=fill, stroke_width="0.8")


def _axis(sheet: Sheet, strips: Strips, plot: _Plot) -> None:
    """Write plan weeks if there are any, weeks or months, and the letters of the closures over their columns."""
    axis = plot.axis
    lines = [calendar_marks(axis)]
    if strips.week_zero is not None:
        lines.insert(0, plan_marks(axis, strips.week_zero))
    for marks in lines:
        found = that_fit(
            marks, lambda day: plot.x(axis.at(day)), lambda text: long(text) + _GAP, plot.right + _GAP
        )
        for x, text in found:
            write(sheet.body, x, sheet.y + SIZE, text, "quiet")
        sheet.y += LINE
    ticks = " ".join(f"M{pixels(x)} {sheet.y} v4" for x, _ in found)
    level = f"M{pixels(plot.left)} {sheet.y + 4} H{pixels(plot.right)}"
    put(sheet.body, "path", "line faint", d=f"{ticks} {level}".strip())
    sheet.y += 4
    if strips.closures:
        _letters(sheet, strips, plot)


def _letters(sheet: Sheet, strips: Strips, plot: _Plot) -> None:
    """Write each closure's letter where its column begins, if there is room beside the one before."""
    end = Fraction(0)
    ordered = sorted(enumerate(strips.closures), key=lambda pair: (pair[1].start, pair[0]))
    for index, closed in ordered:
        if plot.axis.holds(closed.start, closed.finish):
            name = letter(index).lower()
            start, finish = plot.x(plot.axis.at(closed.start)), plot.x(plot.axis.after(closed.finish))
            x = min((start + finish - long(name)) / 2, plot.right - long(name))
            if x >= end:
                write(sheet.body, x, sheet.y + SIZE, name, "quiet")
                end = x + long(name) + 2
    sheet.y += LINE


def _ground(sheet: Sheet, strips: Strips, plot: _Plot, band: tuple[int, int]) -> None:
    """Draw closures as hatched columns, and today as a dashed upright, behind what is in a band."""
    axis, (top, bottom) = plot.axis, band
    for closed in strips.closures:
        if axis.holds(closed.start, closed.finish):
            x, end = plot.x(axis.at(closed.start)), plot.x(axis.after(closed.finish))
            fill = sheet.hatching()
            put(plot.ground, "rect", x=x, y=top, width=end - x, height=bottom - top, fill=fill)
            put(plot.ground, "path", "line faint", d=f"M{pixels(x)} {top} V{bottom}", stroke_width="0.6")
    if strips.today is not None and axis.holds(strips.today, strips.today):
        put(plot.ground, "path", "floor", d=f"M{pixels(plot.x(axis.at(strips.today)))} {top} V{bottom}")


def _row(sheet: Sheet, row: StripRow, plot: _Plot) -> tuple[int, int]:
    """Draw a row and move down; return the top and the bottom of what lies on the axis."""
    said = strip_label(row)
    looks = "strong" if row.critical else ""
    if not plot.beside:
        _headed(sheet, row, said, looks)
        band = (sheet.y, sheet.y + _ROW - 2)
        _strip(sheet, row, plot)
        sheet.y += _ROW + 6
        return band
    lines = wrap(visible(row.name), sheet.columns(plot.left - MARGIN - _GAP))
    for number, line in enumerate(lines):
        write(sheet.body, MARGIN, sheet.y + SIZE + LINE * number, line, looks)
    _strip(sheet, row, plot)
    top = sheet.y
    below = _labelled(sheet, row, said, plot) if said else 0
    sheet.y += max(_ROW + LINE * below, LINE * len(lines) + 3)
    return top, sheet.y


def _headed(sheet: Sheet, row: StripRow, said: str, looks: str) -> None:
    """Write a row's name and its label over the strip: in one line where both fit."""
    name = visible(row.name)
    if long(name) + long(said) + _GAP <= sheet.inner:
        write(sheet.body, MARGIN, sheet.y + SIZE, name, looks)
        write(sheet.body, sheet.width - MARGIN, sheet.y + SIZE, said, end=True)
        sheet.y += LINE
        return
    sheet.paragraph(name, looks)
    sheet.paragraph(said)


def _strip(sheet: Sheet, row: StripRow, plot: _Plot) -> None:
    """Draw the stretches, the frame around those that decide the date, and the tick."""
    axis, y = plot.axis, sheet.y + 3
    drawn = [each for each in row.stretches if axis.holds(each.start, each.finish)]
    ends = [(plot.x(axis.at(each.start)), plot.x(axis.after(each.finish))) for each in drawn]
    for each, (x, end) in zip(drawn, ends, strict=True):
        fill = sheet.pattern(STRIPS[each.kind])
        looks = "stretch edge" if end - x >= 4 else "stretch"
        put(
            sheet.body, "rect", looks, x=x, y=y, width=end - x, height=_TALL, fill=fill, stroke_width="0.8"
        )  # fmt: skip
    if row.critical and ends:
        x, end = min(ends)[0] - 2, max(end for _, end in ends) + 2
        put(sheet.body, "rect", "line", x=x, y=y - 2, width=end - x, height=_TALL + 4, stroke_width="2.5")
    if row.tick is not None and axis.holds(row.tick, row.tick):
        x = plot.x(axis.at(row.tick))
        put(sheet.body, "path", "edge", d=f"M{pixels(x)} {y - 3} v{_TALL + 6}", stroke_width="2.5")


def _labelled(sheet: Sheet, row: StripRow, said: str, plot: _Plot) -> int:
    """Write a label left of the tick, right of the strip, or below; return the lines it takes below."""
    axis, wide = plot.axis, long(said)
    days = [day for each in row.stretches for day in (each.start, each.finish)]
    first = row.tick if row.tick is not None else min(days, default=axis.first)
    left, right = plot.x(axis.at(min([first, *days]))), plot.x(axis.after(max([first, *days])))
    if left - 6 - wide >= plot.left:
        _on_paper(sheet, left - 6 - wide, sheet.y, said)
        return 0
    if right + 6 + wide <= plot.right:
        _on_paper(sheet, right + 6, sheet.y, said)
        return 0
    lines = wrap(said, sheet.columns(plot.right - plot.left))
    for number, line in enumerate(lines, 1):
        _on_paper(sheet, max(plot.left, min(left, plot.right - long(line))), sheet.y + LINE * number, line)
    return len(lines)


def _on_paper(sheet: Sheet, x: Fraction, y: int, text: str) -> None:
    """Write a text that closures and today do not shine through."""
    put(sheet.body, "rect", "paper", x=x - 2, y=y + 1, width=long(text) + 4, height=SIZE + 4)
    write(sheet.body, x, y + SIZE, text)
