"""Step lines as plain text: a dozen rows of strokes, names at the lines' ends, causes listed by number."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.chart.marks_looks import UNBOUND, Looks, Strokes
from ferrule.chart.placing import spread
from ferrule.chart.scale import Marks, Scale
from ferrule.chart.steps import causes, lowest, runs, said, scales
from ferrule.chart.wording import NOTHING, TOO_NARROW, along, amount, curve_scale, flowed, in_words, letter
from ferrule.model.columns import width
from ferrule.model.exact import Exact, shown_amount
from ferrule.model.text import visible
from ferrule.report.picture import Curve, Line

__all__ = ["Grid", "curve_lines"]

_GAP = 2
_ROWS = 13  # twelve steps from the lowest to the highest
_MOST_UP = 5
_LEAST = 12
_ON = 2  # columns that the last step is drawn on


class Grid(Struct, frozen=True):
    """Rows of characters with two scales; row 0 is the highest."""

    cells: list[list[str]]
    across: Scale
    up: Marks

    @property
    def wide(self) -> int:
        """Return how many columns it has."""
        return len(self.cells[0])

    def column(self, x: Exact) -> int:
        """Return the column of an x."""
        return int(self.across.at(x) * (self.wide - 1 - _ON) + Fraction(1, 2))

    def row(self, y: Exact) -> int:
        """Return the row of a y."""
        rows = len(self.cells) - 1
        return rows - int(self.up.scale.at(y) * rows + Fraction(1, 2))

    def mark(self, row: int, column: int, character: str) -> None:
        """Set a cell that is still empty: earlier lines lie above later ones."""
        if self.cells[row][column] == " ":
            self.cells[row][column] = character


def curve_lines(
    curve: Curve,
    columns: int | None,
    looks: Looks,
    under: Callable[[Grid, int], Iterator[str]] | None = None,
) -> Iterator[str]:
    """Yield the scale, the drawing, and the sentences under it. Only sentences may be wider than ``columns``.

    ``under`` yields lines between the two, from the grid and the column it begins in.
    """
    found = scales(curve, _MOST_UP)
    if found is None:
        yield NOTHING
        return
    across, up = found
    yield curve_scale(curve, up.scale.low, up.scale.high, up.places)
    yield ""
    whole = UNBOUND if columns is None else columns
    names = [_name(curve, index, whole) for index in range(len(curve.lines))]
    left = max(len(shown_amount(number, up.places)) for number in up.numbers) + 2
    after = max(map(width, names))
    wide = whole - left - (after + 1 if after else 0)
    if wide < _LEAST:
        yield from (TOO_NARROW, *in_words(curve))
        return
    grid = _filled(curve, across, up, wide, looks)
    yield from _rows(curve, grid, names, left, looks)
    yield from _under(curve, grid, left, looks)
    if under is not None:
        yield from under(grid, left)
    if len(curve.lines) > 1 or curve.lines[0].name not in {"", *names}:
        yield from flowed(_key(curve, names, looks), columns)
    yield from _sentences(curve, looks)


def _name(curve: Curve, index: int, columns: int) -> str:
    """Return what stands at a line's end: its name, or a letter if the name is too long for that."""
    name = visible(curve.lines[index].name)
    return name if width(name) <= columns // 4 else letter(index)


def _filled(curve: Curve, across: Scale, up: Marks, wide: int, looks: Looks) -> Grid:
    tall = max(_ROWS, len(curve.lines))
    grid = Grid([[" "] * wide for _ in range(tall)], across, up)
    point = lowest(curve)
    if point is not None:
        grid.mark(grid.row(point[1]), grid.column(point[0]), looks.dot)
    for index, line in enumerate(curve.lines):
        _stroke(grid, line, looks.strokes[index % len(looks.strokes)])
    if curve.floor is not None:
        row = grid.row(curve.floor.y)
        for column in range(wide):
            grid.mark(row, column, looks.floor)
    return grid


def _stroke(grid: Grid, line: Line, strokes: Strokes) -> None:
    """Draw a line: level to the column of the next point, there up or down; corners only where it turns."""
    before: int | None = None
    came: Exact | None = None
    for run in runs(line):
        row, start = grid.row(run.y), grid.column(run.start)
        end = grid.wide if run.end is None else grid.column(run.end)
        if before is not None and came == run.start and before != row:
            _turn(grid, start, before, row, strokes)
            start += 1
        for column in range(start, max(end, start)):
            grid.mark(row, column, strokes.level)
        before, came = row, run.end


