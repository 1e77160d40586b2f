# ruff: noqa: RUF001 - the signs people write are data
"""What each row of a table is: a part, a further source of it, a heading of a section, a total, a note.

Every filled row gets exactly one kind, with the reason where it is no part: nothing is dropped in silence.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct

from ferrule.exchange.cells import is_filler, looks_like_designators
from ferrule.exchange.grid import BLANK, Cell, Grid
from ferrule.exchange.headings import Column
from ferrule.exchange.profiles import is_numberish
from ferrule.exchange.tables import Area, cell_at
from ferrule.exchange.words import ALTERNATE, NOTE_STARTS, TOTAL_WORDS, folded

__all__ = ["Kind", "Row", "RowCells", "classify", "has_counted_names", "total_label"]

#: ``source`` gives another source of the part above, ``more`` goes on with a cell of the row above.
Kind = Literal["part", "source", "more", "section", "total", "note", "heading", "rule"]

_RULE = re.compile(r"[-=_*#+.:|~ ]{3,}")
_FIRM_SIDE = frozenset(
    {
        "maker",
        "maker_part",
        "seller",
        "seller_part",
        "link",
        "price",
        "moq",
        "lead_time",
        "stock",
        "currency",
        "pack_price",
        "pack_size",
        "note",
    }
)
_IDENTITY = ("part", "maker_part", "seller_part", "name", "value", "designators")
_LONG = 90


class RowCells(Struct, frozen=True, kw_only=True):
    """The cells of a row by what their column means, the first of each meaning, and all that are filled."""

    row: int
    cells: tuple[Cell, ...]
    by: Mapping[str, Cell]
    filled: tuple[int, ...]

    def of(self, meaning: str) -> Cell:
        """Return the first column's cell of a meaning, a blank one if there is none."""
        return self.by.get(meaning, BLANK)


class Row(Struct, frozen=True, kw_only=True):
    """A row, its kind and why; ``doubt`` where it may be something else."""

    cells: RowCells
    kind: Kind
    why: str = ""
    doubt: str = ""


class _Table(Struct, frozen=True, kw_only=True):
    """What is usual in a table."""

    columns: tuple[Column, ...]
    headings: tuple[str, ...]
    has_quantity: bool
    usual: int
    lone_are_parts: bool
    dotted: bool
    counted_names: bool
    named: bool
    last_part: int


def classify(grid: Grid, area: Area, columns: tuple[Column, ...]) -> tuple[Row, ...]:
    """Return the rows of a table in order, each with its kind."""
    read = [_read(grid, columns, row) for row in area.body]
    table = _usual(read, columns, area)
    rows: list[Row] = []
    above: RowCells | None = None
    for at, cells in enumerate(read):
        kind, why, doubt = _kind(cells, above, table, at)
        rows.append(Row(cells=cells, kind=kind, why=why, doubt=doubt))
        if kind == "part":
            above = cells
        elif kind in {"section", "total", "heading"}:
            above = None
    return tuple(rows)


def _read(grid: Grid, columns: tuple[Column, ...], row: int) -> RowCells:
    cells = tuple(cell_at(grid, row, column.index) for column in columns)
    by: dict[str, Cell] = {}
    for column, cell in zip(columns, cells, strict=True):
        if column.rank == 1 or column.meaning not in by:
            by.setdefault(column.meaning, cell)
    filled = tuple(at for at, cell in enumerate(cells) if cell and not _RULE.fullmatch(cell.text))
    return RowCells(row=row, cells=cells, by=by, filled=filled)


