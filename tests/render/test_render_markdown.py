from __future__ import annotations

import re

import pytest
from check_results import (
    HOSTILE,
    clean_result,
    full_result,
    hostile_findings,
    hostile_result,
    located,
    result,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from markdown_it.token import Token

from ferrule.diagnostics.finding import CheckResult, Spot
from ferrule.model.text import visible
from ferrule.render.markdown import LIMIT, escape, render

READER = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
HEADER = "| severity | file | line | rule | finding |\n| --- | --- | --- | --- | --- |\n"


def cells(text: str) -> list[list[list[Token]]]:
    """Return the inline tokens of every cell below the header, row by row."""
    rows: list[list[list[Token]]] = []
    for token, inner in zip(tokens := READER.parse(text), tokens[1:], strict=False):
        if token.type == "tr_open":
            rows.append([])
        elif token.type == "td_open":
            rows[-1].append(inner.children or [])
    return [row for row in rows if row]


def acts(text: str) -> list[str]:
    """Return everything in a Markdown text that is more than text."""
    found = []
    for block in READER.parse(text):
        if block.type in {"html_block", "heading_open", "fence", "code_block", "blockquote_open"}:
            found += [block.type] if not re.fullmatch(r"<!-- [^<>]* -->\n?", block.content) else []
        for token in block.children or []:
            if (
                token.type not in {"text", "softbreak", "strong_open", "strong_close"}
                and token.content != "<br>"
            ):
                found.append(token.type)
            if token.type == "text":
                # What the service makes of finished text, after Markdown is done with it.
                found += re.findall(r"@\w|#\d|GH-\d|://|www\.|:[\w+-]+:", token.content)
    return found


def test_nothing_found() -> None:
    assert render(clean_result()) == "<!-- ferrule:check:W20 -->\n**ferrule check**: no findings in 4 files\n"


def test_a_full_result() -> None:
    assert render(full_result()) == (
        "<!-- ferrule:check:W20 -->\n"
        "**ferrule check**: 1 error, 1 warning, 1 note added since v1.0 in 4 files; 3 waived; 12 older, not shown\n"
        "\n" + HEADER + "| error | parts/board.toml | 14 | unknown-part | "
        'part "R-0012" is used here but no file defines it'
        '<br>hint: did you mean "R-0021" (parts/resistors.toml:5)? |\n'
        "| warning | parts/cable 2.toml | 7 | price-not-falling | 1,000 cost more each than 100 |\n"
        '| note | parts/cable 2.toml | 9 | name-missing | part "C-2" has no name |\n'
    )


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_five_cells_of_text(text: str) -> None:
    made = render(hostile_result(text))
    assert acts(made) == []
    assert [len(row) for row in cells(made)] == [5]


@pytest.mark.parametrize(
    "words",
    [
        "![i](https://e.invalid/i.png)",
        "[click](https:e.invalid)",
        "<img src=x>",
        "@team",
        "`x`",
        "*x*",
        "see #12",
        "see GH-12",
        "www.e.invalid",
        ":bomb:",
    ],
)
def test_the_reader_sees_what_acts(words: str) -> None:
    assert acts(f"{HEADER}| a | b | c | d | {words} |\n") != []


def test_the_reader_sees_an_unescaped_pipe() -> None:
    row = [[token.content for token in cell] for cell in cells(f"{HEADER}| a | b | c | x|y | e |\n")[0]]
    assert row != [["a"], ["b"], ["c"], ["x|y"], ["e"]]
    row = [
        [token.content for token in cell]
        for cell in cells(f"{HEADER}| a | b | c | {escape('x|y')} | e |\n")[0]
    ]
    assert row == [["a"], ["b"], ["c"], ["x|y"], ["e"]]


@pytest.mark.property
@settings(max_examples=300, deadline=None)
@given(
    text=st.text(st.sampled_from("ab1 \\|*_[]()#~!`<>&;@:/w.$-+=\"'\n\té電") | st.characters(), min_size=1)
)
def test_a_cell_shows_its_text_and_nothing_else(text: str) -> None:
    ((_, _, _, _, shown),) = cells(f"{HEADER}| a | b | c | d | x{escape(text)}x |\n")
    assert {token.type for token in shown} == {"text"}
    assert "".join(token.content for token in shown).replace("\u200b", "") == f"x{visible(text)}x"


def test_the_marker_ends_where_it_should() -> None:
    first = render(hostile_result("--> <script>x</script> --!> y")).splitlines()[0]
    assert first.count("-->") == 1
    assert first.endswith(" -->")
    assert "<" not in first[1:]


def test_many_findings_are_folded() -> None:
    text = render(result(*[located(number=number) for number in range(21)]))
    assert "\n<details><summary>all findings</summary>\n\n| severity" in text
    assert text.endswith("|\n\n</details>\n")
    assert len(cells(text)) == 21


@pytest.mark.parametrize("word", ["x" * 40, "電" * 40, "|" * 40])
def test_a_long_result_is_cut_at_whole_rows(word: str) -> None:
    spot = Spot(file="parts/board.toml")
    made = result(*[located(message=word, hint=word, spot=spot) for _ in range(3000)])
    text = render(made)
    assert len(text) <= LIMIT
    assert len(text.encode()) <= LIMIT
    rows = cells(text)
    assert {len(row) for row in rows} == {5}
    assert 0 < len(rows) < 3000
    assert "3000 errors in 4 files" in text.splitlines()[1]
    assert text.endswith(f"\n</details>\n\nand {3000 - len(rows)} more, left out for length\n")
    # one row more would not have fitted
    longest = max(len(line.encode()) for line in text.splitlines()) + 1
    assert len(text.encode()) + longest > LIMIT - 60


def test_one_row_too_long_leaves_the_totals() -> None:
    text = render(result(located(message="x" * LIMIT)))
    assert len(text) <= LIMIT
    assert cells(text) == []
    assert "1 error in 4 files" in text
    assert text.endswith("\nand 1 more, left out for length\n")


def test_hostile_rows_are_cut_at_whole_rows_too() -> None:
    made: CheckResult = hostile_findings("a|b\n<c> @d", 3000)
    assert {len(row) for row in cells(render(made))} == {5}
