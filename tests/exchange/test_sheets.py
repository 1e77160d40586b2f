# ruff: noqa: RUF001 - words of other alphabets are data
"""Bytes into cells: encodings, separators, fixed widths, and files that are refused."""

from __future__ import annotations

import pytest

from ferrule.exchange.grid import SheetRefused
from ferrule.exchange.recognise import recognise
from ferrule.exchange.sheets import read_book

GERMAN = "Menge;Bezeichnung;Gehäuse;Preis\n2;Müllbeutel groß;größer;0,45 €\n1;Öse für Kabel;früh;1,20 €\n"
CZECH = "Množství;Název;Výrobce;Poznámka\n2;Šroub s čočkovou hlavou;Tarn;žádná\n1;Příruba;Korvel;příště\n"
RUSSIAN = "Кол-во;Наименование;Производитель\n2;Винт с потайной головкой;Тарн\n1;Гайка;Корвел\n"
JAPANESE = "数量,品名,メーカー,備考\n2,抵抗器,タルン,なし\n1,コンデンサ,コルベル,未実装\n"
CHINESE = "数量,名称,制造商,备注\n2,电阻器,塔恩,无\n1,电容器,科维尔,不贴\n"


@pytest.mark.parametrize(
    ("text", "encoding", "said"),
    [
        (GERMAN, "cp1252", "Windows-1252"), (CZECH, "cp1250", "Windows-1250"), (RUSSIAN, "cp1251", "Windows-1251"), (JAPANESE, "cp932", "Shift-JIS"),
        (CHINESE, "gb18030", "GB 18030"), (JAPANESE, "utf-16", "UTF-16"), (GERMAN, "utf-16-le", "UTF-16 little-endian, detected"),
        (GERMAN, "utf-16-be", "UTF-16 big-endian, detected"), (RUSSIAN, "utf-8-sig", "UTF-8, declared by its byte order mark"), (JAPANESE, "utf-8", "UTF-8, detected"),
        (RUSSIAN, "cp866", "866"), (RUSSIAN, "koi8_r", "KOI8-R"), (JAPANESE, "euc_jp", "EUC-JP"), (GERMAN.replace("€", "E"), "cp850", "850"),
    ],
)  # fmt: skip
def test_encodings_are_told_and_said(text: str, encoding: str, said: str) -> None:
    book = read_book(text.encode(encoding), "parts.csv")
    assert said in book.notes[0]
    rows = [[cell.text for cell in row] for row in book.grids[0].rows]
    mark = ";" if ";" in text else ","
    assert rows == [line.split(mark) for line in text.splitlines()]


def test_a_declared_encoding_wins_and_is_said() -> None:
    book = read_book(GERMAN.encode("cp1252"), "parts.csv", encoding="cp1252")
    assert book.notes[0] == "encoding cp1252, declared"
    with pytest.raises(SheetRefused, match="not utf-8"):
        read_book(GERMAN.encode("cp1252"), "parts.csv", encoding="utf-8")
    for name in ("klingon", "base64", "zip"):
        with pytest.raises(SheetRefused):
            read_book(b"a,b", "parts.csv", encoding=name)


def test_quotes_line_breaks_and_row_numbers() -> None:
    grid = read_book(b'Ref,Qty\r\n"C1,\r\nC2",2\r\n\r\n"say ""hi""",1\r\n', "parts.csv").grids[0]
    assert [[cell.text for cell in row] for row in grid.rows if any(row)] == [
        ["Ref", "Qty"],
        ["C1,\nC2", "2"],
        ['say "hi"', "1"],
    ]
    assert [number for number, row in zip(grid.numbers, grid.rows, strict=True) if any(row)] == [1, 2, 5]


def test_a_quote_never_closed_swallows_nothing() -> None:
    book = read_book(b'Part,Qty\n"6 inch nail,4\nScrew,2\nNut,1\n', "parts.csv")
    assert len(book.grids[0].rows) == 4
    assert "line 2" in book.notes[-1]


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_separators_are_told(mark: str) -> None:
    lines = [["Ref", "Qty", "Note"], ["R1", "1", "a; b, c"], ["R2", "1", "x"], ["C1", "2", ""]]
    text = "\n".join(mark.join(f'"{cell}"' if mark in cell else cell for cell in line) for line in lines)
    book = read_book(text.encode(), "parts.txt")
    assert book.delimiter == mark
    assert [cell.text for cell in book.grids[0].rows[1]] == ["R1", "1", "a; b, c"]


def test_fixed_widths_with_wide_characters() -> None:
    text = "品名          数量  備考\n抵抗器        10    なし\nコンデンサ    2\nSpacer 10 mm  4     x\n"
    book = read_book(text.encode(), "parts.txt")
    assert "fixed widths" in book.form
    assert [[cell.text for cell in row] for row in book.grids[0].rows][1:] == [
        ["抵抗器", "10", "なし"],
        ["コンデンサ", "2", ""],
        ["Spacer 10 mm", "4", "x"],
    ]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"%PDF-1.7", "PDF"), (b"\x89PNG\r\n", "picture"), (b"<html><table>", "web page"), (b"\0" * 4000, "no text"), (b"PK\x03\x04abc", "unpacked"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 4000, "cannot be read"), (b"a," * 5000, "columns"), (b"\n" * 400_000, "lines"),
    ],
)  # fmt: skip
def test_what_is_no_table_is_refused_with_the_reason(data: bytes, said: str) -> None:
    with pytest.raises(SheetRefused, match=said):
        read_book(data, "parts.csv")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\n\n",
        b"   ",
        b"hello",
        b"a,b,c",
        b"Part,Qty\n",
        b"\xff\xfe",
        b"\xef\xbb\xbf",
        b"1\n2\n3\n",
        b'"',
        b",,,,",
    ],
)
def test_nothing_to_find_is_no_error_and_said(data: bytes) -> None:
    found = recognise(data, "parts.csv")
    assert found.counts.lines == 0
    assert any("no list of parts" in doubt.what for doubt in found.doubts)
