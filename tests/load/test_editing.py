"""Edits of a TOML text: what was asked for changes, everything else stays byte for byte."""

from __future__ import annotations

from decimal import Decimal

import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st

from ferrule.load.editing import Edit, edited
from ferrule.load.toml_text import block_text, value_text

TEXT = """\
# the file
[part.A]   # first
name = "A"  # what it is
moq = 5000

# about B
# in two rows
[part.B]
name = "B"
[[part.B.source]]
maker = "m"

# loose remark

# about C
[part.C]
name = 'C:\\y'
"""


def test_a_value_is_replaced_where_it_stands_and_its_remark_stays() -> None:
    found = edited(TEXT, [Edit(path=("part", "A", "moq"), value=Decimal("1.50"))])
    assert found == TEXT.replace("moq = 5000", "moq = 1.50")


def test_a_new_value_goes_below_the_rows_of_its_table_and_above_those_inside_it() -> None:
    found = edited(TEXT, [Edit(path=("part", "B", "unit"), value="m")])
    assert found == TEXT.replace('name = "B"\n', 'name = "B"\nunit = "m"\n')


def test_a_table_goes_with_its_comments_and_with_what_is_inside_it() -> None:
    found = edited(TEXT, [Edit(path=("part", "B"))])
    assert found == TEXT.replace(TEXT[TEXT.index("# about B") : TEXT.index("# about C")], "")


def test_the_last_table_goes_and_the_comment_of_the_one_before_stays() -> None:
    assert edited(TEXT, [Edit(path=("part", "C"))]) == TEXT[: TEXT.index("# about C")]


def test_a_row_goes_with_its_remark() -> None:
    assert edited(TEXT, [Edit(path=("part", "A", "name"))]) == TEXT.replace('name = "A"  # what it is\n', "")


def test_blocks_are_added_below_a_blank_row() -> None:
    block = block_text(("part", "D"), {"name": "D"}, about=["sheet.csv: row 4"])
    assert edited(TEXT, [Edit(block=block)]) == TEXT + '\n# sheet.csv: row 4\n[part.D]\nname = "D"\n'


def test_several_edits_do_not_disturb_one_another() -> None:
    found = edited(
        TEXT,
        [
            Edit(path=("part", "C", "name"), value="c"),
            Edit(path=("part", "A", "name"), value="a longer name"),
            Edit(path=("part", "B", "source", 0, "maker"), value="n"),
        ],
    )
    expected = TEXT.replace('"A"', '"a longer name"').replace('maker = "m"', 'maker = "n"')
    assert found == expected.replace("'C:\\y'", '"c"')


def test_line_ends_of_the_text_are_kept() -> None:
    text = TEXT.replace("\n", "\r\n")
    found = edited(
        text,
        [Edit(path=("part", "B", "unit"), value="m"), Edit(block=block_text(("part", "D"), {"name": "D"}))],
    )
    assert found == TEXT.replace('name = "B"\n', 'name = "B"\nunit = "m"\n').replace("\n", "\r\n") + (
        '\r\n[part.D]\r\nname = "D"\r\n'
    )


def test_a_value_of_a_table_that_is_not_there_is_refused() -> None:
    with pytest.raises(KeyError):
        edited(TEXT, [Edit(path=("part", "Z", "name"), value="z")])


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "true"),
        (3, "3"),
        (Decimal("1.50"), "1.50"),
        (Decimal("1E+3"), "1000"),
        ('a "b" \\ \n \x7f', r'"a \"b\" \\ \n \u007f"'),
        ([{"from": 1, "each": Decimal("0.0062")}], "[{ from = 1, each = 0.0062 }]"),
        ({}, "{}"),
    ],
)
def test_values_are_written_plainly(value: object, text: str) -> None:
    assert value_text(value) == text


def test_a_float_is_refused() -> None:
    with pytest.raises(TypeError, match="float cannot be written"):
        value_text(0.1)


NAMES = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
SCALARS = st.one_of(
    NAMES, st.booleans(), st.integers(-(10**9), 10**9), st.decimals(-(10**6), 10**6, places=4)
)
TABLES = st.dictionaries(NAMES.filter(bool), st.dictionaries(NAMES, SCALARS, max_size=4), max_size=5)


@pytest.mark.property
@given(TABLES)
def test_what_is_written_is_read_again(tables: dict[str, dict[str, object]]) -> None:
    text = "\n".join(block_text(("part", name), fields) for name, fields in tables.items())
    read = tomli.loads(text, parse_float=Decimal).get("part", {})
    assert read == tables


@pytest.mark.property
@given(TABLES.filter(bool), st.data())
def test_one_edit_changes_one_value_and_no_other_row(
    tables: dict[str, dict[str, object]], data: st.DataObject
) -> None:
    text = "".join(f"# about it\n{block_text(('part', name), fields)}\n" for name, fields in tables.items())
    name = data.draw(st.sampled_from(sorted(tables)))
    key = data.draw(st.one_of(st.sampled_from(sorted(tables[name])) if tables[name] else st.nothing(), NAMES))
    value = data.draw(SCALARS)
    found = edited(text, [Edit(path=("part", name, key), value=value)])
    tables[name][key] = value
    assert tomli.loads(found, parse_float=Decimal)["part"] == tables
    before, after = text.split("\n"), found.split("\n")
    assert len(after) - len(before) in {0, 1}
    assert sum(row not in before for row in after) <= 1
