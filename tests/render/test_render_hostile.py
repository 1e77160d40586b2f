"""Text from files is data, in every format: it neither acts nor breaks the format."""

from __future__ import annotations

import json
import re
import unicodedata
from xml.etree import ElementTree as ET

import pytest
from check_results import HOSTILE, clean_result, full_result, hostile_result
from hypothesis import given, settings
from hypothesis import strategies as st

from ferrule.diagnostics.finding import CheckResult
from ferrule.model.text import visible
from ferrule.render.formats import CHECK_FORMATS, render_check

BIDI = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
OUR_COMMAND = re.compile(r"::(error|warning|notice) file=[^:,]*(,\w+=[^:,]*)+::[^\r\n]*")


def render(made: CheckResult, form: str) -> str:
    return render_check(made, form, color=False, width=None, show_path=lambda path: path)


def harms(text: str, form: str) -> list[str]:
    """Return what in a text could act on a terminal or a log, or cannot be stored."""
    found = [
        f"character {ord(character):04x}"
        for character in text
        if (unicodedata.category(character) in {"Cc", "Cs"} and character != "\n")
        or character in BIDI
        or character in "\u2028\u2029\ufeff\ufffe\uffff"
    ]
    if form in {"text", "github"}:
        ours = OUR_COMMAND if form == "github" else re.compile("(?!)")
        found += [
            line for line in text.splitlines() if line.strip().startswith("::") and not ours.fullmatch(line)
        ]
        found += [line for line in text.splitlines() if re.search(r"^(?!::).*##\w*\[", line)]
    return found


@pytest.mark.parametrize(
    "text", ["a\x1bb", "\u202e", "::error::x", "  ::error file=a::x", "x ##[error]y", "##vso[a]", "\udcff"]
)
def test_the_judge_of_this_file_sees_harm(text: str) -> None:
    assert harms(text, "github")
    assert harms(text, "text")


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("form", CHECK_FORMATS)
def test_hostile_text_does_nothing(form: str, text: str) -> None:
    made = render(hostile_result(text), form)
    assert harms(made, form) == []
    assert made.endswith("\n")
    assert made.encode("utf-8")


@given(
    text=st.text(
        st.sampled_from("a:#[]vso\n\r\t|<>&@`%\\\x1b\u202e\udcff\ufffe!()-"), min_size=1, max_size=30
    )
)
@settings(max_examples=200, deadline=None)
@pytest.mark.property
def test_no_text_does_anything(text: str) -> None:
    for form in CHECK_FORMATS:
        made = render(hostile_result(text), form)
        assert harms(made, form) == []
        if form in {"json", "sarif", "gitlab"}:
            json.loads(made)
        if form == "junit":
            assert ET.fromstring(made).find(".//failure") is not None  # noqa: S314  our own text


@pytest.mark.parametrize("form", CHECK_FORMATS)
def test_hostile_text_is_still_there(form: str) -> None:
    assert "evil" in render(hostile_result("the evil word"), form)


@pytest.mark.parametrize("made", [clean_result(), full_result()], ids=["clean", "full"])
@pytest.mark.parametrize("form", CHECK_FORMATS)
def test_the_same_result_gives_the_same_bytes_with_one_final_newline(form: str, made: CheckResult) -> None:
    text = render(made, form)
    assert text == render(made, form)
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


@pytest.mark.parametrize("form", sorted(set(CHECK_FORMATS) - {"text"}))
def test_machine_formats_keep_the_paths_of_the_repository(form: str) -> None:
    moved = render_check(full_result(), form, color=True, width=20, show_path=lambda path: f"../{path}")
    assert moved == render(full_result(), form)


def test_cleaning_spells_out_what_acts() -> None:
    # U+001B, U+202E, U+DCFF and U+FFFE by their numbers; a line end as in a string; a tab as a blank.
    assert visible("a\x1b\u202e\udcff\ufffe\n\tb") == "a\\u001b\\u202e\\udcff\\ufffe\\n b"
    assert visible("Ω 10 µF ±5 % 電源") == "Ω 10 µF ±5 % 電源"
