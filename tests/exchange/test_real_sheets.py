"""Six real parts lists against counts made by reading them; origin and licence in data/README.md."""

from __future__ import annotations

import io
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import openpyxl  # type: ignore[import-untyped]
import pytest
from msgspec import Struct

from ferrule.exchange.recognise import recognise
from ferrule.exchange.recognised import Recognised

DATA = Path(__file__).parent / "data"


class Truth(Struct, frozen=True, kw_only=True):
    """What a careful reader counted. Rows are those a spreadsheet shows, or the lines of a text file."""

    file: str
    head: str  # the first heading, to rename it
    lines: int
    quantity: str
    leaf_quantity: str = ""
    assemblies: int = 0
    differ: tuple[int, ...] = ()
    without_maker: int | None = None
    without_seller: int | None = None
    without_either: int | None = None
    without_link: int | None = None
    costs: tuple[tuple[str, str, str], ...] = ()
    tables: tuple[int, ...] = ()


TRUTHS = [
    # 23 + 6 lines; row 20 is 3 x 0.80 with a line total of 0.80, so the two sums differ by 1.60.
    Truth(
        file="01-circular-knitic.csv",
        head="description",
        lines=29,
        quantity="227.5",
        without_link=24,
        costs=(("EUR", "662.00", "660.40"),),
        tables=(29,),
    ),
    # Row 2 counts 23 nameless things without a designator.
    Truth(
        file="02-dela-eprommer.csv",
        head="Id",
        lines=25,
        quantity="63",
        differ=(2,),
        without_seller=25,
        without_either=25,
        tables=(25,),
    ),
    Truth(
        file="04-breeze-shield.csv",
        head="Line",
        lines=31,
        quantity="74",
        without_maker=21,
        without_seller=20,
        without_either=20,
        tables=(31,),
    ),
    Truth(
        file="20-respiraworks.csv",
        head="Component",
        lines=114,
        quantity="594",
        without_maker=3,
        without_either=3,
        tables=(114,),
    ),
    Truth(
        file="30-mlogger.xlsx",
        head="No.",
        lines=52,
        quantity="76",
        without_maker=2,
        without_either=2,
        without_link=1,
        tables=(27, 19, 6),
    ),
    # 137 leaves: 47 name a maker, 52 any maker, 38 to a drawing. The 22 assemblies name none.
    Truth(
        file="43-ventilator-fi5.xlsx",
        head="Number",
        lines=159,
        quantity="310",
        leaf_quantity="289",
        assemblies=22,
        differ=(79, 127),
        without_maker=22,
        without_either=22,
        tables=(159,),
    ),
]


def _recognised(name: str) -> Recognised:
    return recognise((DATA / name).read_bytes(), name)


def _many(places: tuple[int, ...] | None) -> int | None:
    return None if places is None else len(places)


@pytest.mark.parametrize("truth", TRUTHS, ids=lambda truth: truth.file)
def test_counts_are_those_of_a_careful_reader(truth: Truth) -> None:
    found = _recognised(truth.file)
    counts = found.counts
    assert (counts.lines, counts.assemblies) == (truth.lines, truth.assemblies)
    assert counts.quantity == Decimal(truth.quantity)
    assert counts.leaf_quantity == Decimal(truth.leaf_quantity or truth.quantity)
    assert tuple(found.lines[at].place.row for at in counts.differ) == truth.differ
    assert _many(counts.without_maker) == truth.without_maker
    assert _many(counts.without_seller) == truth.without_seller
    assert _many(counts.without_either) == truth.without_either
    assert _many(counts.without_link) == truth.without_link
    assert tuple((cost.currency, cost.by_price, cost.by_line_totals) for cost in counts.costs) == tuple(
        (currency, Fraction(price), Fraction(total)) for currency, price, total in truth.costs
    )
    assert tuple(table.lines for table in found.tables) == truth.tables


def test_stated_totals_are_held_against_the_lines() -> None:
    """Row 26 says 334.00; quantity times price above it is 335.00, its line totals add to 333.40."""
    first, second = _recognised("01-circular-knitic.csv").stated
    assert (first.place.row, first.amount, first.computed, first.by_line_totals, first.agrees) == (
        26, Decimal("334.00"), Fraction(335), Fraction("333.40"), False,
    )  # fmt: skip
    assert (second.place.row, second.amount, second.agrees) == (34, Decimal("327.00"), True)
    (components,) = _recognised("04-breeze-shield.csv").stated
    assert (components.of, components.amount, components.computed) == ("quantity", Decimal(74), Fraction(74))
    assert components.agrees is True


