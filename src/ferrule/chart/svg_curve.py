"""Step lines as SVG: causes beside their steps, names at the lines' ends, a dashed floor, the lowest point in place.

A label that finds no room in the picture is a number there and a sentence under it. No grid.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.chart.looks import DASHES
from ferrule.chart.placing import Box, Room, spread
from ferrule.chart.scale import Marks, Scale
from ferrule.chart.sheet import LINE, MARGIN, SIZE, Sheet, long, pixels, put, write
from ferrule.chart.steps import causes, line_of, lowest, runs, said, scales, value_at, value_before
from ferrule.chart.wording import NOTHING, TOO_NARROW, along, amount, curve_scale, in_words, letter
from ferrule.model.exact import Exact, shown_amount
from ferrule.model.text import visible
from ferrule.report.picture import Curve, Line, Step

__all__ = ["Plot", "draw_curve"]

_TALL = 220
_MOST_UP = 5
_ON = 14  # pixels that the last step is drawn on
_APART = 6
_LEAST = 90


class Plot(Struct, frozen=True):
    """The picture's inner rectangle and its two scales."""

    left: Fraction
    right: Fraction
    top: Fraction
    bottom: Fraction
    across: Scale
    up: Marks

    def x(self, value: Exact) -> Fraction:
        """Return where an x lies, in pixels."""
        return self.left + self.across.at(value) * (self.right - _ON - self.left)

    def y(self, value: Exact) -> Fraction:
        """Return where a y lies, in pixels."""
        return self.bottom - self.up.scale.at(value) * (self.bottom - self.top)

    def box(self) -> Box:
        """Return the rectangle that labels may stand in."""
        return Box(self.left, self.top - 4, self.right, self.bottom)


def draw_curve(sheet: Sheet, curve: Curve, under: Callable[[Plot], None] | None = None) -> None:
    """Draw the scale's sentence, the plot, and under it what found no room in the plot.

    ``under`` draws something between the two on the same scale along, and moves the sheet down.
    """
    found = scales(curve, _MOST_UP)
    if found is None:
        sheet.paragraph(NOTHING)
        return
    across, up = found
    sheet.paragraph(curve_scale(curve, up.scale.low, up.scale.high, up.places), "quiet")
    names = [_name(sheet, curve, index) for index in range(len(curve.lines))]
    plot = _laid_out(sheet, curve, across, up, names)
    if plot.right - plot.left < _LEAST:
        for sentence in (TOO_NARROW, *in_words(curve)):
            sheet.paragraph(sentence)
        return
    _axes(sheet, curve, plot)
    for index, line in enumerate(curve.lines):
        put(sheet.body, "path", "line", d=_path(plot, line), **_dashes(index))
    _ends(sheet, curve, plot, names)
    notes = list(_labelled(sheet, curve, plot))
    sheet.y = int(plot.bottom) + LINE + 16
    if under is not None:
        under(plot)
    for index, line in enumerate(curve.lines):
        if visible(line.name) != names[index]:
            sheet.paragraph(f"{names[index]} {visible(line.name)}")
    for note in notes:
        sheet.paragraph(note)


def _dashes(index: int) -> dict[str, str]:
    width, dashes = DASHES[index % len(DASHES)]
    return {"stroke_width": width, **({"stroke_dasharray": dashes} if dashes else {})}


def _name(sheet: Sheet, curve: Curve, index: int) -> str:
    """Return what stands at a line's end: its name, or a letter if the name is too long for that."""
    name = visible(curve.lines[index].name)
    return name if long(name) <= sheet.inner * Fraction(3, 10) else letter(index)


def _laid_out(sheet: Sheet, curve: Curve, across: Scale, up: Marks, names: list[str]) -> Plot:
    numbers = max(long(shown_amount(number, up.places)) for number in up.numbers)
    after = max(map(long, names))
    tall = max(_TALL, LINE * len(curve.lines))
    top = Fraction(sheet.y + 14)
    return Plot(
        left=MARGIN + numbers + 10,
        right=Fraction(sheet.width - MARGIN) - (after + 12 if after else 0),
        top=top,
        bottom=top + tall,
        across=across,
        up=up,
    )


