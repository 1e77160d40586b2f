from __future__ import annotations

import csv
import io
import itertools
import json
import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.model.columns import width, wrap
from ferrule.model.text import visible
from ferrule.render.document import as_csv, as_dict, as_json, as_text
from ferrule.render.terminal import console
from ferrule.report.document import Amount, Cell, Column, Document, Share, Table

COLUMNS = (
    Column("part", "part"),
    Column("name", "name"),
    Column("bound", ""),
    Column("quantity", "quantity", "number"),
    Column("unit", "unit"),
)
ROWS: tuple[tuple[Cell, ...], ...] = (
    ("R-1", "resistor 10 kΩ", "", Decimal(12), "each"),
    ("W-1", "電源線", "", Decimal("0.125"), "m"),
    ("C-9", None, "", None, "each"),
    ("G-1", "adhesive, two parts, for the housing and the lid", "", Decimal("1000.50"), "g"),
)


def document(*rows: tuple[Cell, ...], notes: tuple[str, ...] = ()) -> Document:
    return Document(
        key="explode",
        title="W20 desk lamp",
        facts=(("assembly", "W20"), ("quantity", Decimal("1E+2"))),
        tables=(Table(key="parts", columns=COLUMNS, rows=rows, notes=("exact",)),),
        notes=notes,
        cautions=("rates are of 2026-10-01",),
    )


def text(made: Document, columns: int | None = None) -> str:
    return "".join(f"{line}\n" for line in as_text(made, columns))


def test_a_document_as_text() -> None:
    assert text(document(*ROWS)) == (
        "W20 desk lamp\n"
        "assembly: W20\n"
        "quantity: 100\n"
        "\n"
        "part  name                                              quantity  unit\n"
        "----  ------------------------------------------------  --------  ----\n"
        "R-1   resistor 10 kΩ                                      12      each\n"
        "W-1   電源線                                               0.125  m\n"
        "C-9   ?                                                    ?      each\n"
        "G-1   adhesive, two parts, for the housing and the lid  1000.50   g\n"
        "exact\n"
        "\n"
        "? = not known\n"
        "rates are of 2026-10-01\n"
    )


def test_a_narrow_terminal_wraps_text_and_keeps_numbers() -> None:
    lines = text(document(*ROWS), 44).splitlines()
    assert lines[4:13] == [
        "part  name                    quantity  unit",
        "----  ----------------------  --------  ----",
        "R-1   resistor 10 kΩ            12      each",
        "W-1   電源線                     0.125  m",
        "C-9   ?                          ?      each",
        "G-1   adhesive, two parts,    1000.50   g",
        "      for the housing and",
        "      the lid",
        "exact",
    ]


def test_no_legend_where_everything_is_known() -> None:
    assert "not known" not in text(document(ROWS[0]))


def test_a_column_without_heading_is_shown_where_it_says_something() -> None:
    made = text(document(("R-1", "resistor", "at least", Decimal(1), "each")))
    assert "R-1   resistor  at least         1  each\n" in made


@pytest.mark.parametrize("columns", [80, 160, None])
def test_nothing_is_cut_at_any_width(columns: int | None) -> None:
    long = "GRM-155R71C104KA88D " * 12
    made = text(document(("R-1", long.strip(), "", Decimal(1), "each"), notes=(long.strip(),)), columns)
    assert made.count("GRM-155R71C104KA88D") == 24
    if columns is not None:
        assert max(map(width, made.splitlines())) <= columns


def endless() -> Iterator[tuple[Cell, ...]]:
    for number in itertools.count(1):
        yield (1 + number % 3, f"P-{number}", Decimal(number) / 2)


def outline(rows: Iterator[tuple[Cell, ...]]) -> Document:
    columns = (
        Column("level", "level", "number"),
        Column("part", "part"),
        Column("quantity", "each", "number"),
    )
    return Document(
        key="tree", title="Tree", tables=(Table(key="lines", columns=columns, rows=rows, depth=0),)
    )


def test_an_outline_is_indented_and_lined_up() -> None:
    rows: list[tuple[Cell, ...]] = [
        (1, "A", Decimal(1)),
        (2, "B", Decimal("0.25")),
        (3, "C", None),
        (1, "D", Decimal(12)),
    ]
    assert text(outline(iter(rows))) == (
        "Tree\n"
        "\n"
        "level  part    each\n"
        "-----  -----  -----\n"
        "    1  A       1\n"
        "    2    B     0.25\n"
        "    3      C   ?\n"
        "    1  D      12\n"
        "\n"
        "? = not known\n"
    )


def test_an_outline_is_streamed() -> None:
    lines = list(itertools.islice(as_text(outline(endless())), 1000))
    assert len(lines) == 1000
    # Four lines stand before the rows: row 996 at depth 1 + 996 % 3 = 1, 996 / 2 = 498.
    assert lines[-1].split() == ["1", "P-996", "498"]


def test_a_document_for_json() -> None:
    assert as_dict(document(*ROWS[1:3], notes=("note\x1b",))) == {
        "format_version": 1,
        "report": "explode",
        "assembly": "W20",
        "quantity": "100",
        "parts": [
            {"part": "W-1", "name": "電源線", "bound": "", "quantity": "0.125", "unit": "m"},
            {"part": "C-9", "name": None, "bound": "", "quantity": None, "unit": "each"},
        ],
        "notes": ["exact", "note\\u001b"],
        "cautions": ["rates are of 2026-10-01"],
    }


def test_json_is_one_document_with_the_version_first() -> None:
    made = as_json(document(*ROWS))
    assert made.startswith('{\n  "format_version": 1,\n')
    assert made.endswith("}\n")
    assert json.loads(made) == as_dict(document(*ROWS))