def test_section_and_preamble_are_listed() -> None:
    found = _recognised("01-circular-knitic.csv")
    assert [(row.place.row, row.kind) for row in found.aside] == [
        (1, "above"),
        (26, "total"),
        (27, "section"),
        (34, "total"),
    ]
    assert found.lines[-1].section == "Manufacturing"
    assert [row.place.row for row in _recognised("04-breeze-shield.csv").aside] == [1, 2, 3, 4, 5]


def test_sources_of_the_tree_are_told_apart() -> None:
    found = _recognised("43-ventilator-fi5.xlsx")
    leaves = [line for line in found.lines if not line.assembly]
    named = [line for line in leaves if any(supply.maker for supply in line.supplies)]
    assert (len(leaves), len(named), found.counts.any_maker, found.counts.to_drawing) == (137, 47, 52, 38)
    assert max(line.level or 0 for line in found.lines) == 6
    by_row = {line.place.row: line for line in found.lines}
    parent = by_row[79].parent
    assert parent is not None
    assert found.lines[parent].part == "VX-209547"
    assert by_row[160].parent is None  # the last row has no number and stands at the edge


def test_a_pair_is_no_range_where_the_quantity_says_so() -> None:
    found = _recognised("43-ventilator-fi5.xlsx")
    line = next(line for line in found.lines if line.place.row == 78)
    assert line.designators.names == ("S2", "S5")
    assert any(
        doubt.place == line.place and "four" not in doubt.what and "range" in doubt.what
        for doubt in found.doubts
    )


# --- every heading renamed to nonsense -------------------------------------------------------------------


def _nonsense(name: str, head: str) -> bytes:
    data = (DATA / name).read_bytes()
    if name.endswith(".xlsx"):
        book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
        for sheet in book.worksheets:
            for cell in sheet[1]:
                if cell.value:
                    cell.value = f"qz{cell.column}w"
        out = io.BytesIO()
        book.save(out)
        return out.getvalue()
    lines = data.decode("utf-8").split("\n")
    at = next(at for at, line in enumerate(lines) if line.strip('"').startswith(head))
    mark = ";" if ";" in lines[at] else ","
    lines[at] = mark.join(
        f'"qz{place}w"' if text.strip('"') else "" for place, text in enumerate(lines[at].split(mark))
    )
    return "\n".join(lines).encode()


@pytest.mark.parametrize("truth", TRUTHS, ids=lambda truth: truth.file)
def test_with_nonsense_headings_counts_hold_and_the_guess_is_said(truth: Truth) -> None:
    found = recognise(_nonsense(truth.file, truth.head), truth.file)
    counts = found.counts
    assert counts.lines == truth.lines
    assert counts.quantity == Decimal(truth.quantity)
    assert tuple(found.lines[at].place.row for at in counts.differ) == truth.differ
    assert tuple((cost.currency, cost.by_price) for cost in counts.costs) == tuple(
        (c, Fraction(p)) for c, p, _ in truth.costs
    )
    assert any("none of the headings is known" in doubt.what for doubt in found.doubts)
    guessed = {column.meaning for table in found.tables for column in table.columns if column.sure == "guess"}
    assert {"quantity"} <= guessed
    for meaning, count in (("maker", counts.without_maker), ("seller", counts.without_seller)):
        # What no column was found for is unknown, and said; it is never counted as present.
        assert count is None or meaning in guessed or "seller_part" in guessed
    if counts.without_maker is None and counts.without_seller is None:
        assert any("makers or sellers" in doubt.what for doubt in found.doubts)


@pytest.mark.parametrize("truth", TRUTHS, ids=lambda truth: truth.file)
def test_a_saved_mapping_gives_the_same_again_and_cures_nonsense(truth: Truth) -> None:
    found = _recognised(truth.file)
    saved = found.mapping()
    again = recognise((DATA / truth.file).read_bytes(), truth.file, mapping=saved)
    assert again.lines == found.lines
    assert all(column.sure == "given" for table in again.tables for column in table.columns)
    for row in saved["column"]:
        row["heading"] = ""
    cured = recognise(_nonsense(truth.file, truth.head), truth.file, mapping=saved)
    assert [(line.quantity, line.designators, line.supplies) for line in cured.lines] == [
        (line.quantity, line.designators, line.supplies) for line in found.lines
    ]


def test_formulas_nobody_computed_are_said_and_their_quantities_unread() -> None:
    """openpyxl drops stored results when it saves formulas: the quantities of this file are then unknown."""
    book = openpyxl.load_workbook(DATA / "30-mlogger.xlsx")
    out = io.BytesIO()
    book.save(out)
    found = recognise(out.getvalue(), "uncomputed.xlsx")
    assert any("no stored result" in note for note in found.notes)
    assert found.counts.lines == 52
