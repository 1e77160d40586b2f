"""The door for other people's tables: bytes and a name in, sheets of typed cells out, and how they were read."""

from __future__ import annotations

from ferrule.exchange.delimited import DELIMITERS, read_columns
from ferrule.exchange.encodings import decode
from ferrule.exchange.grid import Book, SheetRefused
from ferrule.exchange.workbook import is_old_workbook, is_zip, read_workbook
from ferrule.model.text import quoted

__all__ = ["read_book"]

_MOST_BYTES = 64 * 1024 * 1024
_NOT_TABLES = {
    b"%PDF": "a PDF file",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"{\\rtf": "a rich text document",
    b"\x1f\x8b": "a gzip archive",
    b"7z\xbc\xaf": "a 7z archive",
    b"Rar!": "a RAR archive",
}


def read_book(data: bytes, file: str, *, encoding: str | None = None, delimiter: str | None = None) -> Book:
    """Return the sheets of a file; ``encoding`` and ``delimiter`` declare what is otherwise judged.

    The kind is told by the bytes, never by the name. Raises SheetRefused for what is no table, is locked or
    broken, or larger than 64 MiB (256 MiB unpacked, 6 million cells of a workbook, 300,000 lines of text).
    """
    if len(data) > _MOST_BYTES:
        raise SheetRefused(f"{quoted(file)} is larger than 64 MiB", "split it")
    for start, what in _NOT_TABLES.items():
        if data.startswith(start):
            raise SheetRefused(f"{quoted(file)} is {what}, no table", "export it as CSV or XLSX")
    if is_zip(data) or is_old_workbook(data):
        return read_workbook(data, file)
    return _text(data, file, encoding, delimiter)


def _text(data: bytes, file: str, encoding: str | None, delimiter: str | None) -> Book:
    decoded = decode(data, encoding)
    head = decoded.text[:2000].lstrip().casefold()
    if head.startswith(("<!doctype html", "<html", "<table", "<?xml")):
        raise SheetRefused(
            f"{quoted(file)} is a web page or XML, no table of cells",
            "open it in a spreadsheet and save it as XLSX",
        )
    if decoded.text.count("\0") > len(decoded.text) // 100 + 5:
        raise SheetRefused(f"{quoted(file)} is no text and no workbook we know", "export it as CSV or XLSX")
    columns = read_columns(decoded.text, "", delimiter)
    kind = (
        f"text separated by {DELIMITERS.get(columns.delimiter, quoted(columns.delimiter))}"
        if columns.delimiter
        else "text in fixed widths"
    )
    notes = [
        f"encoding {decoded.name}, {decoded.how}",
        f"{kind}, {columns.how}",
        *decoded.doubts,
        *columns.doubts[:20],
    ]
    return Book(
        file=file,
        form=f"{kind}, {decoded.name}",
        grids=(columns.grid,),
        notes=tuple(notes),
        delimiter=columns.delimiter,
    )
