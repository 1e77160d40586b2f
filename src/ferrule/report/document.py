"""What every report is made of: tables and outlines of cells, notes, cautions. No looks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

from ferrule.model.exact import Exact
from ferrule.report.picture import Picture

__all__ = ["Amount", "Cell", "Column", "Document", "Share", "Table"]


class Amount(Struct, frozen=True):
    """A number that people see rounded to ``places`` and machines see in full.

    ``trim`` leaves off zeros at the end, as suits quantities; money keeps its places.
    """

    number: Exact
    places: int = 2
    trim: bool = False


class Share(Struct, frozen=True):
    """A share of one that people see as a percentage with its sign, rounded to ``places``.

    Machines see the percentage in full and without the sign: its unit is in the column's key or in a column
    of its own.
    """

    number: Exact
    places: int = 1


#: A cell: text, an exact number, or None for what is not known, which no form may show as zero or blank.
Cell = str | Exact | int | Amount | Share | None


class Column(Struct, frozen=True):
    """A column: its key in machine forms (snake_case), its heading, and whether it holds numbers.

    Numbers are lined up on their point. A column without a heading is shown only where it says something.
    Where a terminal is too narrow, columns with a ``rank`` above 0 are left out, the highest first.
    """

    key: str
    heading: str
    kind: Literal["text", "number"] = "text"
    rank: int = 0
    #: False for what people read elsewhere in the report, such as remarks under the table.
    in_text: bool = True
    #: True for what is copied in one piece, such as a place: made narrower only when nothing else is left to be.
    whole: bool = False


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
    #: Drawn below the tables on a terminal or a page; machine forms have the same numbers in the tables.
    pictures: tuple[Picture, ...] = ()
