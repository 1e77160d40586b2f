"""Levels written as steps: each level's names in a column of their own, turned into one indented column."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from msgspec import structs

from ferrule.exchange.grid import BLANK, Cell, Grid
from ferrule.exchange.profiles import is_numberish
from ferrule.exchange.tables import Area, cell_at

__all__ = ["as_indented"]

_STEP = 4
_LEVEL = re.compile(
    r"(?:level|lvl|ebene|stufe|niveau|nivel|livello|poziom|úroveň|nivå|taso|階層|レベル|层级|уровень|l)?[ ._-]*[0-9]{1,2}",
    re.IGNORECASE,
)


def as_indented(grid: Grid, area: Area) -> tuple[Grid, Area]:
    """Return sheet and table with the steps of names in one column, indented; the same where there are none.

    Steps are columns beside each other of which every row fills exactly one, starting in the first and going
    down one step at a time; their headings are blank after the first, or numbered levels.
    """
    steps = _steps(grid, area)
    if steps is None:
        return grid, area
    first, last = steps
    rows = [list(row) for row in grid.rows]
    for row in area.body:
        _join(rows[row], first, last)
    headings = list(area.headings)
    at = first - area.first_column
    if _LEVEL.fullmatch(headings[at].strip()):
        headings[at] = "Name"
    headings[at + 1 : last - area.first_column + 1] = [""] * (last - first)
    return structs.replace(grid, rows=tuple(map(tuple, rows))), structs.replace(
        area, headings=tuple(headings)
    )


def _join(row: list[Cell], first: int, last: int) -> None:
    row += [BLANK] * (last + 1 - len(row))
    for at in range(first, last + 1):
        cell = row[at]
        if cell:
            row[at] = BLANK
            row[first] = structs.replace(cell, indent=(at - first) * _STEP)
            return


def _steps(grid: Grid, area: Area) -> tuple[int, int] | None:
    headings = area.headings
    for start in range(len(headings)):
        levelled = bool(_LEVEL.fullmatch(headings[start].strip()))
        end = start + 1
        while end < len(headings) and (
            _LEVEL.fullmatch(headings[end].strip()) if levelled else not headings[end]
        ):
            end += 1
        while end - start >= 2:
            if headings[start] and _is_staircase(
                grid, area, start + area.first_column, end - 1 + area.first_column
            ):
                return start + area.first_column, end - 1 + area.first_column
            end -= 1
    return None


def _is_staircase(grid: Grid, area: Area, first: int, last: int) -> bool:
    places: list[int] = []
    for row in area.body:
        filled = [at for at in range(first, last + 1) if cell_at(grid, row, at)]
        if len(filled) != 1 or is_numberish(cell_at(grid, row, filled[0])):
            if _is_short(grid.rows[row]):
                continue
            return False
        places.append(filled[0])
    downwards = all(after <= before + 1 for before, after in pairwise(places))
    return (
        len(places) >= 3 and places[0] == first and downwards and set(places) == set(range(first, last + 1))
    )


def _is_short(row: Sequence[Cell]) -> bool:
    """Return whether a row holds so little that it is a total or a note rather than a part."""
    return sum(map(bool, row)) <= 2
