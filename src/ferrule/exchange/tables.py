"""Where the tables of a sheet are: their heading rows, side by side and one below another, and what is around.

A heading row is told by words that head columns, or, where none is known, by contrast: a full row of texts
above columns of numbers. A table runs to the next heading row; its own headings met again are no new table.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from msgspec import Struct

from ferrule.exchange.grid import BLANK, Cell, Grid
from ferrule.exchange.heading_words import heading_hits
from ferrule.exchange.profiles import is_numberish
from ferrule.exchange.words import folded

__all__ = ["Area", "areas_of", "cell_at"]

#: Rows in which any row may be a heading row; further down only one like an earlier, or after a blank row.
_SEARCHED = 2_000
_WIDEST = 400
_RULE = re.compile(r"[-=_*#+.:| ]{2,}")


class Area(Struct, frozen=True, kw_only=True):
    """One table: headings by column, the rows below them, and where it lies. Rows and columns from 0.

    ``above`` are the filled rows before the headings that belong to no other table.
    """

    headings: tuple[str, ...]
    first_column: int
    heading_rows: tuple[int, ...]
    body: tuple[int, ...]
    above: tuple[int, ...] = ()
    contrast: bool = False
    title: str = ""

    @property
    def last_column(self) -> int:
        """The last column of the table."""
        return self.first_column + len(self.headings) - 1


def cell_at(grid: Grid, row: int, column: int) -> Cell:
    """Return a cell, a blank one where the row is too short."""
    cells = grid.rows[row]
    return cells[column] if column < len(cells) else BLANK


def areas_of(grid: Grid) -> tuple[Area, ...]:
    """Return the tables of a sheet from top to bottom, those side by side from left to right."""
    starts = _heading_rows(grid)
    contrast = not starts
    if contrast:
        starts = _by_contrast(grid)
    if not starts:
        body = [row for row in range(len(grid.rows)) if any(grid.rows[row])]
        return _split(grid, (), body, (), contrast=True) if body else ()
    found: list[Area] = []
    above = list(_filled(grid, 0, starts[0][0]))
    for at, rows in enumerate(starts):
        end = starts[at + 1][0] if at + 1 < len(starts) else len(grid.rows)
        body = list(_filled(grid, rows[-1] + 1, end))
        title: list[int] = []
        if at + 1 < len(starts):
            title = _title_rows(grid, body, end)
            body = body[: len(body) - len(title)]
        found += _split(grid, rows, body, tuple(above), contrast=contrast)
        above = title
    return tuple(found)


def _filled(grid: Grid, start: int, end: int) -> Iterator[int]:
    return (row for row in range(start, end) if any(grid.rows[row]))


def _title_rows(grid: Grid, body: Sequence[int], end: int) -> list[int]:
    """Return the rows right above the next headings that are its title: one text each, no gap between."""
    found: list[int] = []
    expected = end - 1
    for row in reversed(body):
        cells = [cell for cell in grid.rows[row] if cell]
        if len(cells) != 1 or is_numberish(cells[0]) or (row != expected and found):
            break
        found.insert(0, row)
        expected = row - 1
    return found if len(found) <= 3 else found[-1:]


# --- heading rows ----------------------------------------------------------------------------------------


def _heading_rows(grid: Grid) -> list[tuple[int, ...]]:
    """Return the rows of each heading, found by words."""
    found: list[tuple[int, ...]] = []
    known: set[tuple[str, ...]] = set()
    row = 0
    while row < len(grid.rows):
        cells = grid.rows[row]
        if known and _key(cells) in known:
            row += 1
            continue
        if _may_head(grid, row, again=bool(found)):
            rows = _with_neighbours(grid, row, found[-1][-1] if found else -1)
            found.append(rows)
            known.update(_key(grid.rows[at]) for at in rows)
            row = rows[-1] + 1
            continue
        row += 1
    return _without_empty(grid, found)


def _key(cells: Sequence[Cell]) -> tuple[str, ...]:
    texts = [folded(cell.text) if len(cell.text) < 90 else "" for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return tuple(texts)


def _may_head(grid: Grid, row: int, *, again: bool) -> bool:
    cells = [cell for cell in grid.rows[row][:_WIDEST] if cell]
    if len(cells) < 2 or (row > _SEARCHED and row > 0 and any(grid.rows[row - 1])):
        return False
    if any(cell.number is not None for cell in cells) or sum(map(is_numberish, cells)) > len(cells) // 8:
        return False
    if sum(cell.text.endswith(":") for cell in cells) * 2 >= len(cells) or all(
        _RULE.fullmatch(cell.text) for cell in cells
    ):
        return False
    hits = heading_hits(cells) - {"other"}
    share = len(hits) / len(cells)
    if again and not (len(hits) >= 3 and share >= 0.5):
        lone = row == 0 or sum(map(bool, grid.rows[row - 1])) <= 1
        return lone and len(hits) >= 2 and share >= 0.6 and bool(hits & {"quantity", "designators", "price"})
    if len(hits) >= 3:
        return share >= 0.3
    return len(hits) == 2 and share >= 0.5


def _with_neighbours(grid: Grid, row: int, after: int) -> tuple[int, ...]:
    """Return a heading row with the rows above and below that belong to it."""
    rows = [row]
    if row - 1 > after and _is_group_row(grid, row):
        rows.insert(0, row - 1)
    below = row + 1
    while below < len(grid.rows) and len(rows) < 4 and _goes_on(grid, below, rows[-1]):
        rows.append(below)
        below += 1
    return tuple(rows)


def _is_group_row(grid: Grid, row: int) -> bool:
    """Return whether the row above heads groups of the columns: fewer texts, no numbers, over more columns."""
    upper = [(at, cell) for at, cell in enumerate(grid.rows[row - 1]) if cell]
    if len(upper) < 2 or any(is_numberish(cell) or cell.text.endswith(":") for _, cell in upper):
        return False
    merged = any(first == row - 1 and last_column > column for first, column, _, last_column in grid.merged)
    under = [bool(cell_at(grid, row, at)) for at, _ in upper]
    return (merged or len(heading_hits(cell for _, cell in upper)) >= 2) and sum(under) * 2 >= len(upper)


def _goes_on(grid: Grid, row: int, head: int) -> bool:
    """Return whether a row is a second row of headings: units in brackets, or headings in another language."""
    cells = [cell for cell in grid.rows[row] if cell]
    if not cells or any(cell.number is not None or is_numberish(cell) for cell in cells):
        return False
    if all(_RULE.fullmatch(cell.text) for cell in cells):
        return False
    if all(re.fullmatch(r"[(\[].*[)\]]", cell.text) for cell in cells):
        return True
    hits = heading_hits(cells) - {"other"}
    heads = sum(1 for cell in grid.rows[head] if cell)
    if len(hits) >= 3 and len(hits) / len(cells) >= 0.6:
        return True
    return (
        len(hits) >= 1
        and len(hits) / len(cells) >= 0.7
        and len(cells) >= 2
        and heads + len(cells) > 3
        and _fills_gaps(grid, row, head)
    )


def _fills_gaps(grid: Grid, row: int, head: int) -> bool:
    cells = [at for at, cell in enumerate(grid.rows[row]) if cell]
    gaps = sum(1 for at in cells if not cell_at(grid, head, at))
    return gaps >= 1


def _without_empty(grid: Grid, found: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Return headings without those that head nothing while a fuller one follows: a block of properties."""
    kept: list[tuple[int, ...]] = []
    for at, rows in enumerate(found):
        end = found[at + 1][0] if at + 1 < len(found) else len(grid.rows)
        full = sum(1 for cell in grid.rows[rows[-1]] if cell)
        data = sum(1 for row in range(rows[-1] + 1, end) if sum(map(bool, grid.rows[row])) >= 2)
        if data or (at + 1 == len(found) and full >= 3):
            kept.append(rows)
    return kept


