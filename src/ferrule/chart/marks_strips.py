"""Strips of time as plain text: one line a row, closures and today as columns, the marked day written beside its tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.chart.days import Axis, Columns, Mark, axis_of, calendar_marks, columns_of, plan_marks, that_fit
from ferrule.chart.looks import KINDS
from ferrule.chart.marks_looks import UNBOUND, Looks
from ferrule.chart.wording import NOTHING, closure_said, flowed, letter, strip_label, strips_notes
from ferrule.model.columns import width, wrap
from ferrule.model.text import visible
from ferrule.report.picture import Stretch, StripRow, Strips

__all__ = ["strip_lines"]

#: Which of the fills each kind of stretch has.
_FILLS = {"waiting": 1, "making": 0, "shipping": 2, "inspection": 3}

#: Columns that a strip must have beyond a label within it: tick, letter and blank before, blank, fill and end after.
_WITHIN = 6


def strip_lines(strips: Strips, columns: int | None, looks: Looks) -> Iterator[str]:
    """Yield the key, the axis, a line for each row, and the closures by name. Only sentences may be too wide."""
    axis = axis_of(strips)
    if axis is None:
        yield NOTHING
        return
    whole = UNBOUND if columns is None else columns
    left = min(whole // 3, max(width(visible(row.name)) for row in strips.rows)) + 3
    grid = columns_of(axis, whole - left)
    yield f"one strip a row; {grid.said}"
    yield from flowed(_key(strips, axis, looks), columns)
    yield ""
    yield from (f"{' ' * left}{line}".rstrip() for line in _axis(strips, axis, grid, whole - left, looks))
    for row in strips.rows:
        yield from _row(strips, row, grid, (left, whole), looks)
    yield ""
    yield from (closure_said(index, closed) for index, closed in enumerate(strips.closures))
    yield from strips_notes(strips)


def _key(strips: Strips, axis: Axis, looks: Looks) -> Iterator[str]:
    kinds = {each.kind for row in strips.rows for each in row.stretches}
    words = [
        f"{_letter(kind)}{looks.fills[_FILLS[kind]]} {name}" for kind, name in KINDS.items() if kind in kinds
    ]
    words += [f"{looks.unknown} closed or slow"] if strips.closures else []
    if strips.today is not None and axis.holds(strips.today, strips.today):
        words.append(f"{looks.edge} today {strips.today}")
    words += [f"{looks.dot} the day beside it"] if any(row.tick for row in strips.rows) else []
    words += ["* decides the date"] if any(row.critical for row in strips.rows) else []
    yield from (f"key: {word}" if number == 0 else word for number, word in enumerate(words))


def _letter(kind: str) -> str:
    return kind[0].upper()


def _axis(strips: Strips, axis: Axis, grid: Columns, room: int, looks: Looks) -> Iterator[str]:
    """Yield plan weeks if there are any, weeks or months, and a line with the letters of closures and today."""
    if strips.week_zero is not None:
        yield _written(plan_marks(axis, strips.week_zero), grid, room)
    yield _written(calendar_marks(axis), grid, room)
    cells = _ground(strips, grid, looks)
    for index, closed in reversed(list(enumerate(strips.closures))):
        if axis.holds(closed.start, closed.finish):
            cells[max(0, grid.column(closed.start))] = letter(index).lower()[:1]
    yield "".join(cells)


def _written(candidates: Iterator[list[Mark]], grid: Columns, room: int) -> str:
    """Return a line with the marks that find room in it."""
    line = ""
    marks = that_fit(
        candidates,
        lambda day: Fraction(grid.column(day)),
        lambda text: Fraction(len(text) + 1),
        Fraction(room + 1),
    )
    for at, text in marks:
        line = line.ljust(int(at)) + text
    return line


def _ground(strips: Strips, grid: Columns, looks: Looks) -> list[str]:
    """Return the cells behind every row: closures, and today."""
    cells = [" "] * grid.count
    for closed in strips.closures:
        for column, _ in grid.covered(closed.start, closed.finish):
            cells[column] = looks.unknown
    today = -1 if strips.today is None else grid.column(strips.today)
    if 0 <= today < grid.count:
        cells[today] = looks.edge
    return cells


def _row(strips: Strips, row: StripRow, grid: Columns, edges: tuple[int, int], looks: Looks) -> Iterator[str]:
    """Yield a row: name, mark of the deciding ones, cells with the label beside the tick, or under it without room."""
    left, whole = edges
    first, *others = wrap(visible(row.name), left - 3)
    cells, taken = _cells(strips, row, grid, looks), _taken(row, grid)
    said, room = strip_label(row), whole - left
    tick = 0 if row.tick is None else min(grid.count - 1, max(0, grid.column(row.tick)))
    if said and _beside(cells, taken, tick, said, room):
        said = ""
    name = first + " " * (left - 3 - width(first))
    yield f"{name} {'*' if row.critical else ' '} {''.join(cells)}".rstrip()
    below = wrap(said, room) if said else []
    indent = left + max(0, min(tick, room - max(map(width, below), default=0)))
    for number in range(max(len(below), len(others))):
        start = others[number] if number < len(others) else ""
        rest = below[number] if number < len(below) else ""
        yield f"{start}{' ' * (indent - width(start))}{rest}".rstrip()


def _beside(cells: list[str], taken: Sequence[int], tick: int, said: str, room: int) -> bool:
    """Write a label left of the tick, right of the strip, or within it; return whether one of them had room."""
    long, after = width(said), max(taken, default=tick) + 2
    if min(taken, default=tick) >= tick > long:
        _put(cells, tick - 1 - long, said)
    elif after + long <= room:
        cells += [" "] * (after + long - len(cells))
        _put(cells, after, said)
    elif set(range(tick, tick + long + _WITHIN)) <= set(taken):
        _put(cells, tick + 3, said)
    else:
        return False
    return True


def _put(cells: list[str], at: int, text: str) -> None:
    """Write a text over cells; where its characters are wider than one cell, those after it are empty."""
    for column in (at - 1, at + width(text)):
        if 0 <= column < len(cells):
            cells[column] = " "
    cells[at : at + width(text)] = [text, *[""] * (width(text) - 1)]


def _taken(row: StripRow, grid: Columns) -> list[int]:
    """Return the columns of a row that stretches are drawn in."""
    return sorted({column for each in row.stretches for column, _ in grid.covered(each.start, each.finish)})


def _cells(strips: Strips, row: StripRow, grid: Columns, looks: Looks) -> list[str]:
    """Return the cells of a row. A column shows the kind that has most of it; a kind begins with its letter."""
    cells = _ground(strips, grid, looks)
    shown = _kinds(row.stretches, grid)
    before = ""
    for column, kind in enumerate(shown):
        if kind:
            cells[column] = looks.fills[_FILLS[kind]] if kind == before else _letter(kind)
        before = kind
    tick = -1 if row.tick is None else grid.column(row.tick)
    if 0 <= tick < grid.count:
        if shown[tick] and shown[tick + 1 : tick + 2] == [shown[tick]]:
            cells[tick + 1] = _letter(shown[tick])
        cells[tick] = looks.dot
    return cells


def _kinds(stretches: Sequence[Stretch], grid: Columns) -> list[str]:
    days = [dict[str, Fraction]() for _ in range(grid.count)]
    for each in stretches:
        for column, part in grid.covered(each.start, each.finish):
            days[column][each.kind] = days[column].get(each.kind, Fraction(0)) + part
    return [max(column, key=lambda kind: column[kind], default="") for column in days]
