"""Levels of a list: by a column of levels, by dotted numbers, by indentation or by grouped rows; then parents."""

from __future__ import annotations

import re
from collections.abc import Sequence

from msgspec import Struct

from ferrule.exchange.grid import Cell

__all__ = ["Levels", "find_levels", "parents_of"]


class Levels(Struct, frozen=True, kw_only=True):
    """The level of each line from 0 (None for no levels at all), what told them, and doubts by line."""

    levels: tuple[int, ...] | None = None
    told_by: str = ""
    doubts: tuple[tuple[int, str], ...] = ()


class _Line(Struct, frozen=True):
    """What may tell the level of one line."""

    level: Cell
    item: Cell
    part: Cell
    texts: tuple[Cell, ...]
    outline: int


def find_levels(
    level: Sequence[Cell],
    item: Sequence[Cell],
    part: Sequence[Cell],
    texts: Sequence[Sequence[Cell]],
    outline: Sequence[int],
) -> Levels:
    """Return the levels of the lines of one table. ``texts`` holds the cells that may be indented, by column.

    Tried in this order: a column of levels, dotted numbers whose own beginnings are numbers too, indentation,
    rows grouped under each other. The first that shows more than one level is taken.
    """
    lines = len(outline)
    found = _by_column(level) or _by_dots(item, "dotted item numbers") or _by_dots(level, "dotted levels")
    found = found or _by_dots(part, "dotted part numbers")
    for cells in texts:
        found = found or _by_indent(cells)
    if found is None and len(set(outline)) > 1:
        low = min(outline)
        doubts = ((0, "the levels are those of grouped rows"),)
        found = Levels(levels=tuple(one - low for one in outline), told_by="grouped rows", doubts=doubts)
    return found if found and lines else Levels()


_DOTS = re.compile(r"[.\-+>*_· ]*([0-9]{1,2})|(?:l|lvl|level|ebene|stufe)\s*([0-9]{1,2})", re.IGNORECASE)


def _by_column(cells: Sequence[Cell]) -> Levels | None:
    read: list[int | None] = []
    for cell in cells:
        found = _DOTS.fullmatch(cell.text)
        read.append(int(found[1] or found[2]) if found else None)
        if found is None and cell and re.fullmatch(r"[.+>*\-]+", cell.text):
            read[-1] = len(cell.text)
    known = [one for one in read if one is not None]
    if not known or len(known) < 0.8 * len(cells) or len(set(known)) < 2:
        return None
    low = min(known)
    levels: list[int] = []
    doubts: list[tuple[int, str]] = []
    for at, one in enumerate(read):
        if one is None:
            doubts.append((at, "it has no level; it was put on that of the line above"))
        levels.append(one - low if one is not None else levels[-1] if levels else 0)
    return Levels(levels=tuple(levels), told_by="a column of levels", doubts=tuple(doubts + _jumps(levels)))


def _jumps(levels: Sequence[int]) -> list[tuple[int, str]]:
    return [
        (at, f"the level goes from {levels[at - 1]} to {levels[at]} at once")
        for at in range(1, len(levels))
        if levels[at] > levels[at - 1] + 1
    ]


def _by_dots(cells: Sequence[Cell], told_by: str) -> Levels | None:
    numbers = [_components(cell.text) for cell in cells]
    known = {number for number in numbers if number}
    deep = [number for number in numbers if len(number) > 1]
    if len(known) < 0.8 * len(cells) or len(deep) < 2 or len({len(number) for number in known}) < 2:
        return None
    rooted = sum(1 for number in deep if number[:-1] in known)
    if rooted < 0.7 * len(deep):
        return None
    low = min(len(number) for number in known)
    levels: list[int] = []
    doubts: list[tuple[int, str]] = []
    seen: set[tuple[str, ...]] = set()
    for at, number in enumerate(numbers):
        levels.append(len(number) - low if number else levels[-1] if levels else 0)
        if number in seen and number:
            doubts.append(
                (at, f"the number {'.'.join(number)} stands twice; a spreadsheet may have cut a last zero")
            )
        seen.add(number)
    return Levels(levels=tuple(levels), told_by=told_by, doubts=tuple(doubts))


def _components(text: str) -> tuple[str, ...]:
    bare = text.strip().rstrip(".")
    if not re.fullmatch(r"[0-9A-Z]{1,4}(?:\.[0-9]{1,4}){0,12}", bare):
        return ()
    parts = bare.split(".")
    return tuple(parts[:-1]) if len(parts) > 1 and parts[-1] == "0" and len(parts) == 2 else tuple(parts)


def _by_indent(cells: Sequence[Cell]) -> Levels | None:
    steps = [cell.indent for cell in cells]
    if len(set(steps)) < 2 or sum(1 for one in steps if one) < 2 or steps[0] != min(steps):
        return None
    levels: list[int] = []
    open_: list[int] = []
    for one in steps:
        while open_ and open_[-1] > one:
            open_.pop()
        if not open_ or open_[-1] < one:
            open_.append(one)
        levels.append(len(open_) - 1)
    irregular = len(set(steps)) > 2 and len(set(steps)) > max(levels) + 1
    doubts = ((0, "the indentation is uneven"),) if irregular else ()
    return Levels(levels=tuple(levels), told_by="indentation", doubts=doubts)


def parents_of(levels: Sequence[int]) -> tuple[int | None, ...]:
    """Return for each line the line it is part of: the nearest above it on a higher level."""
    parents: list[int | None] = []
    open_: list[int] = []
    for at, level in enumerate(levels):
        while open_ and levels[open_[-1]] >= level:
            open_.pop()
        parents.append(open_[-1] if open_ else None)
        open_.append(at)
    return tuple(parents)
