# ruff: noqa: RUF001 - the signs people write are data
"""Part lines out of classified rows: each cell read by its column's meaning, with the rows that belong to it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Literal

from msgspec import Struct, structs

from ferrule.exchange.cells import (
    Amount,
    DecimalMark,
    Places,
    Price,
    alternates_in,
    is_filler,
    is_not_fitted,
    read_amount,
    read_designators,
    read_mark,
    read_price,
)
from ferrule.exchange.grid import BLANK, Cell
from ferrule.exchange.headings import Column
from ferrule.exchange.recognised import Doubt, Line, Place, Supply
from ferrule.exchange.rows import RowCells
from ferrule.exchange.words import ANY_MAKER, AS_NEEDED, OWN_DRAWING, UNIT_WORDS, folded
from ferrule.model.text import quoted

__all__ = ["Draft", "index_of", "joined", "make_line"]

_FILLED_DOWN = frozenset({"maker", "seller", "category", "note", "footprint", "material", "currency", "unit"})
_PLAIN = ("item", "part", "name", "value", "footprint", "category", "material", "revision")
_MOST = 20


class Draft(Struct, kw_only=True):
    """A part row and the rows below that belong to it, before it is read."""

    place: Place
    table: int
    row: RowCells
    section: str = ""
    section_not_fitted: bool = False
    more_places: list[str] = []
    more_notes: list[str] = []
    sources: list[tuple[Place, RowCells]] = []
    filled_down: Mapping[int, Cell] = {}
    doubt: str = ""


#: The columns of each meaning by rank, with their place in the table.
Index = Mapping[str, tuple[tuple[Column, int], ...]]


def index_of(columns: Sequence[Column]) -> Index:
    """Return the columns of each meaning by rank, with their place among the columns."""
    found: dict[str, list[tuple[Column, int]]] = {}
    for at, column in enumerate(columns):
        found.setdefault(column.meaning, []).append((column, at))
    return {meaning: tuple(sorted(pairs, key=lambda pair: pair[0].rank)) for meaning, pairs in found.items()}


class _Reading(Struct, kw_only=True):
    """One line being read: collects its doubts."""

    draft: Draft
    columns: Sequence[Column]
    index: Index
    mark: DecimalMark
    doubts: list[Doubt]

    def doubt(self, what: str, about: str = "", place: Place | None = None) -> None:
        if what:
            column = next((one.letters for one in self.columns if one.meaning == about), "")
            self.doubts.append(Doubt(what=what, place=place or self.draft.place, column=column, about=about))

    def cells(self, row: RowCells, meaning: str) -> list[tuple[Column, Cell]]:
        """Return the cells of a meaning by rank."""
        return [(column, self._cell(row, at)) for column, at in self.index.get(meaning, ())]

    def _cell(self, row: RowCells, at: int) -> Cell:
        cell = row.cells[at]
        if not cell and row is self.draft.row and self.columns[at].meaning in _FILLED_DOWN:
            return self.draft.filled_down.get(at, BLANK)
        return cell

    def text(self, meaning: str) -> str:
        """Return the text of a meaning's first cell, empty where it is a filler."""
        for _, cell in self.cells(self.draft.row, meaning):
            return "" if is_filler(cell.text) else cell.text
        return ""


def make_line(
    draft: Draft, columns: Sequence[Column], index: Index, mark: DecimalMark, doubts: list[Doubt]
) -> Line:
    """Return the line of a draft; what is doubtful is added to ``doubts``."""
    reading = _Reading(draft=draft, columns=columns, index=index, mark=mark, doubts=doubts)
    reading.doubt(draft.doubt)
    texts = {name: reading.text(name) for name in _PLAIN}
    quantity = _quantity(reading, texts)
    places = _places(reading, quantity)
    if quantity.number is None and places.names and any(column.meaning == "quantity" for column in columns):
        reading.doubt(f"no quantity was read; it has {len(places.names)} designators", "quantity")
    if quantity.number is None and any(
        folded(cell.text[:40]) in AS_NEEDED for _, cell in reading.cells(draft.row, "unit")
    ):
        quantity = structs.replace(quantity, as_needed=True)
    supplies = _supplies(reading)
    notes = [cell.text for _, cell in reading.cells(draft.row, "note") if cell and not is_filler(cell.text)]
    note = "\n".join(notes + draft.more_notes)
    if any(cell.struck for cell in draft.row.cells):
        reading.doubt("it is struck through in the file; it was read all the same")
    for name in ("part", "maker_part", "seller_part"):
        if any(cell.number is not None for _, cell in reading.cells(draft.row, name)):
            reading.doubt("the number is typed as a number: zeros in front of it may be lost", name)
    return Line(
        place=draft.place,
        table=draft.table,
        designators=places,
        quantity=quantity,
        unit=_unit(reading),
        fitted=_fitted(reading, quantity, note, places),
        section=draft.section,
        note=note,
        supplies=supplies,
        line_total=_line_total(reading),
        alternates=_alternates(reading, note),
        extra=_extra(reading),
        item=texts["item"],
        part=texts["part"],
        name=texts["name"],
        value=texts["value"],
        footprint=texts["footprint"],
        category=texts["category"],
        material=texts["material"],
        revision=texts["revision"],
    )


