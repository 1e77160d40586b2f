"""Edits of a TOML file's text that leave every other byte as it was, comments included.

A comment directly above a table, without a blank line between, belongs to it and goes where it goes. Edits are
made on the spans of the text as it was read, all at once; the result is read again, and must hold what was meant.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import tomli
from msgspec import Struct

from ferrule.diagnostics.finding import Path
from ferrule.load.locate import Positions
from ferrule.load.toml_text import row_text, value_text

__all__ = ["Edit", "edited", "extent_of", "is_header"]


class Edit(Struct, frozen=True, kw_only=True):
    """One change: a value set, or (``value`` None and ``block`` empty) an entry removed, or a block added at the end."""

    path: Path = ()
    value: Any = None
    block: str = ""


def edited(text: str, edits: Iterable[Edit]) -> str:
    """Return the text with edits made. Line ends are those of the text.

    A value that stands there is replaced in place; one that does not is added below the last own row of its
    table. Raises KeyError where the table of a value does not stand in the text.
    """
    ends = "\r\n" if "\r\n" in text else "\n"
    positions = Positions(text)
    splices: list[tuple[int, int, str]] = []
    blocks: list[str] = []
    for edit in edits:
        if edit.block:
            blocks.append(edit.block)
        elif edit.value is None:
            splices.append((*extent_of(positions, edit.path), ""))
        elif edit.path in positions.spans:
            start, end = positions.spans[edit.path][2:]
            splices.append((start, end, value_text(edit.value)))
        else:
            at = _below(positions, edit.path[:-1])
            splices.append((at, at, f"{row_text(str(edit.path[-1]), edit.value)}\n"))
    for start, end, put in reversed(sorted(splices, key=lambda splice: splice[:2])):  # noqa: C413  equal ones in turn
        text = text[:start] + put.replace("\n", ends) + text[end:]
    if blocks:
        text = text.rstrip("\r\n") + ends + "".join(ends + block.replace("\n", ends) for block in blocks)
    tomli.loads(text)
    return text


def extent_of(positions: Positions, path: Path) -> tuple[int, int]:
    """Return where a value's row, or a table with its comments and what is below it, starts and ends."""
    text, span = positions.text, positions.spans[path]
    if not is_header(span):
        return _row_start(text, span[0]), _row_end(text, span[3])
    following = [
        other[2]
        for below, other in positions.spans.items()
        if is_header(other) and other[2] > span[2] and below[: len(path)] != path
    ]
    end = _with_comments(text, min(following)) if following else len(text)
    return _with_comments(text, span[2]), end


def _with_comments(text: str, at: int) -> int:
    """Return where the comment rows glued to the row at ``at`` start."""
    start = _row_start(text, at)
    while start:
        above = _row_start(text, start - 1)
        if not re.match(r"[ \t]*#", text[above:start]):
            break
        start = above
    return start


def _below(positions: Positions, table: Path) -> int:
    """Return where a new row of a table goes: under its last own row, before the tables inside it."""
    head = positions.spans[table]
    if not is_header(head):
        raise KeyError(table)
    own = [
        span[3]
        for path, span in positions.spans.items()
        if path[:-1] == table and path != table and not is_header(span)
    ]
    return _row_end(positions.text, max(own, default=head[3]))


def is_header(span: tuple[int, int, int, int]) -> bool:
    """Return whether a span is of a header: its bracket stands before its name."""
    return span[2] < span[0]


def _row_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _row_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1
