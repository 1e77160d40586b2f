"""What a spreadsheet is once its bytes are read: sheets of rows of cells, each row with the number a reader sees."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

from msgspec import Struct

from ferrule.errors import FerruleError

__all__ = ["BLANK", "LONGEST_CELL", "Book", "Cell", "Grid", "SheetRefused", "column_letters", "make_cell"]

#: Longest text kept of one cell; a spreadsheet program keeps no more either.
LONGEST_CELL = 32_767
#: Blanks a tab stands for where indentation is measured.
_TAB = 4
_CONTROL = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\xad\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff\ufffe\uffff]"
    "|[\ud800-\udfff]|_x000[0-9A-D]_"
)


class SheetRefused(FerruleError):
    """A file cannot be read as a spreadsheet, or is larger than we read."""


class Cell(Struct, frozen=True, gc=False):
    r"""One cell. ``text`` is what a reader sees, without blanks around it; line breaks are ``\n``.

    ``number`` is set where the file types the cell as a number; ``currency`` and ``unit`` where its format
    shows one. ``indent`` counts the blanks before the text, or the format's indentation.
    """

    text: str = ""
    number: Decimal | None = None
    currency: str = ""
    unit: str = ""
    indent: int = 0
    struck: bool = False

    def __bool__(self) -> bool:
        return bool(self.text)


BLANK = Cell()


class Grid(Struct, frozen=True, kw_only=True):
    """One sheet. ``numbers`` holds for each row the number a spreadsheet shows, or the line of a text file.

    ``merged`` holds ranges as first row, first column, last row, last column, all counted from 0.
    """

    name: str
    rows: tuple[tuple[Cell, ...], ...]
    numbers: tuple[int, ...]
    merged: tuple[tuple[int, int, int, int], ...] = ()
    hidden: frozenset[int] = frozenset()
    outline: Mapping[int, int] = {}


class Book(Struct, frozen=True, kw_only=True):
    """One file: what it was read as, in words, its sheets, and those left aside with the reason."""

    file: str
    form: str
    grids: tuple[Grid, ...]
    notes: tuple[str, ...] = ()
    aside: tuple[tuple[str, str], ...] = ()
    delimiter: str = ""


def make_cell(written: str) -> Cell:
    """Return the cell of a text; control and invisible characters go, one guard against formulas too."""
    text = written
    if len(text) > LONGEST_CELL:
        text = text[:LONGEST_CELL]
    if not text.isascii() or not text.isprintable():
        text = _CONTROL.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
        text = text.replace("\xa0", " ").replace("\u2007", " ").replace("\u202f", " ")
    text = _unguarded(text)
    bare = text.strip(" \t\n\u3000")
    if not bare:
        return BLANK
    if bare == text:
        return Cell(bare)
    before = text[: len(text) - len(text.lstrip(" \t\u3000"))]
    return Cell(bare, indent=sum(_TAB if mark == "\t" else 2 if mark == "\u3000" else 1 for mark in before))


def _unguarded(text: str) -> str:
    """Return text without what keeps a spreadsheet program from computing with it."""
    if text[:1] == "'" and text[1:2] in {"=", "+", "-", "@", "\t", "\r"} and len(text) > 1:
        return text[1:]
    if text[:2] == '="' and text[-1:] == '"' and len(text) > 2 and '"' not in text[2:-1]:
        return text[2:-1]
    return text


def column_letters(index: int) -> str:
    """Return a column's letters as spreadsheets show them: A for 0, AA for 26."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
