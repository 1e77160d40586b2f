"""Workbooks: the values by python-calamine; what it does not tell (formats, levels, hidden rows) from the XML.

Before calamine sees a byte the file is unpacked here under a bound and the extent of every sheet is measured,
because a sheet with one cell in its last corner would be laid out in full.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
import zlib
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import partial
from typing import Any
from xml.parsers import expat

from msgspec import Struct

from ferrule.exchange.grid import BLANK, LONGEST_CELL, Book, Cell, Grid, SheetRefused, make_cell
from ferrule.exchange.marks import Look, SheetMarks, read_sheet_marks, read_styles
from ferrule.model.currencies import MINOR_UNITS

__all__ = ["is_old_workbook", "is_zip", "read_workbook"]

_ZIP = b"PK\x03\x04"
_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_UNPACKED = 256 * 1024 * 1024
_ENTRIES = 5_000
_CELLS = 6_000_000
#: Repeated cells whose marks are kept one by one.
_FEW = 20_000
_OLD_BYTES = 32 * 1024 * 1024
_MACROS = "it holds macros: they are not run and not kept"


def is_zip(data: bytes) -> bool:
    """Return whether the bytes start like a zipped workbook."""
    return data.startswith(_ZIP)


def is_old_workbook(data: bytes) -> bool:
    """Return whether the bytes start like a workbook of before 2007, or an encrypted one."""
    return data.startswith(_OLD)


def read_workbook(data: bytes, file: str) -> Book:
    """Return the sheets of an XLSX, XLSM, ODS or old XLS file; raises SheetRefused with the reason."""
    if is_old_workbook(data):
        if len(data) > _OLD_BYTES:
            raise SheetRefused("the workbook is larger than 32 MiB", "save it as XLSX")
        return _read(data, file, "XLS workbook", None, ("cell formats are not read from this form",))
    unpacked = _unpack(data)
    if "content.xml" in unpacked:
        return _read(data, file, "ODS workbook", _ods_marks(unpacked["content.xml"]), ())
    if any(name.endswith(".bin") and name.startswith("xl/worksheets/") for name in unpacked):
        raise SheetRefused("this is a binary workbook (XLSB)", "save it as XLSX or CSV")
    if "xl/workbook.xml" not in unpacked:
        raise SheetRefused(
            "the file is a zip archive, but no workbook we know", "save it as XLSX, ODS or CSV"
        )
    notes = (_MACROS,) if any("vbaProject" in name for name in unpacked) else ()
    marks = _xlsx_marks(unpacked)
    return _read(data, file, "XLSX workbook", marks, notes)


def _unpack(data: bytes) -> dict[str, bytes]:
    """Return the XML parts of an archive, under a bound on what they unpack to."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            kept = _entries(archive)
    except (
        zipfile.BadZipFile,
        zlib.error,
        NotImplementedError,
        RuntimeError,
        OSError,
        ValueError,
        EOFError,
    ) as error:
        raise SheetRefused(f"the workbook cannot be unpacked: {error}", "open it and save it again") from None
    if kept is None:
        raise SheetRefused("the workbook unpacks to more than 256 MiB", "split it, or save it as CSV")
    return kept


def _entries(archive: zipfile.ZipFile) -> dict[str, bytes] | None:
    """Return the XML parts, or None over the bound; what the archive says of sizes is not believed."""
    entries = archive.infolist()
    if len(entries) > _ENTRIES or sum(entry.file_size for entry in entries) > _UNPACKED:
        return None
    kept: dict[str, bytes] = {}
    left = _UNPACKED
    for entry in entries:
        with archive.open(entry) as opened:
            content = opened.read(left + 1)
        left -= len(content)
        if left < 0:
            return None
        kept[entry.filename] = content if entry.filename.endswith((".xml", ".rels")) else b""
    return kept


def _xlsx_marks(unpacked: Mapping[str, bytes]) -> dict[str, SheetMarks]:
    """Return what calamine does not tell, by name of the sheet; raises SheetRefused on bounds."""
    looks = _safely(lambda: read_styles(unpacked.get("xl/styles.xml", b"")), [])
    paths = _safely(lambda: _sheet_paths(unpacked), {})
    found: dict[str, SheetMarks] = {}
    cells = 0
    for name, path in paths.items():
        marks = _safely(partial(read_sheet_marks, unpacked.get(path, b""), looks), None)
        if marks is None:
            raise SheetRefused(f"the sheet {name!r} is no sound XML", "open the file and save it again")
        cells += marks.rows * marks.columns
        if cells > _CELLS:
            raise SheetRefused(
                f"the sheets go over {cells:,} cells, empty ones between included; we read {_CELLS:,}",
                "delete cells far outside the table, or save the sheet as CSV",
            )
        found[name] = marks
    return found


