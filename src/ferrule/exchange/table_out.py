"""Tables for other programs: CSV with its Table Schema, XLSX, Parquet. Same input, same bytes.

CSV follows RFC 4180 with exact decimals and empty cells for what is not known. XLSX has typed cells: text is
never a formula, a number never loses a digit (one that a spreadsheet cannot hold stays text). Parquet has
decimals of 38 digits, 12 of them behind the point.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from collections.abc import Iterable
from decimal import Decimal
from typing import Any, Literal

from msgspec import Struct

from ferrule.errors import FerruleError
from ferrule.model.number import plain
from ferrule.model.text import guarded as inert

__all__ = ["OutColumn", "OutTable", "csv_bytes", "parquet_bytes", "schema_bytes", "xlsx_bytes"]

Value = str | Decimal | int | bool | dt.date | None
Kind = Literal["string", "number", "integer", "boolean", "date"]

#: XlsxWriter stamps the present time without it.
_CREATED = dt.datetime(2000, 1, 1)  # noqa: DTZ001  the format has no zone
#: Digits a spreadsheet's numbers hold.
_SHEET_DIGITS = 15
_MOST_TEXT = 32_767
_SCALE = 12


class OutColumn(Struct, frozen=True):
    """One column: its key, the heading people read, what it holds, and a sentence about it."""

    key: str
    heading: str
    kind: Kind
    about: str = ""


class OutTable(Struct, frozen=True, kw_only=True):
    """One table: a name that may be a file's or a sheet's, columns, rows. None is what is not known."""

    name: str
    about: str
    columns: tuple[OutColumn, ...]
    rows: tuple[tuple[Value, ...], ...]


def csv_bytes(table: OutTable, *, guarded: bool = False) -> bytes:
    """Return a table as CSV, UTF-8, with headings.

    ``guarded`` is for spreadsheet programs: a mark that tells them the encoding, and an apostrophe before texts
    that they would run as a formula (CWE-1236).
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow([column.heading for column in table.columns])
    for row in table.rows:
        writer.writerow([_guard(_text(value), value) if guarded else _text(value) for value in row])
    return (b"\xef\xbb\xbf" if guarded else b"") + buffer.getvalue().encode()


def _text(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return plain(value) if isinstance(value, Decimal) else str(value)


def _guard(text: str, value: Value) -> str:
    return inert(text) if isinstance(value, str) else text


def schema_bytes(table: OutTable) -> bytes:
    """Return the Table Schema of a table's CSV (Frictionless Data), as JSON."""
    fields = [
        {
            "name": column.heading,
            "type": column.kind,
            **({"description": column.about} if column.about else {}),
        }
        for column in table.columns
    ]
    schema = {"fields": fields, "missingValues": [""]}
    return (json.dumps(schema, indent=2, ensure_ascii=False) + "\n").encode()


def xlsx_bytes(tables: Iterable[OutTable]) -> bytes:
    """Return tables as one workbook, a sheet each; raises FerruleError without XlsxWriter."""
    library = _library("xlsxwriter", "XLSX")
    buffer = io.BytesIO()
    book = library.Workbook(
        buffer,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    book.set_properties({"created": _CREATED})
    bold, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
    for table in tables:
        sheet = book.add_worksheet(table.name[:31])
        sheet.freeze_panes(1, 0)
        for at, column in enumerate(table.columns):
            sheet.write_string(0, at, column.heading, bold)
        for number, row in enumerate(table.rows, 1):
            for at, value in enumerate(row):
                _write(sheet, number, at, value, day)
    book.close()
    return buffer.getvalue()


def _write(sheet: Any, row: int, at: int, value: Value, day: Any) -> None:
    if value is None or value == "":
        return
    if isinstance(value, bool):
        sheet.write_boolean(row, at, value)
    elif isinstance(value, dt.date):
        sheet.write_datetime(row, at, dt.datetime(value.year, value.month, value.day), day)  # noqa: DTZ001
    elif isinstance(value, Decimal | int) and len(Decimal(value).as_tuple().digits) <= _SHEET_DIGITS:
        sheet.write_number(row, at, float(value))
    else:
        text = _text(value)
        if len(text) > _MOST_TEXT:
            raise FerruleError(f"a cell of {len(text):,} characters is too long for a workbook", "export CSV")
        sheet.write_string(row, at, text)


def parquet_bytes(table: OutTable) -> bytes:
    """Return a table as Parquet; raises FerruleError without pyarrow, and for a number that would be rounded."""
    library = _library("pyarrow", "Parquet")
    parquet = __import__("pyarrow.parquet", fromlist=["write_table"])
    types = {
        "string": library.string(),
        "number": library.decimal128(38, _SCALE),
        "integer": library.int64(),
        "boolean": library.bool_(),
        "date": library.date32(),
    }
    fields = [library.field(column.key, types[column.kind]) for column in table.columns]
    columns = [
        library.array([_cell(row[at], column) for row in table.rows], type=types[column.kind])
        for at, column in enumerate(table.columns)
    ]
    made = library.Table.from_arrays(columns, schema=library.schema(fields))
    buffer = io.BytesIO()
    parquet.write_table(made, buffer, compression="zstd")
    return buffer.getvalue()


def _cell(value: Value, column: OutColumn) -> Value:
    if value is None or column.kind != "number":
        return value
    if not isinstance(value, Decimal | int):
        raise FerruleError(f"{column.heading}: {value!r} is no number", "export CSV")
    number = Decimal(value)
    exponent = int(number.as_tuple().exponent)
    if -exponent > _SCALE or number.adjusted() >= 38 - _SCALE:
        raise FerruleError(
            f"{column.heading}: {plain(number)} does not fit a column of Parquet", "export CSV"
        )
    return number


def _library(name: str, what: str) -> Any:
    import importlib  # noqa: PLC0415  only what is asked for is imported

    try:
        return importlib.import_module(name)
    except ImportError:
        raise FerruleError(
            f"{what} needs {name}, which is not installed",
            f'pip install "ferrule[{_EXTRAS[name]}]", or export CSV',
        ) from None


_EXTRAS = {"xlsxwriter": "sheets", "pyarrow": "parquet"}