def _quantity(reading: _Reading, texts: dict[str, str]) -> Amount:
    cells = reading.cells(reading.draft.row, "quantity")
    if cells:
        amount = read_amount(cells[0][1], reading.mark)
        reading.doubt(amount.doubt, "quantity")
        return amount
    if any(column.meaning == "designators" for column in reading.columns):
        return Amount()
    found = re.fullmatch(r"([0-9]{1,6})\s*(?:[x×]|pcs\.?|Stk\.?|шт\.?)\s+(\S.*)", texts["name"], re.DOTALL)
    if found is None:
        return Amount()
    texts["name"] = found[2]
    return Amount(written=found[1], number=Decimal(found[1]), doubt="taken from the name")


def _places(reading: _Reading, quantity: Amount) -> Places:
    cell = reading.cells(reading.draft.row, "designators")
    if not cell:
        return Places()
    written = "\n".join([cell[0][1].text, *reading.draft.more_places]).strip("\n")
    places = read_designators(written, quantity.number if quantity.plain else None)
    reading.doubt(places.doubt, "designators")
    if places.not_fitted and len(places.not_fitted) < len(places.names):
        reading.doubt(
            f"some places are marked as not fitted: {', '.join(places.not_fitted[:_MOST])}", "designators"
        )
    return places


def _unit(reading: _Reading) -> str:
    for _, cell in reading.cells(reading.draft.row, "unit"):
        if not cell or is_filler(cell.text):
            return ""
        unit = UNIT_WORDS.get(folded(cell.text))
        if folded(cell.text[:40]) in AS_NEEDED:
            return ""
        if unit is None:
            reading.doubt(f"{quoted(cell.text)} is no unit we know", "unit")
        return unit or cell.text
    return ""


def _fitted(reading: _Reading, quantity: Amount, note: str, places: Places) -> bool | None:
    """Return whether the part is placed: by a column of marks, else by words in any of its cells."""
    row = reading.draft.row
    for column, cell in reading.cells(row, "fitted"):
        answer = _marked(column, cell, reading)
        if answer is not True:
            return answer
    if quantity.not_fitted or (places.names and len(places.not_fitted) == len(places.names)):
        return False
    texts = [
        note,
        *(
            cell.text
            for name in ("name", "value", "category", "maker", "maker_part")
            for _, cell in reading.cells(row, name)
        ),
    ]
    texts += [cell.text for _, cell in reading.cells(row, "other")]
    if any(is_not_fitted(text) for text in texts):
        return False
    if reading.draft.section_not_fitted:
        reading.doubt(
            f"taken as not fitted because it stands below {quoted(reading.draft.section)}", "fitted"
        )
        return False
    return True


def _marked(column: Column, cell: Cell, reading: _Reading) -> bool | None:
    if not cell:
        return True if column.negative else None
    if is_not_fitted(cell.text):
        return False
    mark = read_mark(cell.text)
    if mark is None and not is_filler(cell.text):
        if column.negative:
            reading.doubt(
                f"{quoted(cell.text)} under {quoted(column.heading)} was read as not fitted", "fitted"
            )
            return False
        return True
    yes = mark is True
    return (not yes) if column.negative else yes if mark is not None else None


def _line_total(reading: _Reading) -> Price | None:
    for column, cell in reading.cells(reading.draft.row, "line_total"):
        price = read_price(cell, reading.mark, column.currency)
        reading.doubt(price.doubt if price.amount is None else "", "line_total")
        return price if price.amount is not None else None
    return None


def _alternates(reading: _Reading, note: str) -> tuple[str, ...]:
    found = [
        text.strip()
        for _, cell in reading.cells(reading.draft.row, "alternate")
        if cell and not is_filler(cell.text) and read_mark(cell.text) is None
        for text in re.split(r"[\n;,]", cell.text)
        if text.strip()
    ]
    return tuple(dict.fromkeys([*found, *alternates_in(note)]))


