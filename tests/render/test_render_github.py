from __future__ import annotations

import re

import pytest
from check_results import clean_result, full_result, located, result
from hypothesis import given
from hypothesis import strategies as st

from ferrule.diagnostics.finding import Severity, Spot
from ferrule.render.github import escape_message, escape_property, render
from ferrule.render.text import render_text


def read_back(line: str) -> tuple[str, dict[str, str], str] | None:
    """Return command, properties and message as the runner reads them, or None for a line that is no command."""
    found = re.fullmatch(r"::(\w+)(?: (.*?))?::(.*)", line.strip(), re.DOTALL)
    if found is None:
        return None
    properties = dict(pair.split("=", 1) for pair in (found[2] or "").split(",") if pair)
    return (
        found[1],
        {key: _unescaped_property(value) for key, value in properties.items()},
        _unescaped(found[3]),
    )


def _unescaped(text: str) -> str:
    return text.replace("%0D", "\r").replace("%0A", "\n").replace("%25", "%")


def _unescaped_property(text: str) -> str:
    return _unescaped(text.replace("%3A", ":").replace("%2C", ","))


@pytest.mark.property
@given(
    title=st.text(st.sampled_from("a%0123ACD:,\r\n =")), message=st.text(st.sampled_from("a%0123ACD:,\r\n ="))
)
def test_what_is_escaped_is_read_back(title: str, message: str) -> None:
    line = f"::error title={escape_property(title)},col=1::{escape_message(message)}"
    assert len(line.splitlines()) == 1
    assert read_back(line) == ("error", {"title": title, "col": "1"}, message.rstrip(" "))


def test_the_reader_sees_a_missing_escape() -> None:
    line = f"::error title={escape_message('a:b')},col=1::{escape_message('100%0A')}"
    assert read_back(line) == ("error", {"title": "a:b", "col": "1"}, "100%0A")
    unescaped = read_back("::error title=a::b,col=1::100%0A")
    assert unescaped == ("error", {"title": "a"}, "b,col=1::100\n")


def test_nothing_found() -> None:
    assert render(clean_result()) == "no findings in 4 files\n"


def test_annotations_come_before_the_plain_list() -> None:
    annotations = (
        "::error file=parts/board.toml,line=14,col=9,endLine=14,endColumn=15,title=unknown-part::"
        'part "R-0012" is used here but no file defines it%0A'
        'hint: did you mean "R-0021" (parts/resistors.toml:5)?\n'
        "::warning file=parts/cable 2.toml,line=7,col=10,endLine=7,endColumn=13,title=price-not-falling::"
        "1,000 cost more each than 100\n"
        "::notice file=parts/cable 2.toml,line=9,col=1,endLine=9,endColumn=1,title=name-missing::"
        'part "C-2" has no name\n'
    )
    assert render(full_result()) == annotations + render_text(full_result(), lambda path: path)


def test_ten_of_a_kind_then_a_count() -> None:
    errors = [located(number=number) for number in range(13)]
    warnings = [located(severity=Severity.WARNING, number=number) for number in range(20, 31)]
    notes = [located(severity=Severity.NOTE, number=number) for number in range(40, 50)]
    lines = render(result(*notes, *warnings, *errors)).splitlines()
    kinds = [(read_back(line) or ("",))[0] or line for line in lines[:32]]
    assert kinds == [
        *["error"] * 10,
        "and 3 more errors, in the list below",
        *["warning"] * 10,
        "and 1 more warning, in the list below",
        *["notice"] * 10,
    ]
    assert sum(line.startswith("parts/board.toml:14:9: ") for line in lines) == 13 + 11 + 10
    assert lines[-1] == "13 errors, 11 warnings, 10 notes in 4 files"


def test_no_columns_where_the_lines_differ() -> None:
    spot = Spot(file="a.toml", line=2, column=7, end_line=4, end_column=2)
    first = render(result(located(spot=spot))).splitlines()[0]
    read = read_back(first)
    assert read is not None
    assert read[1] == {"file": "a.toml", "line": "2", "endLine": "4", "title": "unknown-part"}


def test_a_path_that_is_a_command_starts_no_line() -> None:
    lines = render(result(located(spot=Spot(file="::error::x,y")))).splitlines()
    assert lines[0].startswith("::error file=%3A%3Aerror%3A%3Ax%2Cy,line=1,")
    assert lines[1].startswith("./::error::x,y:1:1: error[unknown-part]: ")