def _axes(sheet: Sheet, curve: Curve, plot: Plot) -> None:
    """Draw the two edges with short ticks and their numbers, and the floor."""
    left, bottom = pixels(plot.left), pixels(plot.bottom)
    put(sheet.body, "path", "line faint", d=f"M{left} {pixels(plot.top - 6)} V{bottom} H{pixels(plot.right)}")
    for number in plot.up.numbers:
        y = plot.y(number)
        put(sheet.body, "path", "line faint", d=f"M{pixels(plot.left - 4)} {pixels(y)} H{left}")
        write(sheet.body, plot.left - 7, y + 4, shown_amount(number, plot.up.places), "quiet", end=True)
    _numbers_along(sheet, curve, plot)
    if curve.floor is not None:
        level = pixels(plot.y(curve.floor.y))
        put(sheet.body, "path", "floor", d=f"M{left} {level} H{pixels(plot.right)}")


def _numbers_along(sheet: Sheet, curve: Curve, plot: Plot) -> None:
    """Write places along the bottom, as many as there is room for, the ends first."""
    bounds = Box(Fraction(0), plot.bottom, Fraction(sheet.width), plot.bottom + 32)
    room = Room(bounds)
    for place in _places(curve, plot):
        x, text = plot.x(place), along(curve, place)
        half = long(text) / 2
        middle = min(max(x, half + 2), sheet.width - half - 2)
        box = Box(middle - half - _APART, plot.bottom + 7, middle + half + _APART, plot.bottom + 7 + LINE)
        if room.take([_held(box, bounds)]) is None:
            continue
        put(sheet.body, "path", "line faint", d=f"M{pixels(x)} {pixels(plot.bottom)} v4")
        write(sheet.body, middle - half, plot.bottom + 7 + SIZE, text, "quiet")


def _held(box: Box, bounds: Box) -> Box:
    return Box(max(box.left, bounds.left), box.top, min(box.right, bounds.right), box.bottom)


def _places(curve: Curve, plot: Plot) -> list[Exact]:
    """Return the places to be written along the bottom, the most wanted first."""
    low, high = plot.across.low, plot.across.high
    named: list[Exact] = [place for place, _ in curve.places if low <= place <= high]
    numbers: list[Exact] = named or list(plot.across.numbers(6))
    return list(dict.fromkeys([*numbers[:1], *numbers[-1:], *numbers])) or [low]


def _path(plot: Plot, line: Line) -> str:
    """Return the path of a step line: level to the next point, then up or down; a gap where nothing is known."""
    parts = []
    last: Exact | None = None
    for run in runs(line):
        x, y = pixels(plot.x(run.start)), pixels(plot.y(run.y))
        parts.append(f"V{y}" if last == run.start else f"M{x} {y}")
        parts.append(f"H{pixels(plot.right if run.end is None else plot.x(run.end))}")
        last = run.end
    return " ".join(parts)


def _ends(sheet: Sheet, curve: Curve, plot: Plot, names: list[str]) -> None:
    """Write every line's name at its end, moved apart where lines end close together."""
    ends = [(index, line.points[-1][1]) for index, line in enumerate(curve.lines) if line.points]
    wanted = [plot.y(y) if y is not None else plot.top for _, y in ends]
    places = spread(wanted, LINE, plot.top, plot.bottom)
    for (index, y), end, place in zip(ends, wanted, places, strict=True):
        if not names[index]:
            continue
        if y is not None:
            d = f"M{pixels(plot.right)} {pixels(end)} L{pixels(plot.right + 8)} {pixels(place)}"
            put(sheet.body, "path", "line faint", d=d)
        write(sheet.body, plot.right + 11, place + 4, names[index])


def _obstacles(curve: Curve, plot: Plot) -> Iterator[Box]:
    """Yield the strips that lines and floor take."""
    for line in curve.lines:
        before: Exact | None = None
        end: Exact | None = None
        for run in runs(line):
            x, y = plot.x(run.start), plot.y(run.y)
            yield Box(x, y - 2, plot.right if run.end is None else plot.x(run.end), y + 2)
            if before is not None and end == run.start:
                yield Box(x - 2, min(y, plot.y(before)), x + 2, max(y, plot.y(before)))
            before, end = run.y, run.end
    if curve.floor is not None:
        y = plot.y(curve.floor.y)
        yield Box(plot.left, y - 2, plot.right, y + 2)