def _safely(read: Callable[[], Any], otherwise: Any) -> Any:
    try:
        return read()
    except (expat.ExpatError, UnicodeError, ValueError, KeyError):
        return otherwise


def _sheet_paths(unpacked: Mapping[str, bytes]) -> dict[str, str]:
    """Return the part of each sheet by its name."""
    targets: dict[str, str] = {}

    def relation(tag: str, given: dict[str, str]) -> None:
        if tag.endswith("Relationship"):
            target = given.get("Target", "")
            targets[given.get("Id", "")] = target.lstrip("/") if target.startswith("/") else f"xl/{target}"

    sheets: dict[str, str] = {}

    def sheet(tag: str, given: dict[str, str]) -> None:
        if tag.rpartition(":")[2] == "sheet":
            ident = next((value for key, value in given.items() if key.rpartition(":")[2] == "id"), "")
            sheets[given.get("name", "")] = ident

    _walk(unpacked.get("xl/_rels/workbook.xml.rels", b""), relation)
    _walk(unpacked["xl/workbook.xml"], sheet)
    return {name: targets[ident] for name, ident in sheets.items() if ident in targets}


def _walk(xml: bytes, start: Callable[[str, dict[str, str]], None]) -> None:
    if xml:
        parser = expat.ParserCreate()
        parser.StartElementHandler = start
        parser.Parse(xml, True)  # noqa: FBT003  expat takes it by place only


class _Extent(Struct):
    """Where in an ODS sheet we are, and what was seen."""

    marks: SheetMarks
    row: int = 0
    column: int = 0
    repeat: int = 1


def _ods_marks(xml: bytes) -> dict[str, SheetMarks]:
    """Return extent, currencies and hidden rows by sheet; raises SheetRefused over the bound."""
    found: dict[str, _Extent] = {}
    now = _Extent(SheetMarks())

    def start(tag: str, given: dict[str, str]) -> None:
        nonlocal now
        if tag == "table:table":
            now = found.setdefault(given.get("table:name", ""), _Extent(SheetMarks()))
            now.repeat = 0
        elif tag == "table:table-row":
            now.row += now.repeat
            now.repeat, now.column = _repeat(given, "rows"), 0
            if given.get("table:visibility") in {"collapse", "filter"} and now.repeat < _FEW:
                now.marks.hidden.update(range(now.row, now.row + now.repeat))
        elif tag in {"table:table-cell", "table:covered-table-cell"}:
            _ods_cell(now, given)

    try:
        _walk(xml, start)
    except (expat.ExpatError, ValueError) as error:
        raise SheetRefused(f"the workbook is no sound XML: {error}", "open it and save it again") from None
    if sum(extent.marks.rows * extent.marks.columns for extent in found.values()) > _CELLS:
        raise SheetRefused(f"the sheets go over more than {_CELLS:,} cells", "save the sheet as CSV")
    for extent in found.values():
        extent.marks.hidden = {row for row in extent.marks.hidden if row < extent.marks.rows}
    return {name: extent.marks for name, extent in found.items()}


def _repeat(given: Mapping[str, str], what: str) -> int:
    return max(1, min(int(given.get(f"table:number-{what}-repeated", "1")), 1 << 40))


def _ods_cell(now: _Extent, given: Mapping[str, str]) -> None:
    many = _repeat(given, "columns")
    if "office:value-type" in given:
        marks = now.marks
        marks.rows = max(marks.rows, now.row + now.repeat)
        marks.columns = max(marks.columns, now.column + many)
        currency = given.get("office:currency", "")
        if currency in MINOR_UNITS and many * now.repeat < _FEW:
            for row in range(now.row, now.row + now.repeat):
                for column in range(now.column, now.column + many):
                    marks.looks[row, column] = Look(currency)
    now.column += many