def _by_contrast(grid: Grid) -> list[tuple[int, ...]]:
    """Return the first row of texts that stands full over columns of numbers, names or links."""
    counts = [sum(map(bool, row)) for row in grid.rows[:_SEARCHED]]
    if not counts:
        return []
    for row, count in enumerate(counts):
        cells = [(at, cell) for at, cell in enumerate(grid.rows[row]) if cell]
        below = [at for at in range(row + 1, min(row + 40, len(counts))) if counts[at] >= 2]
        usual = sorted(counts[at] for at in below)[len(below) // 2] if below else 0
        if count < 2 or not below or count < usual * 0.75 or any(is_numberish(cell) for _, cell in cells):
            continue
        if (
            len({folded(cell.text) for _, cell in cells}) < len(cells)
            or max(len(cell.text) for _, cell in cells) > 60
        ):
            continue
        if any(cell.text.endswith(":") for _, cell in cells):
            continue
        if any(_contrasts(grid, at, cell, below) for at, cell in cells):
            return [(row,)]
        return []
    return []


def _contrasts(grid: Grid, column: int, head: Cell, below: Sequence[int]) -> bool:
    cells = [cell for cell in (cell_at(grid, row, column) for row in below) if cell]
    return len(cells) >= 1 and not is_numberish(head) and sum(map(is_numberish, cells)) >= 0.6 * len(cells)


# --- side by side ----------------------------------------------------------------------------------------


def _split(
    grid: Grid, rows: tuple[int, ...], body: Sequence[int], above: tuple[int, ...], *, contrast: bool
) -> tuple[Area, ...]:
    """Return the tables below one row of headings: one, or several side by side."""
    headings = _headings(grid, rows)
    wide = max((len(grid.rows[row]) for row in (*rows, *body)), default=0)
    headings += [""] * (min(wide, _WIDEST) - len(headings))
    used = [bool(headings[at]) or any(cell_at(grid, row, at) for row in body) for at in range(len(headings))]
    while used and not used[-1]:
        used.pop()
    headings = headings[: len(used)]
    if not headings:
        return ()
    groups = _groups(headings, used)
    return tuple(
        Area(
            headings=tuple(headings[first : last + 1]),
            first_column=first,
            heading_rows=rows,
            body=tuple(row for row in body if any(cell_at(grid, row, at) for at in range(first, last + 1))),
            above=above if at == 0 else (),
            contrast=contrast,
            title=_title(grid, above, first, last),
        )
        for at, (first, last) in enumerate(groups)
    )


def _headings(grid: Grid, rows: tuple[int, ...]) -> list[str]:
    """Return the heading of each column, group headings put before those below them."""
    if not rows:
        return []
    wide = max(len(grid.rows[row]) for row in rows)
    texts = [[cell_at(grid, row, at).text.replace("\n", " ") for at in range(wide)] for row in rows]
    for level in range(len(rows) - 1):
        texts[level] = _spread(grid, rows[level], texts[level], texts[level + 1])
    joined: list[str] = []
    for at in range(wide):
        parts: list[str] = []
        for line in texts:
            if line[at] and line[at] not in parts:
                parts.append(line[at])
        joined.append(" ".join(parts))
    return joined


def _spread(grid: Grid, row: int, upper: list[str], lower: list[str]) -> list[str]:
    """Return a row of group headings with each written over all its columns."""
    spread = list(upper)
    merged = {column: last for first, column, _, last in grid.merged if first == row}
    if merged:
        for column, last in merged.items():
            for at in range(column, min(last + 1, len(spread))):
                spread[at] = upper[column]
        return spread
    gaps = sum(1 for above, below in zip(upper, lower, strict=True) if below and not above)
    if gaps and sum(map(bool, upper)) < sum(map(bool, lower)):
        for at in range(1, len(spread)):
            if not spread[at] and lower[at] and lower[at - 1]:
                spread[at] = spread[at - 1]
    return spread


def _groups(headings: Sequence[str], used: Sequence[bool]) -> list[tuple[int, int]]:
    """Return the column ranges of the tables side by side; one range where it is one table."""
    whole = [(next(at for at, one in enumerate(used) if one), len(used) - 1)]
    repeat = _repetition(headings)
    if repeat:
        return repeat
    ranges: list[tuple[int, int]] = []
    start: int | None = None
    for at, one in enumerate([*used, False]):
        if one and start is None:
            start = at
        if not one and start is not None:
            ranges.append((start, at - 1))
            start = None
    if len(ranges) < 2:
        return whole
    hits = [
        heading_hits(Cell(text) for text in headings[first : last + 1]) - {"other"} for first, last in ranges
    ]
    alike = [one for one in hits if len(one) >= 2 and one & hits[0]]
    both = hits[0] & set().union(*hits[1:])
    if (
        len(alike) == len(ranges)
        and (both & {"quantity", "designators"} or len(both) >= 2)
        and len(hits[0]) >= 2
    ):
        return ranges
    return whole


def _repetition(headings: Sequence[str]) -> list[tuple[int, int]]:
    """Return ranges where the same three or more headings come again, with nothing else in between."""
    keys = [folded(text) for text in headings]
    for size in range(len(keys) // 2, 2, -1):
        first = next((at for at, key in enumerate(keys) if key), 0)
        one, other = keys[first : first + size], keys[first + size : first + 2 * size]
        if (
            len(other) == size
            and one == other
            and sum(map(bool, one)) >= 3
            and len(heading_hits(map(Cell, one))) >= 2
        ):
            many = (len(keys) - first) // size
            return [(first + at * size, first + (at + 1) * size - 1) for at in range(many)]
    return []


def _title(grid: Grid, above: Sequence[int], first: int, last: int) -> str:
    """Return the text that stands alone above a table, nearest to it."""
    for row in reversed(above):
        cells = [cell for at, cell in enumerate(grid.rows[row]) if cell and first <= at <= last]
        if (
            len(cells) == 1
            and not is_numberish(cells[0])
            and len(cells[0].text) <= 120
            and not cells[0].text.endswith(":")
        ):
            return cells[0].text
    return ""
