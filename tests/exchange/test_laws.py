"""Laws of the recogniser on generated sheets and on bytes of any kind."""

from __future__ import annotations

import io
from collections import Counter
from decimal import Decimal
from typing import Any

import pytest
import xlsxwriter  # type: ignore[import-untyped]
from generator import make
from hypothesis import given, settings
from hypothesis import strategies as st

from ferrule.exchange.grid import SheetRefused
from ferrule.exchange.headings import wanted_mapping
from ferrule.exchange.recognise import recognise
from ferrule.exchange.recognised import Recognised
from ferrule.exchange.sheets import read_book

#: Sheets held to their truth here; tests/bench/import_recall.py reports on as many as wanted.
SHEETS = range(120)


@pytest.mark.parametrize("seed", SHEETS)
def test_generated_sheet_is_read_to_its_truth(seed: int) -> None:
    made = make(seed)
    found = recognise(made.data, made.name)
    counts = found.counts
    assert {(line.place.sheet, line.place.row) for line in found.lines} == made.lines, made.recipe
    assert (counts.quantity, counts.assemblies, counts.sources) == (
        made.quantity,
        made.assemblies,
        made.sources,
    ), made.recipe
    assert (counts.not_fitted, len(counts.left_out)) == (made.not_fitted, made.left_out), made.recipe
    differ = {(found.lines[at].place.sheet, found.lines[at].place.row) for at in counts.differ}
    assert differ == made.differ, made.recipe
    if made.cost is not None:
        assert sum(cost.by_price for cost in counts.costs) == made.cost, made.recipe
    if made.without_maker is not None:
        assert counts.without_maker is not None
        assert len(counts.without_maker) == made.without_maker, made.recipe


@pytest.mark.parametrize("seed", range(200, 240))
def test_every_filled_row_is_a_line_or_listed(seed: int) -> None:
    """Nothing is dropped in silence: rows of lines, of headings and set aside are all filled rows, once each."""
    made = make(seed)
    book = read_book(made.data, made.name)
    found = recognise(made.data, made.name)
    filled = {
        (grid.name, grid.numbers[at]) for grid in book.grids for at, row in enumerate(grid.rows) if any(row)
    }
    seen = [(line.place.sheet, line.place.row) for line in found.lines]
    seen += [(row.place.sheet, row.place.row) for row in found.aside]
    seen += [(table.sheet, row) for table in found.tables for row in table.heading_rows]
    assert set(seen) == filled, made.recipe
    if " side " not in made.recipe:
        assert max(Counter(seen).values()) == 1, made.recipe


TABLE = [
    ["Item", "Designator", "Qty", "Value", "Manufacturer", "MPN", "Unit price"],
    ["1", "R1, R2", "2", "10k", "Ashfield", "AF-103", "0.02"],
    ["2", "C1", "1", "1uF", "", "", "0.1"],
    ["3", "U1", "1", "AX33", "Tarn", "TN-3", "1.25"],
    ["", "", "4", "Total", "", "", ""],
]


def _delimited(mark: str) -> str:
    return "\n".join(mark.join(f'"{cell}"' if mark in cell else cell for cell in row) for row in TABLE) + "\n"


def _xlsx() -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_numbers": True})
    sheet = book.add_worksheet()
    for at, row in enumerate(TABLE):
        sheet.write_row(at, 0, row)
    book.close()
    return out.getvalue()


def _told(found: Recognised) -> Any:
    lines = [
        (
            line.place.row,
            line.item,
            line.value,
            line.designators,
            line.quantity.number,
            [(one.maker, one.maker_part, one.each()) for one in line.supplies],
        )
        for line in found.lines
    ]
    aside = [(row.place.row, row.kind) for row in found.aside]
    return lines, found.counts, aside, [(one.amount, one.agrees) for one in found.stated]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252", "cp932"])
