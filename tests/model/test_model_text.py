"""Text from files becomes harmless, and near misses are found."""

from __future__ import annotations

import sys
import unicodedata

import pytest

from ferrule.model.text import nearest, quoted, visible

# Format characters that print a sign of their own (Unicode property Prepended_Concatenation_Mark).
SIGNS = {0x70F, 0x6DD, 0x890, 0x891, 0x8E2, 0x110BD, 0x110CD, *range(0x600, 0x606)}


def test_no_character_that_steers_is_left() -> None:
    steering = {"Cc", "Cf", "Cs", "Zl", "Zp"}
    for code in range(sys.maxunicode + 1):
        if unicodedata.category(chr(code)) in steering and code not in SIGNS:
            shown = visible(chr(code))
            assert not any(unicodedata.category(char) in steering for char in shown), hex(code)


def test_what_is_shown_of_it() -> None:
    assert visible("a\x1b[31m\u202eb\u200bc\r\nd\te") == r"a\u001b[31m\u202eb\u200bc\u000d\nd e"


@pytest.mark.parametrize("text", ["plain", "Åsund 厦门 µΩ", "cap 10u [x7r]", "👍", "a\\b"])
def test_harmless_text_stays(text: str) -> None:
    assert visible(text) == text


def test_long_text_is_cut() -> None:
    assert visible("abcdef", 4) == "abc…"
    assert visible("abcd", 4) == "abcd"
    assert len(quoted("x" * 1000)) == 122


def test_quoted_is_what_was_written() -> None:
    assert [quoted(value) for value in ("a", True, 3, 16**2000)] == [
        '"a"',
        "true",
        "3",
        "0x1" + "0" * 116 + "…",
    ]


@pytest.mark.parametrize(
    ("word", "known", "found"),
    [
        ("wekes", ["days", "weeks"], "weeks"),
        ("ROLE", ["role", "rate"], "role"),
        ("mL", ["m", "ml", "l"], "ml"),
        ("Mm", ["m", "mm"], "mm"),
        ("xyz", ["role", "rate"], None),
        ("rate", [], None),
        ("", ["rate"], None),
    ],
)
def test_nearest(word: str, known: list[str], found: str | None) -> None:
    assert nearest(word, known) == found
    assert nearest(word, reversed(known)) == found


def test_nearest_can_be_asked_for_more_likeness() -> None:
    assert nearest("minutes", ["months", "weeks"]) == "months"
    assert nearest("minutes", ["months", "weeks"], likeness=0.7) is None