def _labelled(sheet: Sheet, curve: Curve, plot: Plot) -> Iterator[str]:
    """Write the labels that find room in the plot; yield a sentence for each of the others."""
    room = Room(plot.box(), _obstacles(curve, plot))
    point = lowest(curve)
    if point is not None:
        x, y = plot.x(point[0]), plot.y(point[1])
        put(sheet.body, "circle", "dot", cx=x, cy=y, r=4)
        text = said(curve, point)
        spots = itertools.chain(_around(x, y, y), _over(plot, x, y, long(text)))
        spot = _placed(sheet, room, text, spots)
        if spot is None:
            yield f"large dot: {text}"
        elif spot[1] < y - LINE:
            put(sheet.body, "path", "line faint", d=_tie(x, y, spot))
    if curve.floor is not None:
        text = f"{visible(curve.floor.name)} {amount(curve.floor.y, curve.rounding)}".lstrip()
        y = plot.y(curve.floor.y)
        if not _placed(sheet, room, text, _along_floor(plot, y)):
            yield f"dashed: {text}"
    number = 1
    for step, sentence in zip(curve.labels, causes(curve), strict=True):
        if not _step(sheet, curve, plot, room, step, f"({number})"):
            yield f"({number}) {sentence}"
            number += 1


def _step(  # noqa: PLR0913, PLR0917  a label, its number, and all it must keep clear of
    sheet: Sheet, curve: Curve, plot: Plot, room: Room, step: Step, number: str
) -> bool:
    """Mark a step and label it; return whether its cause stands beside it, not only its number."""
    line = line_of(curve, step)
    here = value_at(line, step.x) if line is not None else None
    if line is None or here is None or not plot.across.low <= step.x <= plot.across.high:
        return False
    before = value_before(line, step.x)
    x, y = plot.x(step.x), plot.y(here)
    put(sheet.body, "circle", "dot", cx=x, cy=y, r=3)
    around = list(_around(x, plot.y(before) if before is not None else y, y))
    text = f"{visible(step.cause)}, {amount(here, curve.rounding)}"
    if _placed(sheet, room, text, iter(around)):
        return True
    _placed(sheet, room, number, iter(around))
    return False


#: A candidate: where a text's start or end is, its base line, and whether x is its end.
_Spot = tuple[Fraction, Fraction, bool]


def _around(x: Fraction, before: Fraction, after: Fraction) -> Iterator[_Spot]:
    """Yield the spots beside a step: over and under the level after it, then in the corner before it."""
    yield from ((x + 7, base, False) for base in (after - 6, after + 15))
    if after <= before:  # it rises: over the lower level, else the label seems to belong to an earlier step
        yield x - 7, before - 6, True
    if before <= after:
        yield x - 7, before + 15, True


def _over(plot: Plot, x: Fraction, y: Fraction, wide: Fraction) -> Iterator[_Spot]:
    """Yield spots ever higher over a point, beside it, then across it; the label is tied to it by a thin line."""
    bases = [y - 6 - LINE * lines for lines in range(1, int((y - plot.top) / LINE) + 1)]
    for base in bases:
        yield x + 7, base, False
        yield x - 7, base, True
    if plot.right - 4 - wide <= x:
        yield from ((plot.right - 4, base, True) for base in bases)


def _tie(x: Fraction, y: Fraction, spot: _Spot) -> str:
    """Return the path from a point up to its label: to its side, or to its foot where it lies across."""
    at, base, _ = spot
    if abs(at - x) > 7:
        return f"M{pixels(x)} {pixels(y - 4)} V{pixels(base + 4)}"
    return f"M{pixels(x)} {pixels(y - 4)} V{pixels(base - 4)} H{pixels(at + (3 if at < x else -3))}"


def _along_floor(plot: Plot, y: Fraction) -> Iterator[_Spot]:
    """Yield spots over and under the floor, from both of its ends inwards."""
    for part in range(6):
        inward = part * (plot.right - plot.left) / 6
        for base in (y - 6, y + 15):
            yield plot.left + 5 + inward, base, False
            yield plot.right - 4 - inward, base, True


def _placed(sheet: Sheet, room: Room, text: str, spots: Iterator[_Spot]) -> _Spot | None:
    """Write a text at the first spot where it meets nothing; return the spot, None if there was none."""
    tried = list(spots)
    wide = long(text)
    starts = [x - wide if end else x for x, _, end in tried]
    boxes = [
        Box(start - 2, base - SIZE + 1, start + wide + 2, base + 4)
        for start, (_, base, _) in zip(starts, tried, strict=True)
    ]
    found = room.take(boxes)
    if found is None:
        return None
    write(sheet.body, starts[found], tried[found][1], text)
    return tried[found]