@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_the_same_table_reads_the_same_in_every_form(mark: str, encoding: str) -> None:
    plain = recognise(_delimited(",").encode(), "parts.csv")
    assert plain.counts.lines == 3
    assert _told(recognise(_delimited(mark).encode(encoding), "parts.csv")) == _told(plain)
    assert _told(recognise(_xlsx(), "parts.csv")) == _told(plain)


@pytest.mark.parametrize("seed", range(300, 330))
def test_a_saved_mapping_changes_nothing(seed: int) -> None:
    made = make(seed)
    found = recognise(made.data, made.name)
    again = recognise(made.data, made.name, mapping=found.mapping())
    assert (again.lines, again.counts) == (found.lines, found.counts), made.recipe


def test_an_edited_mapping_wins_and_misspelt_ones_are_refused() -> None:
    mapping = {"column": [{"heading": "Value", "means": "name"}]}
    found = recognise(_delimited(",").encode(), "parts.csv", mapping=mapping)
    assert [line.name for line in found.lines] == ["10k", "1uF", "AX33"]
    with pytest.raises(SheetRefused, match="quantety") as refused:
        wanted_mapping({"column": [{"heading": "Qty", "means": "quantety"}]})
    assert "quantity" in refused.value.hint
    misspelt: list[dict[str, Any]] = [
        {"column": 3},
        {"column": [3]},
        {"column": [{"means": "part", "rank": 0}]},
    ]
    for broken in misspelt:
        with pytest.raises(SheetRefused):
            wanted_mapping(broken)


@settings(max_examples=150)
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        found = recognise(data, "parts.csv")
    except SheetRefused:
        return
    assert found.counts.lines == len(found.lines)


WRITTEN = [
    "R1",
    "R1-R9",
    "2",
    "1,5",
    "Total",
    "Qty",
    "Part",
    "n/a",
    "€1.20",
    "DNP",
    "=1+1",
    "1.1",
    "    x",
    '"',
    ",",
    "alt",
]
CELLS = st.one_of(st.text(max_size=12), st.sampled_from(WRITTEN))


def _plain(cell: str) -> str:
    return cell.translate({ord(mark): " " for mark in "\t\n\r"})


@settings(max_examples=150)
@given(st.lists(st.lists(CELLS, max_size=6), max_size=12))
def test_any_table_is_read_and_no_row_is_lost(table: list[list[str]]) -> None:
    lines = [["Ref", "Qty", "Value", "Maker"], *table]
    data = "\n".join("\t".join(map(_plain, row)) for row in lines).encode("utf-8", "replace")
    try:
        book = read_book(data, "parts.tsv", delimiter="\t")
        found = recognise(data, "parts.tsv", delimiter="\t")
    except SheetRefused:
        return
    filled = {
        number for grid in book.grids for number, row in zip(grid.numbers, grid.rows, strict=True) if any(row)
    }
    seen = {line.place.row for line in found.lines} | {row.place.row for row in found.aside}
    assert seen | {row for one in found.tables for row in one.heading_rows} == filled


def test_a_hundred_thousand_rows_are_read() -> None:
    lines = "".join(f"R{at},1,10k,AF-{at % 500}\n" for at in range(100_000))
    found = recognise(f"Ref,Qty,Value,MPN\n{lines}".encode(), "large.csv")
    assert (found.counts.lines, found.counts.quantity) == (100_000, Decimal(100_000))


def test_huge_cells_are_cut_and_hostile_ones_stay_text() -> None:
    data = (
        b"Ref,Qty,Value\nR1,1,"
        + b"x" * 2_000_000
        + b"\n=cmd|calc,1,@SUM(A1)\nC1,"
        + b"9" * 100_000
        + b",1u\n"
    )
    found = recognise(data, "hostile.csv")
    assert [len(line.value) for line in found.lines] == [32_767, 8, 2]
    assert found.lines[1].value == "@SUM(A1)"
    assert found.lines[2].quantity.number is None