class _Calamine:
    """The library that reads values; a fault or panic of it becomes a refusal."""

    def __init__(self, data: bytes) -> None:
        try:
            import python_calamine  # noqa: PLC0415  only a workbook needs it
        except ImportError:
            hint = 'pip install "ferrule[sheets]", or save the sheet as CSV'
            raise SheetRefused(
                "workbooks are read with python-calamine, which is not installed", hint
            ) from None
        self.library = python_calamine
        self.book = self.guarded(lambda: python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)))

    def guarded(self, read: Callable[[], Any]) -> Any:
        """Return what ``read`` returns; raises SheetRefused where the library fails."""
        try:
            return read()
        except self.library.PasswordError:
            raise SheetRefused("the workbook is locked with a password", "save it without one") from None
        except (KeyboardInterrupt, SystemExit):
            raise
        except BaseException as error:  # noqa: BLE001  a panic of the library is no Exception
            raise SheetRefused(f"the workbook cannot be read: {error}", "open it and save it again") from None

    def left_aside(self, info: Any) -> str:
        """Return why a sheet is not read, empty if it is."""
        if info.typ != self.library.SheetTypeEnum.WorkSheet:
            return "not a sheet of cells"
        return "" if info.visible == self.library.SheetVisibleEnum.Visible else "hidden"

    def cells(self, name: str) -> tuple[list[list[Any]], list[tuple[int, int, int, int]]]:
        """Return the values of a sheet and its merged ranges."""
        sheet = self.guarded(lambda: self.book.get_sheet_by_name(name))
        values = self.guarded(lambda: sheet.to_python(skip_empty_area=False))
        return values, [
            (*first, *last) for first, last in self.guarded(lambda: sheet.merged_cell_ranges) or ()
        ]


def _read(
    data: bytes, file: str, form: str, marks: Mapping[str, SheetMarks] | None, notes: tuple[str, ...]
) -> Book:
    """Return the sheets; ``marks`` has the measure of every sheet, or is None where it cannot be taken."""
    library = _Calamine(data)
    grids: list[Grid] = []
    aside: list[tuple[str, str]] = []
    said = list(notes)
    for info in library.book.sheets_metadata:
        why = library.left_aside(info) or (
            "its extent is not known" if marks is not None and info.name not in marks else ""
        )
        if not why:
            try:
                values, merged = library.cells(info.name)
            except SheetRefused as error:
                why = error.message
        if why:
            aside.append((info.name, why))
            continue
        look = (marks or {}).get(info.name) or SheetMarks()
        said += look.notes(info.name)
        grids.append(_grid(info.name, values, merged, look))
    return Book(file=file, form=form, grids=tuple(grids), notes=tuple(said), aside=tuple(aside))


def _grid(
    name: str, values: list[list[Any]], merged: list[tuple[int, int, int, int]], marks: SheetMarks
) -> Grid:
    known: dict[Any, Cell] = {"": BLANK}
    rows: list[tuple[Cell, ...]] = []
    for at, row in enumerate(values):
        cells: list[Cell] = []
        for column, value in enumerate(row):
            look = marks.looks.get((at, column)) if marks.looks else None
            if look is None:
                key = (type(value), value)
                cell = known.get(key)
                if cell is None:
                    cell = known[key] = _cell(value)
            else:
                cell = _dressed(_cell(value), look)
            cells.append(cell)
        rows.append(tuple(cells))
    while rows and not any(rows[-1]):
        rows.pop()
    return Grid(
        name=name,
        rows=tuple(rows),
        numbers=tuple(range(1, len(rows) + 1)),
        merged=tuple(merged),
        hidden=frozenset(marks.hidden),
        outline=dict(marks.outline),
    )


def _cell(value: Any) -> Cell:
    if isinstance(value, bool):
        return Cell("TRUE" if value else "FALSE")
    if isinstance(value, int | float):
        return _number(value)
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return Cell(value.date().isoformat())
    if isinstance(value, dt.date | dt.datetime | dt.time):
        return Cell(value.isoformat())
    return BLANK if value is None else make_cell(str(value)[: LONGEST_CELL + 1])


def _number(value: float) -> Cell:
    """Return a number as it was most likely typed: 2.0 is 2, and 0.1 + 0.2 is 0.3 as the screen shows it."""
    exact = Decimal(repr(value))
    if not exact.is_finite():
        return BLANK
    short = Decimal(f"{value:.15g}")
    shown = short if len(exact.as_tuple().digits) > 15 else exact
    number = shown.to_integral_value() if shown == shown.to_integral_value() else shown.normalize()
    if abs(number.adjusted()) > 30:
        return Cell(str(number))
    return Cell(format(number, "f"), number)


def _dressed(cell: Cell, look: Look) -> Cell:
    """Return a cell with what its format adds to it."""
    if not cell:
        return cell
    text = cell.text
    if cell.number is not None and look.zeros and re.fullmatch(r"[0-9]+", text):
        text = text.zfill(look.zeros)
    return Cell(
        text,
        cell.number,
        look.currency if cell.number is not None else "",
        look.unit if cell.number is not None else "",
        cell.indent or look.indent,
        look.struck,
    )
