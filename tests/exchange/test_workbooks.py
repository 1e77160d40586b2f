"""Workbooks: what formats say, hidden and merged cells, formulas, and bombs."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
import xlsxwriter  # type: ignore[import-untyped]

from ferrule.exchange.grid import SheetRefused
from ferrule.exchange.marks import look_of
from ferrule.exchange.recognise import recognise
from ferrule.exchange.sheets import read_book


def workbook(fill: Callable[[Any], None]) -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    fill(book)
    book.close()
    return out.getvalue()


def rows(*lines: list[Any]) -> Callable[[Any], None]:
    def fill(book: Any) -> None:
        sheet = book.add_worksheet("Parts")
        for at, line in enumerate(lines):
            sheet.write_row(at, 0, line)

    return fill


@pytest.mark.parametrize(
    ("code", "currency", "unit", "zeros"),
    [
        ("[$€-407] #,##0.00", "EUR", "", 0), ('#,##0.00 "€"', "EUR", "", 0), ("[$USD] 0.00", "USD", "", 0), ('"CHF" 0.00', "CHF", "", 0), ("$#,##0.00", "USD", "", 0),
        ('0.00 "m"', "", "m", 0), ('0" pcs"', "", "each", 0), ("00000", "", "", 5), ("General", "", "", 0), ("#,##0.00_);[Red](#,##0.00)", "", "", 0),
    ],
)  # fmt: skip
def test_formats_say_currency_unit_and_zeros(code: str, currency: str, unit: str, zeros: int) -> None:
    look = look_of(code)
    assert (look.currency, look.unit, look.zeros) == (currency, unit, zeros)


def test_cell_formats_reach_lines() -> None:
    """2.5 + 4 x 0.1 + 1.5 x 3 = 7.4 EUR."""

    def fill(book: Any) -> None:
        sheet = book.add_worksheet("Parts")
        euro, zeros, metres = (
            book.add_format({"num_format": code}) for code in ('0.00 "€"', "00000", '0.0 "m"')
        )
        struck = book.add_format({"font_strikeout": True})
        sheet.write_row(0, 0, ["Part number", "Description", "Qty", "Unit price"])
        parts = [(123, "Frame", 1, 2.5), (124, "Beam", 4, 0.1), (125, "Wire", 1.5, 3)]
        for at, (number, name, qty, price) in enumerate(parts, 1):
            sheet.write_number(at, 0, number, zeros)
            sheet.write_string(at, 1, name, struck if name == "Wire" else None)
            sheet.write_number(at, 2, qty, metres if name == "Wire" else None)
            sheet.write_number(at, 3, price, euro)

    found = recognise(workbook(fill), "formats.xlsx")
    assert [line.part for line in found.lines] == ["00123", "00124", "00125"]
    assert [line.quantity.unit for line in found.lines] == ["", "", "m"]
    assert [(cost.currency, cost.by_price) for cost in found.counts.costs] == [("EUR", Fraction("7.4"))]
    assert any(
        "struck through" in doubt.what and doubt.place == found.lines[2].place for doubt in found.doubts
    )


def test_indentation_by_format_is_a_level() -> None:
    def fill(book: Any) -> None:
        rows(["Part", "Qty", "Maker"], ["Frame", 1, ""], ["Cover", 1, "Mill"])(book)
        sheet = book.get_worksheet_by_name("Parts")
        for row, name in ((2, "Beam"), (3, "Foot")):
            sheet.write_row(row, 0, [name, 2, "Korvel"], book.add_format({"indent": 1}))

    found = recognise(workbook(fill), "indent.xlsx")
    assert [(line.name, line.parent) for line in found.lines] == [("Frame", None), ("Beam", 0), ("Foot", 0)]


def test_hidden_sheets_are_listed_and_hidden_rows_read_and_said() -> None:
    def fill(book: Any) -> None:
        for name in ("Parts", "Old"):
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, ["Ref", "Qty", "Value"])
            sheet.write_row(1, 0, ["R1", 1, "10k"])
            sheet.write_row(2, 0, ["R2", 1, "1k"])
        book.get_worksheet_by_name("Parts").set_row(2, None, None, {"hidden": True})
        book.get_worksheet_by_name("Old").hide()

    found = recognise(workbook(fill), "hidden.xlsx")
    assert found.counts.lines == 2
    assert found.sheets_aside == (("Old", "hidden"),)
    assert any("1 hidden rows were read" in note for note in found.notes)


def test_merged_cells_are_sources_and_section_titles() -> None:
    def fill(book: Any) -> None:
        sheet = book.add_worksheet("Parts")
        plain = book.add_format()
        sheet.merge_range(0, 0, 0, 4, "Weather station", plain)
        sheet.write_row(1, 0, ["Item", "Qty", "Description", "Manufacturer", "MPN"])
        sheet.merge_range(2, 0, 2, 4, "Electronics", plain)
        sheet.write_row(3, 3, ["Ashfield", "AF-1"])
        sheet.write_row(4, 3, ["Korvel", "KV-1"])
        for column, value in enumerate((1, 2, "Resistor")):
            sheet.merge_range(3, column, 4, column, value, plain)
        sheet.write_row(5, 0, [2, 1, "Cap"])
        sheet.write_row(6, 0, [3, 1, "Coil"])
        sheet.merge_range(5, 3, 6, 3, "Tarn", plain)
        sheet.write_column(5, 4, ["TN-1", "TN-2"])

    found = recognise(workbook(fill), "merged.xlsx")
    assert [(line.item, len(line.supplies), line.section) for line in found.lines] == [
        ("1", 2, "Electronics"), ("2", 1, "Electronics"), ("3", 1, "Electronics"),
    ]  # fmt: skip
    assert found.lines[2].supplies[0].maker == "Tarn"  # written once for both rows
    assert found.counts.quantity == 4


def test_grouped_rows_are_levels() -> None:
    def fill(book: Any) -> None:
        rows(
            ["Part", "Qty", "Maker"],
            ["Frame", 1, ""],
            ["Beam", 2, "Korvel"],
            ["Foot", 4, "Mill"],
            ["Cover", 1, "Mill"],
        )(book)
        for row in (2, 3):
            book.get_worksheet_by_name("Parts").set_row(row, None, None, {"level": 1})

    found = recognise(workbook(fill), "grouped.xlsx")
    assert [line.parent for line in found.lines] == [None, 0, 0, None]
    assert any("grouped rows" in doubt.what for doubt in found.doubts)


def test_formulas_are_never_run() -> None:
    def fill(book: Any) -> None:
        sheet = book.add_worksheet("Parts")
        sheet.write_row(0, 0, ["Ref", "Qty", "Value"])
        sheet.write_row(1, 0, ["R1", 3, "10k"])
        sheet.write_row(2, 0, ["R2"])
        sheet.write_formula(2, 1, "=B2*2", None, 6)
        sheet.write_string(2, 2, '=HYPERLINK("x")')

    found = recognise(workbook(fill), "formulas.xlsx")
    assert [line.quantity.number for line in found.lines] == [3, 6]
    assert found.lines[1].value == '=HYPERLINK("x")'


def test_numbers_are_what_the_screen_shows() -> None:
    data = workbook(rows(["Part", "Qty", "Price"], ["A", 0.1 + 0.2, 1.1], ["B", 2.0, 0.0062]))
    cells = [[cell.text for cell in row] for row in read_book(data, "n.xlsx").grids[0].rows]
    assert cells[1:] == [["A", "0.3", "1.1"], ["B", "2", "0.0062"]]


def test_a_cell_in_the_last_corner_is_refused_before_it_is_laid_out() -> None:
    def fill(book: Any) -> None:
        rows(["Ref", "Qty"], ["R1", 1])(book)
        book.get_worksheet_by_name("Parts").write(1_048_575, 16_383, "x")

    with pytest.raises(SheetRefused, match="17,179,869,184 cells"):
        read_book(workbook(fill), "corner.xlsx")


def test_bombs_and_broken_archives_are_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b" " * (300 * 1024 * 1024))
    with pytest.raises(SheetRefused, match="256 MiB"):
        read_book(out.getvalue(), "bomb.xlsx")
    whole = workbook(rows(["Ref", "Qty"], ["R1", 1]))
    for cut in range(100, len(whole), 700):
        with pytest.raises(SheetRefused):
            read_book(whole[:cut], "cut.xlsx")


def test_bytes_changed_at_random_are_read_or_refused() -> None:
    whole = workbook(rows(["Ref", "Qty", "Value"], ["R1", 1, "10k"], ["C1", 2, "1u"]))
    refused = 0
    for at in range(40, len(whole), 37):
        broken = bytearray(whole)
        broken[at] ^= 0x5A
        try:
            recognise(bytes(broken), "broken.xlsx")
        except SheetRefused:
            refused += 1
    assert refused


def test_entity_bombs_do_not_expand() -> None:
    whole = workbook(rows(["Ref", "Qty"], ["R1", 1]))
    entities = "".join(f'<!ENTITY a{at} "{f"&a{at - 1};" * 10}">' for at in range(1, 12))
    sheet = (
        '<worksheet><sheetData><row r="1"><c r="A1" t="str"><v>&a11;</v></c></row></sheetData></worksheet>'
    )
    bomb = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "ha">{entities}]>{sheet}'
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as old, zipfile.ZipFile(out, "w") as new:
        for entry in old.namelist():
            new.writestr(entry, bomb if entry.endswith("sheet1.xml") else old.read(entry))
    with pytest.raises(SheetRefused):
        read_book(out.getvalue(), "entities.xlsx")


_NAMES = "urn:oasis:names:tc:opendocument:xmlns"
_ODS = f"""<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="{_NAMES}:office:1.0" xmlns:table="{_NAMES}:table:1.0" xmlns:text="{_NAMES}:text:1.0"
 office:version="1.2"><office:body><office:spreadsheet><table:table table:name="Parts">ROWS
