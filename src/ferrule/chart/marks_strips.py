"""Strips of time as plain text: one line a row, closures and today as columns, the marked day written beside."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.chart.days import Axis, axis_of
from ferrule.chart.marks_looks import UNBOUND, Looks
from ferrule.chart.wording import NOTHING, TOO_NARROW, in_words, strips_key
from ferrule.model.columns import width, wrap
from ferrule.model.text import visible
from ferrule.report.picture import StripRow, Strips

__all__ = ["strip_lines"]

#: Which fill each kind of stretch has.
FILLS = {"waiting": 1, "making": 0, "shipping": 2, "other": 3}
_NAME = 24
_LEAST = 16


def strip_lines(strips: Strips, columns: int | None, looks: Looks) -> Iterator[str]:
    """Yield the key, the months, a line for each row, and the closures by name."""
    axis = axis_of(strips)
    if axis is None:
        yield NOTHING
        return
    whole = UNBOUND if columns is None else columns
    labels = [
        f"{visible(row.label)} {row.tick}".strip() if row.tick is not None else "" for row in strips.rows
    ]
    left = min(_NAME, max(width(visible(row.name)) for row in strips.rows)) + 2
    right = max(map(width, labels))
    room = whole - left - (right + 1 if right else 0)
    if room < _LEAST:
        yield from (TOO_NARROW, *in_words(strips))
        return
    yield strips_key(strips, outlined=False)
    yield _key(strips, looks)
    yield ""
    yield " " * left + _months(axis, room)
    for row, label in zip(strips.rows, labels, strict=True):
        names = (
            wrap(visible(row.name), left - 2) if width(visible(row.name)) > left - 2 else [visible(row.name)]
        )
        mark = "*" if row.critical else " "
        cells = _cells(strips, row, axis, room, looks)
        yield f"{names[0]}{' ' * (left - 2 - width(names[0]))}{mark} {cells} {label}".rstrip()
        yield from names[1:]
    yield ""
    for closed in strips.closures:
        yield f"{looks.unknown} {visible(closed.name)}: {closed.start} to {closed.finish}"


def _key(strips: Strips, looks: Looks) -> str:
    kinds = dict.fromkeys(each.kind for row in strips.rows for each in row.stretches)
    words = [f"{looks.fills[FILLS[kind]]} {kind}" for kind in FILLS if kind in kinds]
    words += [f"{looks.unknown} closed"] if strips.closures else []
    words += [f"{looks.edge} today {strips.today}"] if strips.today is not None else []
    words += ["* decides the date"] if any(row.critical for row in strips.rows) else []
    words += [f"{looks.dot} the day beside it"] if any(row.tick for row in strips.rows) else []
    return "key: " + ", ".join(words)


def _months(axis: Axis, room: int) -> str:
    line = ""
    for day, name in axis.months():
        column = int(axis.at(day) * room)
        if column >= len(line) + (1 if line else 0) and column + len(name) <= room:
            line += " " * (column - len(line)) + name
    return line


def _cells(strips: Strips, row: StripRow, axis: Axis, room: int, looks: Looks) -> str:
    cells = [" "] * room

    def fill(start: Fraction, end: Fraction, character: str) -> None:
        first = min(room - 1, int(start * room))
        for column in range(first, max(first + 1, int(end * room + Fraction(1, 2)))):
            if column < room:
                cells[column] = character

    for closed in strips.closures:
        if closed.finish >= axis.first and closed.start <= axis.last:
            fill(axis.at(closed.start), axis.after(closed.finish), looks.unknown)
    if strips.today is not None:
        fill(axis.at(strips.today), axis.at(strips.today), looks.edge)
    for each in row.stretches:
        fill(axis.at(each.start), axis.after(each.finish), looks.fills[FILLS[each.kind]])
    if row.tick is not None:
        fill(axis.at(row.tick), axis.at(row.tick), looks.dot)
    return "".join(cells)