def _extra(reading: _Reading) -> tuple[tuple[str, str], ...]:
    return tuple(
        (column.heading or column.letters, cell.text)
        for column, cell in zip(reading.columns, reading.draft.row.cells, strict=True)
        if cell and column.meaning in {"other", "spec", "batch", "stock"}
    )


# --- sources ---------------------------------------------------------------------------------------------


def _supplies(reading: _Reading) -> tuple[Supply, ...]:
    """Return the sources of a line: by rank from its own row, then from the rows below."""
    found: list[Supply] = []
    for place, row in [(reading.draft.place, reading.draft.row), *reading.draft.sources]:
        ranks = sorted(
            {column.rank for name in _OF_SOURCE for column, _ in reading.index.get(name, ())} | {1}
        )
        for rank in ranks:
            supply = _supply(reading, place, row, rank)
            if supply is not None:
                found.append(supply)
    return tuple(found)


_OF_SOURCE = frozenset({"maker", "maker_part", "seller", "seller_part", "link"})


def _supply(reading: _Reading, place: Place, row: RowCells, rank: int) -> Supply | None:
    def cell(meaning: str) -> Cell:
        return next((cell for column, cell in reading.cells(row, meaning) if column.rank == rank), BLANK)

    texts = {name: "" if is_filler(cell(name).text) else cell(name).text for name in _OF_SOURCE}
    first = rank == 1
    prices = _prices(reading, row, place) if first else {}
    kind, named = _kind_of(texts["maker"])
    if kind:
        texts["maker"] = ""
    numbers = [
        part.strip(" ,")
        for part in re.split(r"\n|;| / | or | oder ", texts["maker_part"])
        if part.strip(" ,")
    ]
    supply = Supply(
        place=place,
        maker=texts["maker"],
        maker_part=numbers[0] if numbers else "",
        seller=texts["seller"],
        seller_part=texts["seller_part"],
        link=texts["link"],
        kind=kind,
        named=named,
        price=prices.get("price"),
        breaks=_breaks(reading, row) if first else (),
        pack_price=prices.get("pack_price"),
        pack_size=_amount(reading, row, "pack_size") if first else None,
        moq=_amount(reading, row, "moq") if first else None,
        multiple=_amount(reading, row, "multiple") if first else None,
        lead_time=_text(reading, row, "lead_time") if first else "",
        alternates=tuple(numbers[1:]),
    )
    return None if supply == Supply(place=place) else supply


def _kind_of(maker: str) -> tuple[Literal["", "any", "drawing"], str]:
    """Return what a maker's cell means that names no maker, and its text: any maker, or our own drawing."""
    word = folded(maker[:80])
    if not word:
        return "", ""
    head = re.split(r"\s[-–:]\s|[,;(]", word)[0].strip()
    if {word, head} & ANY_MAKER:
        return "any", maker
    return ("drawing", maker) if {word, head} & OWN_DRAWING else ("", "")


def _prices(reading: _Reading, row: RowCells, place: Place) -> dict[str, Price]:
    found: dict[str, Price] = {}
    named = next((cell.text.upper() for _, cell in reading.cells(row, "currency") if cell), "")
    for meaning in ("price", "pack_price"):
        for column, cell in reading.cells(row, meaning)[:1]:
            if not cell:
                continue
            price = read_price(cell, reading.mark, named or column.currency, column.per)
            reading.doubt(price.doubt, meaning, place)
            if price.amount is not None:
                found[meaning] = price
    return found


def _breaks(reading: _Reading, row: RowCells) -> tuple[Price, ...]:
    """Return the prices of columns that say from which quantity on they are good, smallest quantity first."""
    named = next((cell.text.upper() for _, cell in reading.cells(row, "currency") if cell), "")
    found = [
        structs.replace(
            read_price(cell, reading.mark, named or column.currency, column.per), least=column.least
        )
        for column, cell in reading.cells(row, "price")
        if cell and column.least is not None
    ]
    return tuple(
        sorted((price for price in found if price.amount is not None), key=lambda price: price.least or 0)
    )


def _amount(reading: _Reading, row: RowCells, meaning: str) -> Amount | None:
    for _, cell in reading.cells(row, meaning)[:1]:
        amount = read_amount(cell, reading.mark)
        return amount if amount.number is not None else None
    return None


def _text(reading: _Reading, row: RowCells, meaning: str) -> str:
    for _, cell in reading.cells(row, meaning)[:1]:
        return "" if is_filler(cell.text) else cell.text
    return ""


def joined(texts: Iterable[str]) -> str:
    """Return the texts of a row as one, for a list of what was set aside."""
    return " | ".join(text for text in texts if text)