<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:number-columns-repeated="1024"/></table:table-row>
</table:table></office:spreadsheet></office:body></office:document-content>"""
_MANIFEST = f'<?xml version="1.0"?><manifest:manifest xmlns:manifest="{_NAMES}:manifest:1.0"/>'


def _ods_cell(value: Any, repeat: int) -> str:
    kind, text = 'office:value-type="string"', value
    if isinstance(value, tuple):
        text = value[0]
        kind = f'office:value-type="currency" office:currency="{value[1]}" office:value="{text}"'
    elif isinstance(value, int):
        kind = f'office:value-type="float" office:value="{value}" table:number-columns-repeated="{repeat}"'
    return f"<table:table-cell {kind}><text:p>{text}</text:p></table:table-cell>"


def _ods(lines: list[list[Any]], repeat: int = 1) -> bytes:
    body = "".join(
        f"<table:table-row>{''.join(_ods_cell(cell, repeat) for cell in line)}</table:table-row>"
        for line in lines
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", _ODS.replace("ROWS", body))
        archive.writestr("META-INF/manifest.xml", _MANIFEST)
    return out.getvalue()


def test_ods_with_its_currencies_and_endless_empty_rows() -> None:
    data = _ods([["Part", "Qty", "Unit price"], ["Motor", 2, ("3.5", "EUR")], ["Belt", 1, ("1", "EUR")]])
    found = recognise(data, "parts.ods")
    assert (found.counts.lines, found.counts.quantity) == (2, Decimal(3))
    assert [(cost.currency, cost.by_price) for cost in found.counts.costs] == [("EUR", Fraction(8))]


def test_ods_cells_repeated_without_end_are_refused() -> None:
    with pytest.raises(SheetRefused, match="cells"):
        read_book(_ods([["Part", "Qty"], ["Motor", 2]], repeat=1_000_000_000), "wide.ods")