def test_percentages_are_rounded_for_people_only() -> None:
    """97.31997 % in full; a third of a hundred, which no decimal holds, to twelve places; 0 and 100 plainly."""
    shares = (
        Share(Decimal("0.9731997")),
        Share(Fraction(1, 3), 2),
        Share(Fraction(1)),
        Share(Decimal(0)),
        None,
    )
    columns = tuple(Column(f"c{number}_percent", f"c{number}", "number") for number in range(5))
    made = Document(key="k", title="k", tables=(Table(key="t", columns=columns, rows=[shares]),))
    (row,) = as_dict(made)["t"]
    assert list(row.values()) == ["97.31997", "33.333333333333", "100", "0", None]
    assert list(as_csv(made.tables[0]))[1] == "97.31997,33.333333333333,100,0,?"
    assert text(made).splitlines()[4].split("  ") == ["97.3 %", "33.33 %", "100.0 %", "0.0 %", " ?"]


def test_csv_says_what_is_not_known() -> None:
    assert list(as_csv(document(*ROWS[1:]).tables[0])) == [
        "part,name,bound,quantity,unit",
        "W-1,電源線,,0.125,m",
        "C-9,?,,?,each",
        'G-1,"adhesive, two parts, for the housing and the lid",,1000.50,g',
    ]


FORMULAS = ("=HYPERLINK(0)", "+1", "-1", "@SUM(A1)", "=", "@x", "+-", "-=")
#: A tab becomes a blank and a line end is spelled out before anything is written, so they lead no cell.
INERT = ("R-1", "'R-1", "1-2", "", "?", " =1")


def test_csv_for_a_spreadsheet_guards_text_and_no_number() -> None:
    numbers = (Decimal("-1.5"), Amount(Fraction(-5, 2)), -3, Share(Fraction(-1, 4)), None)
    columns = tuple(Column(f"c{number}", "", "text") for number in range(8))
    padded = (*INERT, "", "")
    made = Table(key="t", columns=columns, rows=[FORMULAS, padded, (*numbers, "", "", "")])
    header, formulas, inert, figures = csv.reader(as_csv(made, for_spreadsheet=True), strict=True)
    assert header == [column.key for column in columns]
    assert formulas == [f"'{words}" for words in FORMULAS]
    assert inert == list(padded)
    assert figures == ["-1.5", "-2.5", "-3", "-25", "?", "", "", ""]
    _, plain, *_ = csv.reader(as_csv(made), strict=True)
    assert plain == [visible(cell) for cell in FORMULAS]


@pytest.mark.property
@given(st.text(st.sampled_from("'=+-@a1 "), min_size=1).filter(lambda words: words[0] != "'"))
def test_one_apostrophe_taken_away_leads_back(words: str) -> None:
    made = Table(key="t", columns=COLUMNS[:1], rows=[(words,)])
    _, (guarded,) = csv.reader(as_csv(made, for_spreadsheet=True), strict=True)
    assert guarded[:1] not in {"=", "+", "-", "@"}
    back = guarded[1:] if re.match(r"'[=+\-@]", guarded) else guarded
    assert back == words


@pytest.mark.property
@given(
    st.lists(st.lists(st.text(st.characters(min_codepoint=32, max_codepoint=126)), min_size=2, max_size=2))
)
def test_csv_is_read_back(rows: list[list[str]]) -> None:
    table = Table(key="t", columns=COLUMNS[:2], rows=[(one, two) for one, two in rows])
    lines = io.StringIO("".join(f"{line}\n" for line in as_csv(table)), newline="")
    assert list(csv.reader(lines, strict=True)) == [["part", "name"], *rows]


@pytest.mark.property
@given(words=st.text(st.sampled_from("ab 電\u0301")), columns=st.integers(2, 12))
def test_wrapped_text_fits_and_loses_nothing(words: str, columns: int) -> None:
    lines = wrap(words, columns)
    assert all(width(line) <= columns for line in lines if line.strip())
    assert "".join("".join(lines).split()) == "".join(words.split())


@pytest.mark.parametrize(
    ("shown", "columns"),
    [("abc", 3), ("電源", 4), ("ｱ", 1), ("\uff21", 2), ("e\u0301", 1), ("", 0), ("…Ω", 2)],
)
def test_width(shown: str, columns: int) -> None:
    assert width(shown) == columns


@pytest.mark.parametrize("hostile", ["\x1b[2Jx", "a\nb", "\u202ex"])
def test_hostile_cells_stay_on_their_line(hostile: str) -> None:
    made = Document(
        key="k",
        title=hostile,
        facts=(("fact", hostile),),
        tables=(
            Table(key="t", columns=COLUMNS[:2], rows=[(hostile, hostile)], title=hostile, notes=(hostile,)),
        ),
        notes=(hostile,),
        cautions=(hostile,),
    )
    lines = list(as_text(made))
    assert len(lines) == 11
    for form in ("\n".join(lines), as_json(made).replace("\\\\n", ""), "".join(as_csv(made.tables[0]))):
        assert "\x1b" not in form
        assert "\u202e" not in form
    assert all("\n" not in line for line in lines)


def test_a_console_cuts_nothing_and_reads_no_markup(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    out = io.StringIO()
    words = "cap 10u [x7r] [/x] :bomb: " * 20 + "end"
    console(out, color=False).print(words)
    assert out.getvalue() == words + "\n"


def test_a_console_off_a_terminal_is_as_wide_as_columns_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    assert console(io.StringIO(), color=False).width == 40
    monkeypatch.setenv("COLUMNS", "wide")
    assert console(io.StringIO(), color=False).width > 1000
