"""The sheet a recipient fills: lines under stable ids, what is disclosed of them, and columns for prices."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal

from msgspec import Struct

from ferrule.exchange.quote_columns import FILLED, LINE, SHEET, amount_heading, price_heading
from ferrule.exchange.table_out import OutColumn, OutTable
from ferrule.model.number import plain

__all__ = ["SheetColumn", "SheetLine", "quote_table", "shown_cells"]

#: What stands in the price columns of a line for which no price is asked.
_NOT_ASKED = "no price asked"
_Cell = str | Decimal | int | bool | dt.date | None


class SheetColumn(Struct, frozen=True):
    """A disclosed column: key, heading, whether it holds numbers, and a sentence about it."""

    key: str
    heading: str
    number: bool
    about: str


class SheetLine(Struct, frozen=True, kw_only=True):
    """One line: its id, disclosed texts by key of column, quantities asked, and whether a price is asked."""

    id: str
    texts: Mapping[str, str]
    amounts: Sequence[Decimal | None]
    priced: bool


def quote_table(  # noqa: PLR0913  what a sheet is made from
    lines: Sequence[SheetLine],
    columns: Sequence[SheetColumn],
    quantities: Sequence[int],
    *,
    watermark: str,
    currency: str,
    incoterm: str,
) -> OutTable:
    """Return the sheet to fill. Columns that say nothing on any line are left out."""
    used = [column for column in columns if any(line.texts.get(column.key) for line in lines)]
    heads = [OutColumn("line", LINE, "string", "Leave as it is: by it your answer is read.")]
    heads += [
        OutColumn(column.key, column.heading, "number" if column.number else "string", column.about)
        for column in used
    ]
    for qty in quantities:
        heads.append(OutColumn(f"amount_{qty}", amount_heading(qty), "number", "How much is asked."))
        heads.append(OutColumn(f"price_{qty}", price_heading(qty), "string", "Please fill."))
    heads += [OutColumn(each.key, each.heading, "string", each.about) for each in FILLED]
    heads.append(OutColumn("sheet", SHEET, "string", "Mark of this sheet. Leave as it is."))
    rows = tuple(_row(line, used, watermark, currency, incoterm) for line in lines)
    return OutTable(name="request", about="Request for a quote.", columns=tuple(heads), rows=rows)


def _row(
    line: SheetLine, used: Sequence[SheetColumn], watermark: str, currency: str, incoterm: str
) -> tuple[_Cell, ...]:
    cells: list[_Cell] = [line.id]
    for column in used:
        text = line.texts.get(column.key, "")
        cells.append(Decimal(text) if column.number and text else text or None)
    for amount in line.amounts:
        cells += [amount, None if line.priced else _NOT_ASKED]
    given = {"currency": currency, "incoterm": incoterm} if line.priced else {}
    cells += [given.get(each.key) or None for each in FILLED]
    return (*cells, watermark)


def shown_cells(table: OutTable) -> list[dict[str, str]]:
    """Return for each line the cells as they were sent, by heading, those to fill left aside."""
    filled = {each.heading for each in FILLED} | {LINE, SHEET}
    kept = [
        (at, column.heading)
        for at, column in enumerate(table.columns)
        if column.heading not in filled and not column.key.startswith("price_")
    ]
    return [{heading: _text(row[at]) for at, heading in kept if row[at] is not None} for row in table.rows]


def _text(value: _Cell) -> str:
    return plain(value) if isinstance(value, Decimal) else str(value)