def _usual(read: Sequence[RowCells], columns: tuple[Column, ...], area: Area) -> _Table:
    meanings = {column.meaning for column in columns}
    has_quantity = bool(meanings & {"quantity", "designators"})
    counted = [row for row in read if row.of("quantity") or row.of("designators")]
    basis = sorted(len(row.filled) for row in (counted or read))
    usual = basis[len(basis) // 2] if basis else 0
    lone = [row for row in read if len(row.filled) == 1 and (row.of("name") or row.of("part"))]
    items = [row.of("item").text.rstrip(".") for row in read if row.of("item")]
    dotted = sum(1 for item in items if re.fullmatch(r"[0-9]+(?:\.[0-9]+)+", item))
    return _Table(
        columns=columns,
        headings=tuple(folded(text) for text in area.headings),
        has_quantity=has_quantity,
        usual=usual,
        lone_are_parts=len(lone) > max(len(counted), 1) or usual <= 1,
        counted_names=not has_quantity and has_counted_names([row.of("name") for row in read]),
        named=bool(meanings & (set(_IDENTITY) - {"designators"})),
        dotted=dotted >= 2 and dotted * 4 >= len(items),
        last_part=max(
            (at for at, row in enumerate(read) if _counts(row)), default=-1 if has_quantity else len(read)
        ),
    )


_COUNTED_NAME = re.compile(r"[0-9]{1,6}\s*(?:[x×]|pcs\.?|Stk\.?|шт\.?)\s+\S.*", re.DOTALL)


def has_counted_names(names: Sequence[Cell]) -> bool:
    """Return whether most names have their quantity in front: ``4x M3 screw``."""
    texts = [cell.text for cell in names if cell]
    return (
        len(texts) >= 2 and sum(1 for text in texts if _COUNTED_NAME.fullmatch(text)) * 10 >= len(texts) * 6
    )


def _counts(row: RowCells) -> bool:
    return bool(
        (row.of("quantity") and any(row.of(name) for name in (*_IDENTITY, "item"))) or row.of("designators")
    )


#: A kind, why it is taken, and what may be wrong with that.
_Told = tuple[Kind, str, str]


def _kind(row: RowCells, above: RowCells | None, table: _Table, at: int) -> _Told:
    if not row.filled:
        return "rule", "a line drawn with marks", ""
    if _is_heading(row, table):
        return "heading", "the headings again", ""
    return ("total", "its label says so", "") if total_label(row) else _of_parts(row, above, table, at)


def _of_parts(row: RowCells, above: RowCells | None, table: _Table, at: int) -> _Told:
    if not any(_says_something(row, place) for place in row.filled):
        return _only_numbers(row, table, at)
    if above is not None and _is_source(row, above):
        return "source", "another source of the part above", ""
    if len(row.filled) == 1:
        return _lone(row, above, table, at)
    return _several(row, table, at)


def _is_heading(row: RowCells, table: _Table) -> bool:
    texts = [folded(cell.text) for cell in row.cells if len(cell.text) < 90]
    same = sum(
        1
        for text, heading in zip(texts, table.headings, strict=False)
        if text and text in {heading, heading.split(" ")[0]}
    )
    return same >= 2 and same * 10 >= len(row.filled) * 6 and len(texts) == len(row.cells)


def _says_something(row: RowCells, place: int) -> bool:
    """Return whether a cell is text rather than a number."""
    return not is_numberish(row.cells[place])


def total_label(row: RowCells) -> str:
    """Return the label of a row that states a total, else an empty text."""
    number = row.of("maker_part")
    if _has_places(row) or (number and not is_numberish(number) and not _is_total(number.text[:60])):
        return ""
    if row.of("item") and row.of("quantity") and row.of("price") and row.of("item").text.isdecimal():
        return ""
    for at in row.filled:
        text = row.cells[at].text
        if (
            len(text) <= 60
            and _is_total(text)
            and len([one for one in row.filled if not is_numberish(row.cells[one])]) <= 3
        ):
            return text
    return ""


def _is_total(text: str) -> bool:
    word = folded(text).strip(" :=.-*")
    if word in TOTAL_WORDS:
        return True
    head = re.split(r"[:=(\[,]|\s[-–]\s|\d", word)[0].strip(" .")
    if head in TOTAL_WORDS:
        return True
    first, _, rest = head.partition(" ")
    return first in _FIRST_TOTAL and len(rest.split()) <= 4


_FIRST_TOTAL = TOTAL_WORDS & {
    folded(word)
    for word in (
        "total totals subtotal sub-total summe gesamt zwischensumme totale totaal suma razem celkem totalt summa toplam"
        " итого всего 合計 小計 合计 小计 总计 sous-total totaux soma 합계"
    ).split()
} | {"grand"}


def _has_places(row: RowCells) -> bool:
    cell = row.of("designators")
    return bool(cell) and looks_like_designators(cell.text)


def _only_numbers(row: RowCells, table: _Table, at: int) -> _Told:
    """Return the kind of a row that holds numbers and nothing else."""
    if row.of("item") and len(row.filled) == 1:
        return "note", "a number and nothing else", ""
    if row.of("item") or row.of("part") or row.of("name") or row.of("maker_part"):
        if row.of("quantity") or not table.has_quantity:
            return (
                "part",
                "",
                ""
                if row.of("part") or row.of("name") or row.of("maker_part") or row.of("value")
                else "it counts something but does not name it",
            )
        return "note", "numbers without a quantity or a name", "it may be a part"
    if row.of("quantity") and at < table.last_part and (row.of("price") or row.of("value")):
        return "part", "", "it counts something but does not name it"
    if all(row.cells[place].text.strip("0.,€$£ ") == "" for place in row.filled):
        return "note", "nothing but zeros", ""
    return "total", "numbers without a name", "nothing calls it a total"


def _is_source(row: RowCells, above: RowCells) -> bool:
    """Return whether a row only gives another maker, seller or price of the part above."""
    if len(row.filled) == 1 and _is_note(row.cells[row.filled[0]].text):
        return False
    if not any(row.of(name) and not is_filler(row.of(name).text) for name in _OF_SOURCE):
        return False
    if _marked_alternate(row):
        return True
    same_item = bool(row.of("item")) and row.of("item").text == above.of("item").text
    if row.of("quantity") and (not same_item or row.of("quantity").text != above.of("quantity").text):
        return False
    return all(
        row.of(name).text == above.of(name).text
        for name in ("item", "part", "name", "value", "designators", "footprint")
        if row.of(name) and not is_filler(row.of(name).text)
    )


_OF_SOURCE = ("maker", "maker_part", "seller", "seller_part", "link")


def _marked_alternate(row: RowCells) -> bool:
    return any(
        folded(row.of(name).text).strip("():.- ") in ALTERNATE
        for name in ("item", "note", "category", "name", "fitted", "quantity")
        if row.of(name)
    ) and not _has_places(row)


def _lone(row: RowCells, above: RowCells | None, table: _Table, at: int) -> _Told:
    """Return the kind of a row with one filled cell, which is text."""
    place = row.filled[0]
    text, meaning = row.cells[place].text, table.columns[place].meaning
    if meaning == "designators" and looks_like_designators(text):
        return (
            ("part", "", "it has designators only")
            if above is None
            else ("more", "the designators above go on", "")
        )
    if meaning == "note" and above is not None:
        return "more", "a note on the part above", ""
    if meaning in _FIRM_SIDE and above is not None and not _is_note(text):
        return "source", "another source of the part above", ""
    if (
        table.lone_are_parts
        and not _is_note(text)
        and (not table.counted_names or _COUNTED_NAME.fullmatch(text))
    ):
        return "part", "", "" if table.counted_names else "it has a name only"
    return _text_alone(text, meaning, table, at)


def _text_alone(text: str, meaning: str, table: _Table, at: int) -> _Told:
    if at > table.last_part:
        return "note", "a text outside the list", ""
    if _is_note(text):
        return "note", "a note", ""
    narrow = meaning in {"name", "part"} and table.usual <= 3 and not table.counted_names
    return "section", "one text alone above parts", "it may be a part without quantity" if narrow else ""


def _is_note(text: str) -> bool:
    word = folded(text[:200])
    head = re.split(r"[:.\s]", word)[0]
    return (
        len(text) > _LONG
        or (head in NOTE_STARTS and not re.fullmatch(r"[^\s:]+", word))
        or word.rstrip(":") in NOTE_STARTS
        or (text.endswith((".", "!")) and len(text.split()) > 6)
    )


def _several(row: RowCells, table: _Table, at: int) -> _Told:
    """Return the kind of a row with several filled cells, some of them text."""
    named = [name for name in _IDENTITY if row.of(name)]
    property_ = row.cells[row.filled[0]].text.endswith(":") and len(row.filled) <= 3
    if property_ and not is_numberish(row.of("quantity")):
        return "note", "a property", ""
    if not table.has_quantity:
        return ("part", "", "") if named else ("note", "nothing in it names a part", "it may be a part")
    if row.of("quantity") or row.of("designators"):
        return _counted(row, table, named, at)
    return _uncounted(row, table, named, at)


def _counted(row: RowCells, table: _Table, named: Sequence[str], at: int) -> _Told:
    """Return the kind of a row with a quantity or designators."""
    known = set(named) - {"designators"} or row.of("category") or row.of("maker") or not table.named
    if named or known or row.of("item"):
        return "part", "", "" if known else "it counts something but does not name it"
    if at <= table.last_part:
        return "part", "", "none of its columns names a part"
    return "note", "outside the list", ""


def _uncounted(row: RowCells, table: _Table, named: Sequence[str], at: int) -> _Told:
    """Return the kind of a row without a quantity in a table that has them."""
    if row.of("item") and any(row.of(name) for name in ("name", "part", "maker_part", "value")):
        return "part", "", "" if table.dotted else "it has no quantity"
    full = bool(named) and len(row.filled) * 2 > table.usual + 1
    if full or row.of("maker_part") or row.of("seller_part"):
        return "part", "", "it has no quantity"
    if at > table.last_part:
        return "note", "after the last part", ""
    if row.of("part") and row.of("name"):
        return "part", "", "it has no quantity"
    same = len({row.cells[one].text for one in row.filled}) == 1
    return "section" if same else "note", "no quantity and little else", "it may be a part"