def _turn(grid: Grid, column: int, before: int, after: int, strokes: Strokes) -> None:
    falls = after > before
    grid.mark(before, column, strokes.left_down if falls else strokes.left_up)
    grid.mark(after, column, strokes.right_up if falls else strokes.right_down)
    for row in range(min(before, after) + 1, max(before, after)):
        grid.mark(row, column, strokes.upright)


def _rows(curve: Curve, grid: Grid, names: list[str], left: int, looks: Looks) -> Iterator[str]:
    """Yield the drawing, numbers at its left, names at its right."""
    numbers = {grid.row(number): shown_amount(number, grid.up.places) for number in grid.up.numbers}
    ends = _ends(curve, grid, names)
    for index, cells in enumerate(grid.cells):
        drawn = f"{numbers.get(index, ''):>{left - 2}} {looks.edge}{''.join(cells)} {ends.get(index, '')}"
        yield drawn.rstrip()


def _ends(curve: Curve, grid: Grid, names: list[str]) -> dict[int, str]:
    """Return the name in each row, moved apart where lines end in the same one."""
    last = [(line.points[-1][1], name) for line, name in zip(curve.lines, names, strict=True) if line.points]
    wanted = [Fraction(grid.row(y) if y is not None else 0) for y, _ in last]
    places = spread(wanted, 1, Fraction(0), Fraction(len(grid.cells) - 1))
    return {int(place): name for place, (_, name) in zip(places, last, strict=True)}


def _under(curve: Curve, grid: Grid, left: int, looks: Looks) -> Iterator[str]:
    """Yield the bottom edge, the numbers of the steps under it, and the places along it."""
    yield " " * (left - 1) + looks.corner + looks.bottom * grid.wide
    low, high = grid.across.low, grid.across.high
    steps = [
        (grid.column(step.x), str(number))
        for number, step in enumerate(curve.labels, 1)
        if low <= step.x <= high
    ]
    yield from (" " * left + line for line in _lined_up(sorted(steps), grid.wide))
    named: list[Exact] = [place for place, _ in curve.places if low <= place <= high]
    places = list(dict.fromkeys([low, high, *(named or grid.across.numbers(6))]))
    texts = [(grid.column(place), along(curve, place)) for place in places]
    yield from (" " * left + line for line in _lined_up(texts, grid.wide, most=1))


def _lined_up(texts: list[tuple[int, str]], wide: int, most: int | None = None) -> Iterator[str]:
    """Yield lines with each text at its column, those that meet one before them a line lower, up to ``most`` lines."""
    rest = texts
    made = 0
    while rest and (most is None or made < most):
        line, later = [" "] * wide, []
        for column, text in rest:
            start = max(0, min(column, wide - width(text)))
            around = line[max(0, start - _GAP) : start + width(text) + _GAP]
            if any(cell != " " for cell in around):
                later.append((column, text))
            else:
                line[start : start + width(text)] = [text, *[""] * (width(text) - 1)]
        yield "".join(line).rstrip()
        rest, made = later, made + 1


def _key(curve: Curve, names: list[str], looks: Looks) -> Iterator[str]:
    """Yield stroke, letter if there is one, and name of every line."""
    for index, (name, line) in enumerate(zip(names, curve.lines, strict=True)):
        level = looks.strokes[index % len(looks.strokes)].level
        whole = visible(line.name)
        yield f"{level * 2} {whole}" if name == whole else f"{level * 2} {name} {whole}"


def _sentences(curve: Curve, looks: Looks) -> Iterator[str]:
    """Yield what the drawing only marks: the lowest point, the floor, and the causes by number."""
    point = lowest(curve)
    if point is not None:
        yield f"{looks.dot} {said(curve, point)}"
    if curve.floor is not None:
        floor = f"{visible(curve.floor.name)} {amount(curve.floor.y, curve.rounding)}".lstrip()
        yield f"{looks.floor * 2} {floor}"
    yield from (f"{number}  {sentence}" for number, sentence in enumerate(causes(curve), 1))
