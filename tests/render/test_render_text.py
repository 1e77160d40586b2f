from __future__ import annotations

import re
import subprocess
import sys

import pytest
from check_results import HOSTILE, clean_result, full_result, hostile_result, located, result
from hypothesis import given, settings
from hypothesis import strategies as st

from ferrule.diagnostics.finding import CheckResult, Severity, Spot
from ferrule.model.columns import width
from ferrule.render.characters import logged
from ferrule.render.text import render_text, totals

ANSI = re.compile(r"\x1b\[[0-9;]*m")


def plain(made: CheckResult, columns: int | None = None) -> str:
    return render_text(made, lambda path: path, columns=columns)


def test_nothing_found_is_a_sentence_of_its_own() -> None:
    assert plain(clean_result()) == "no findings in 4 files\n"


def test_a_full_result() -> None:
    # The tab is shown as one blank; each of the three wide characters takes two columns, so six carets
    # stand under them, after the blank, "name = " and the quotation mark: nine columns.
    assert plain(full_result()) == (
        'parts/board.toml:14:9: error[unknown-part]: part "R-0012" is used here but no file defines it\n'
        "   |\n"
        '14 | part = "R-0012"\n'
        "   |         ^^^^^^\n"
        "   also: assemblies/top.toml:22:8 and here\n"
        '   hint: did you mean "R-0021" (parts/resistors.toml:5)?\n'
        "parts/cable 2.toml:7:10: warning[price-not-falling]: 1,000 cost more each than 100\n"
        "  |\n"
        '7 |  name = "電源線" # Länge\n'
        "  |          ^^^^^^\n"
        'parts/cable 2.toml:9:1: note[name-missing]: part "C-2" has no name\n'
        "1 error, 1 warning, 1 note added since v1.0 in 4 files; 3 waived; 12 older, not shown\n"
    )


@pytest.mark.parametrize(
    ("made", "sentence"),
    [
        (result(), "no findings in 4 files"),
        (result(waived=3), "no findings in 4 files; 3 waived"),
        (result(old=12, since="v1"), "no findings added since v1 in 4 files; 12 older, not shown"),
        (result(located(), located()), "2 errors in 4 files"),
        (result(located(severity=Severity.WARNING)), "1 warning in 4 files"),
    ],
)
def test_totals(made: CheckResult, sentence: str) -> None:
    assert totals(made) == sentence


@pytest.mark.parametrize(
    ("excerpt", "column", "end", "line", "carets"),
    [
        ("qty = 2", 7, 8, "qty = 2", "      ^"),
        ("\tqty\t= 2", 8, 9, " qty = 2", "       ^"),
        ("部品 = 2", 6, 7, "部品 = 2", "       ^"),
        ("部品 = 2", 1, 3, "部品 = 2", "^^^^"),
        ("e\u0301 = 2", 6, 7, "e\u0301 = 2", "    ^"),  # the accent is a code point without a column
        ("x\x1b = 2", 6, 7, "x\\u001b = 2", "          ^"),  # six characters for one
        ("##[a]x", 6, 7, "#\\u0023[a]x", "          ^"),
        ("qty = 2", 7, 7, "qty = 2", "      ^"),  # an empty mark is still seen
        ("qty =", 6, 6, "qty =", "     ^"),  # after the last character
    ],
)
def test_carets_stand_under_the_place(excerpt: str, column: int, end: int, line: str, carets: str) -> None:
    spot = Spot(file="a.toml", line=5, column=column, end_line=5, end_column=end, excerpt=excerpt)
    _, _, shown, marks, _ = plain(result(located(spot=spot))).splitlines()
    assert shown == f"5 | {line}"
    assert marks == f"  | {carets}"


def test_a_mark_over_several_lines_goes_to_the_end_of_the_first() -> None:
    spot = Spot(file="a.toml", line=5, column=7, end_line=7, end_column=2, excerpt="qty = [")
    assert plain(result(located(spot=spot))).splitlines()[3] == "  |       ^"


@pytest.mark.property
@settings(deadline=None)
@given(
    excerpt=st.text(st.sampled_from("ab =\t部\u0301\x1b#["), max_size=400),
    column=st.integers(1, 400),
    length=st.integers(0, 60),
    columns=st.none() | st.integers(1, 200),
)
def test_an_excerpt_fits_and_the_carets_are_below_it(
    excerpt: str, column: int, length: int, columns: int | None
) -> None:
    column = min(column, len(excerpt) + 1)
    spot = Spot(
        file="a.toml", line=5, column=column, end_line=5, end_column=column + length, excerpt=excerpt + "x"
    )
    _, _, shown, marks, _ = plain(result(located(spot=spot)), columns=columns).splitlines()
    room = 4 + max(24, min(160, (columns or 164) - 4))
    assert width(shown) <= room
    assert width(marks) <= room
    assert marks.endswith("^")
    assert "…" in shown or shown[4:] == logged(excerpt + "x")


def test_a_long_line_is_shown_around_the_place() -> None:
    spot = Spot(
        file="a.toml",
        line=5,
        column=1001,
        end_line=5,
        end_column=1004,
        excerpt="a" * 1000 + "BAD" + "c" * 1000,
    )
    _, _, shown, marks, _ = plain(result(located(spot=spot))).splitlines()
    assert shown == "5 | …" + "a" * 20 + "BAD" + "c" * (160 - 25) + "…"
    assert shown[marks.index("^") :].startswith("BAD")
    assert marks.count("^") == len("BAD")


def test_width_limits_the_excerpt_and_never_the_message() -> None:
    message = "word " * 100 + "end"
    spot = Spot(file="a.toml", line=5, column=1, end_line=5, end_column=2, excerpt="x" * 300)
    first, _, shown, _, _ = plain(result(located(message=message, spot=spot)), columns=80).splitlines()
    assert first.endswith("word end")
    assert width(shown) == 80


def test_paths_are_shown_as_asked() -> None:
    text = render_text(full_result(), lambda path: f"../{path}")
    assert text.startswith("../parts/board.toml:14:9: ")
    assert "also: ../assemblies/top.toml:22:8" in text


@pytest.mark.parametrize("made", [clean_result(), full_result(), *map(hostile_result, HOSTILE)])
def test_colour_changes_no_character(made: CheckResult) -> None:
    colored = render_text(made, lambda path: path, color=True)
    assert ANSI.sub("", colored) == plain(made)


@pytest.mark.parametrize("variable", ["NO_COLOR", "TERM"])
def test_colour_is_decided_by_the_caller_alone(monkeypatch: pytest.MonkeyPatch, variable: str) -> None:
    monkeypatch.setenv(variable, "dumb")
    colored = render_text(full_result(), lambda path: path, color=True)
    assert "\x1b[1;31merror[unknown-part]\x1b[0m: part" in colored
    assert "\x1b[1;33mwarning[price-not-falling]\x1b[0m" in colored
    assert "\x1b" not in render_text(full_result(), lambda path: path, color=False)


def test_plain_text_needs_no_rich() -> None:
    code = (
        "import sys; from check_results import full_result; from ferrule.render.formats import render_check\n"
        "render_check(full_result(), 'text', color=False, width=None, show_path=str)\n"
        "print('rich' in sys.modules)\n"
        "render_check(full_result(), 'text', color=True, width=None, show_path=str)\n"
        "print('rich' in sys.modules)"
    )
    path = [entry for entry in sys.path if entry]
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path[:0] = {path!r}\n{code}"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == ["False", "True"]
