"""Pictures as plain text: no line too wide, lengths on one scale, everything told by letters and numbers."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from chart_examples import EXAMPLES, HOSTILE, bars, line
from hypothesis import given
from hypothesis import strategies as st
from test_chart_svg_curve import curve, curves
from test_chart_svg_whole import named

from ferrule.chart.marks import as_marks
from ferrule.model.columns import width
from ferrule.model.text import visible
from ferrule.report.picture import Curve, Step

GOLDEN = Path(__file__).parent / "golden"


def test_a_bar_by_hand() -> None:
    # 40 columns less 2 for the indent, 2 for the gap and 5 for "10.00": 31 for 10, so an element ends at 3.1 times
    # what is reached: 18.6 -> 19, 27.9 -> 28, 31.
    found = list(as_marks(bars({"a": "6", "b": "3", "c": "1"}), 40, ascii_only=True))
    assert "  A" + "#" * 18 + "B" + "." * 8 + "C==" + "  10.00" in found
    assert "  A 6.00, B 3.00, C 1.00" in found
    assert "key: A a, B b, C c" in found
    assert " ".join(found).count("one column is 0.3226") == 1  # 1 / 3.1 = 0.32258...


def test_an_unknown_value_is_open_and_never_zero() -> None:
    found = list(as_marks(bars({"a": "6", "duty": None}), 60, ascii_only=True))
    (bar,) = [text for text in found if text.startswith("  A#")]
    assert bar.endswith("//?  at least 6.00")
    assert "  A 6.00, B ?" in found
    assert "  not known: B duty" in found


def test_a_credit_is_marked_under_the_end() -> None:
    # 60 - 2 - 2 - 4 = 52 columns for 8; 2 are 13 columns, from 39 on.
    found = list(as_marks(bars({"a": "8", "credit": "-2"}), 60, ascii_only=True))
    assert found[found.index("row 1") + 1] == "  A" + "#" * 51 + "  6.00"
    assert found[found.index("row 1") + 2] == " " * (2 + 39) + "-" * 13
    assert "  taken off: B credit -2.00" in found


values = st.decimals(0, 10**5, places=2)
rows = st.lists(st.dictionaries(st.sampled_from("abcdef"), st.none() | values), min_size=1, max_size=4)


@given(rows, st.integers(40, 200))
def test_bars_are_on_one_scale_to_half_a_column(
    given_rows: list[dict[str, Decimal | None]], wide: int
) -> None:
    picture = bars(*({n: None if v is None else str(v) for n, v in row.items()} for row in given_rows))
    found = list(as_marks(picture, wide))
    drawn = [found[found.index(f"row {number}") + 1] for number in range(1, len(given_rows) + 1)]
    lengths = [len(re.match("  ([A-F█░▓▒]*)", text)[1]) for text in drawn]  # type: ignore[index]
    sums = [sum((Fraction(value) for value in row.values() if value), Fraction(0)) for row in given_rows]
    longest = max(sums)
    if longest:
        scale = lengths[sums.index(longest)] / longest
        for length, total in zip(lengths, sums, strict=True):
            assert abs(length - total * scale) <= Fraction(1, 2)


def test_a_step_line_by_hand() -> None:
    # 40 columns less 5 for "100 |": 35, of which the last 2 are the last step going on; 13 rows for 0 to 100, so 50 is
    # in the seventh, and 5 of 0 to 10 is in column 16 (32 * 5 / 10).
    picture = curve(line("", {0: "100", 5: "50", 10: "0"}), labels=(Step(Decimal(5), "second tool"),))
    found = list(as_marks(picture, 40, ascii_only=True))
    drawing = found[found.index("") + 1 :]
    assert drawing[0] == "100 |" + "-" * 16 + "+"
    assert [text[5 + 16] for text in drawing[1:6]] == ["|"] * 5
    assert drawing[6] == "    |" + " " * 16 + "+" + "-" * 15 + "+"
    assert drawing[12] == "  0 |" + " " * 32 + "+--"
    assert drawing[13] == "    +" + "-" * 35
    assert drawing[14] == " " * (5 + 16) + "1"
    assert "1  at 5: 100.00 to 50.00, second tool" in found


def test_gaps_names_floor_and_lowest() -> None:
    first = line("", {0: "100", 5: None, 10: "0"})
    found = "\n".join(as_marks(curve(first, line("other", {0: "50", 10: "60"}), lowest="trough"), 80))
    assert "══ other" in found
    assert "● trough 0.00 at 10" in found
    assert "┐" not in found


@pytest.mark.parametrize("columns", [40, 41, 80, 160])
@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_only_text(text: str, columns: int, *, ascii_only: bool) -> None:
    for picture in named(text):
        found = list(as_marks(picture, columns, ascii_only=ascii_only))
        assert found == [visible(one) for one in found]
        assert max(map(width, found)) <= columns


@given(curves, st.integers(40, 170), st.booleans())
def test_no_line_is_wider_than_asked(picture: Curve, columns: int, ascii_only: bool) -> None:  # noqa: FBT001
    for one in as_marks(picture, columns, ascii_only=ascii_only):
        assert width(one) <= columns
        assert one == one.rstrip()


@pytest.mark.parametrize("picture", EXAMPLES.values(), ids=EXAMPLES)
def test_ascii_is_ascii(picture: Curve) -> None:
    assert "\n".join(as_marks(picture, 80, ascii_only=True)).isascii()


def test_a_pipe_wraps_no_sentence() -> None:
    for picture in named("words " * 60):
        assert visible("words " * 60) in list(as_marks(picture, None))


def test_values_of_forty_digits_are_told_in_words() -> None:
    picture = curve(line("", {0: "1" + "0" * 39, 5: "0"}))
    assert "too narrow to be drawn" in list(as_marks(picture, 40))


@pytest.mark.parametrize("columns", [80, 160])
@pytest.mark.parametrize("name", list(EXAMPLES))
@pytest.mark.parametrize("ascii_only", [False, True])
def test_golden_marks(name: str, columns: int, *, ascii_only: bool, update: bool) -> None:
    path = GOLDEN / f"{name}-{columns}{'-ascii' if ascii_only else ''}.txt"
    made = "\n".join(as_marks(EXAMPLES[name], columns, ascii_only=ascii_only)) + "\n"
    if update:
        path.write_text(made)
    assert made == path.read_text()
