"""What every report is made of: tables and outlines of cells, notes, cautions. No looks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

from ferrule.model.exact import Exact

__all__ = ["Cell", "Column", "Document", "Table"]

#: A cell: text, an exact number, or None for what is not known, which no form may show as zero or blank.
Cell = str | Exact | int | None


class Column(Struct, frozen=True):
    """A column: its key in machine forms (snake_case), its heading, and whether it holds numbers.

    Numbers are lined up on their point. A column without a heading is shown only where it says something.
    """

    key: str
    heading: str
    kind: Literal["text", "number"] = "text"


class Table(Struct, frozen=True, kw_only=True):
    """Rows under columns; with ``depth`` an outline. ``rows`` may be an iterator, which is read only once."""

    key: str
    columns: tuple[Column, ...]
    rows: Iterable[tuple[Cell, ...]]
    title: str = ""
    #: Column that holds the depth of a row, from 1; the column after it is indented by it.
    depth: int | None = None
    #: Sentences under the table.
    notes: tuple[str, ...] = ()


class Document(Struct, frozen=True, kw_only=True):
    """A whole report: facts about it, tables, notes, and the cautions it ends with."""

    key: str
    title: str
    facts: tuple[tuple[str, Cell], ...] = ()
    tables: tuple[Table, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
