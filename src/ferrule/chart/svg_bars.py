"""Bars as SVG: each cut into elements that have a letter, a tone and a patterned strip; values in the segments.

A value that does not fit into its segment stands under the bar, never over its neighbour.
"""

from __future__ import annotations

from fractions import Fraction
from xml.etree import ElementTree as ET

from msgspec import Struct

from ferrule.chart.looks import PATTERNS, tone
from ferrule.chart.placing import Box
from ferrule.chart.sheet import LINE, MARGIN, SIZE, Sheet, long, pixels, put, write
from ferrule.chart.wording import (
    NOTHING,
    UNKNOWN,
    bar_scale,
    beside,
    flowed,
    keyed,
    letters,
    reach,
    sum_text,
    total,
    under,
)
from ferrule.model.columns import wrap
from ferrule.model.text import visible
from ferrule.report.picture import Bar, Bars, Segment

__all__ = ["draw_bars"]

_HEIGHT = 32
_FLAT = 24  # the values stand on flat tone, above the patterned strip
_OPEN = 30
_INSET = 4
_SWATCH = 24
_FRAME = 8


class _Pen(Struct, frozen=True):
    """What drawing a row needs to know of the whole picture."""

    sheet: Sheet
    bars: Bars
    names: dict[str, str]
    #: Pixels for one of the unit.
    scale: Fraction

    def element(self, segment: Segment) -> int:
        return list(self.names).index(segment.name)


def draw_bars(sheet: Sheet, bars: Bars) -> None:
    """Draw the scale's sentence, the key of the elements, and every row."""
    sheet.paragraph(bar_scale(bars), "quiet")
    if not bars.rows:
        sheet.paragraph(NOTHING)
        return
    sheet.y += 6
    names = letters(bars)
    _key(sheet, names)
    unknown = any(segment.value is None for row in bars.rows for segment in row.segments)
    room = Fraction(sheet.inner - (_OPEN if unknown else 0))
    longest = max(map(reach, bars.rows))
    pen = _Pen(sheet, bars, names, room / longest if longest else Fraction(0))
    for row in bars.rows:
        sheet.y += 12
        _row(pen, row)


def _key(sheet: Sheet, names: dict[str, str]) -> None:
    """Draw swatch, letter and name of every element, side by side where they fit."""
    at = 0
    indent = _SWATCH + 6
    for index, name in enumerate(names):
        needed = indent + int(long(keyed(names, name))) + 1
        if at and at + needed > sheet.inner:
            sheet.y += LINE + 3
            at = 0
        _swatch(sheet, MARGIN + at, index)
        lines = wrap(keyed(names, name), sheet.columns(sheet.inner - indent))
        for number, line in enumerate(lines):
            write(sheet.body, MARGIN + at + indent, sheet.y + SIZE + number * LINE, line)
        sheet.y += (len(lines) - 1) * LINE
        at += needed + MARGIN
    sheet.y += LINE + 3 if names else 0


def _swatch(sheet: Sheet, x: int, index: int) -> None:
    group = put(sheet.body, "g", transform=f"translate({x} {sheet.y})")
    put(group, "rect", f"tone{tone(index)} edge", width=_SWATCH, height=16)
    _strip(sheet, group, index, Box(Fraction(0), Fraction(8), Fraction(_SWATCH), Fraction(16)))


def _strip(sheet: Sheet, group: ET.Element, element: int, box: Box) -> None:
    """Lay an element's pattern over the foot of its rectangle, inside the edge."""
    wide = box.right - box.left - 1
    if PATTERNS[element % len(PATTERNS)] and wide > 0:
        tall = box.bottom - box.top - Fraction(1, 2)
        fill = sheet.pattern(element)
        put(group, "rect", x=box.left + Fraction(1, 2), y=box.top, width=wide, height=tall, fill=fill)


def _row(pen: _Pen, row: Bar) -> None:
    sheet = pen.sheet
    _heading(sheet, visible(row.name), sum_text(row, pen.bars.rounding))
    group = put(sheet.body, "g", "bar", transform=f"translate({MARGIN} {sheet.y})")
    x = Fraction(0)
    aside = []
    for segment in row.segments:
        if segment.value is not None and segment.value >= 0:
            if not _segment(pen, group, x, segment):
                aside.append(beside(pen.names, segment, pen.bars.rounding))
            x += Fraction(segment.value) * pen.scale
    if any(segment.value is None for segment in row.segments):
        _open_end(sheet, group, x)
    sheet.y += _HEIGHT + 5
    if _taken_off(group, x, (reach(row) - total(row)) * pen.scale):
        sheet.y += _FRAME
    _below(pen, row, aside)


def _heading(sheet: Sheet, name: str, said: str) -> None:
    """Write a row's name and, at the right, its sum; the sum on a line of its own where both do not fit."""
    room = sheet.inner - long(said) - 12
    if room < sheet.inner / 3:
        sheet.paragraph(name, "strong")
        sheet.paragraph(said, "strong")
        return
    write(sheet.body, MARGIN + sheet.inner, sheet.y + SIZE, said, "strong", end=True)
    for line in wrap(name, sheet.columns(room)):
        write(sheet.body, MARGIN, sheet.y + SIZE, line, "strong")
        sheet.y += LINE


def _segment(pen: _Pen, group: ET.Element, x: Fraction, segment: Segment) -> bool:
    """Draw one segment; return whether its value stands in it."""
    element = pen.element(segment)
    wide = Fraction(segment.value or 0) * pen.scale
    if not wide:
        return False
    put(group, "rect", f"segment tone{tone(element)} edge", x=x, width=wide, height=_HEIGHT)
    _strip(pen.sheet, group, element, Box(x, Fraction(_FLAT), x + wide, Fraction(_HEIGHT)))
    labels = (beside(pen.names, segment, pen.bars.rounding), pen.names[segment.name])
    fitting = [label for label in labels if long(label) + 2 * _INSET <= wide]
    for label in fitting[:1]:
        write(group, x + _INSET, 16, label, f"over{tone(element)}")
    return labels[0] in fitting


def _taken_off(group: ET.Element, end: Fraction, length: Fraction) -> bool:
    """Mark what is taken off by a dashed frame under the bar's end; return whether there is any."""
    if length:
        start, foot = max(Fraction(0), end - length), _HEIGHT + 3
        d = f"M{pixels(start)} {foot} H{pixels(end)} v{_FRAME - 2} H{pixels(start)} Z"
        put(group, "path", "open", d=d)
    return bool(length)


def _open_end(sheet: Sheet, group: ET.Element, x: Fraction) -> None:
    """Draw the open, hatched end of a bar that is longer by an amount nobody knows."""
    put(group, "rect", "unknown", x=x, width=_OPEN, height=_HEIGHT, fill=sheet.hatching())
    end = pixels(x + _OPEN)
    put(group, "path", "open", d=f"M{pixels(x)} 0 H{end} M{pixels(x)} {_HEIGHT} H{end}")
    put(group, "rect", "paper", x=x + 9, y=7, width=14, height=18)
    write(group, x + 12, 20, UNKNOWN, "strong")


def _below(pen: _Pen, row: Bar, aside: list[str]) -> None:
    """Write what found no room in the bar, and what stands under it."""
    if aside:
        first = ("also " if len(aside) < len(row.segments) else "") + aside[0]
        for line in flowed([first, *aside[1:]], pen.sheet.columns(pen.sheet.inner)):
            pen.sheet.paragraph(line)
    for sentence in under(pen.bars, row):
        pen.sheet.paragraph(sentence, "quiet")
