"""Positions agree with the parser: every value's text, parsed again, is the value."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
import tomli
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from ferrule.diagnostics.finding import Path
from ferrule.load.locate import Positions

DOCUMENT = '''# every construct
title = "a # no comment"
"quoted key" = 'literal'
dotted.one."two three" = 1.50
list = [1, 2, # comment
  [3, "]"], { x = 1, y = [ { z = "}" } ] },
]
text = """
line [not] a = table
"""
raw = \'\'\'\'quoted\'\'\'
when = 1979-05-27 07:32:00
day = 2026-10-01 # comment
on=true

[table]
a = 1
[table.sub."x.y"]
b = { c = { d = 1 } }
[[many]]
n = 0
[[many.inner]]
m = 0
[[many.inner]]
m = 1
[[many]]
n = 1
[many.deep]
q = -1e3
'''


def leaves(node: Any, path: Path = ()) -> list[tuple[Path, Any]]:
    if isinstance(node, dict):
        return [leaf for key, value in node.items() for leaf in leaves(value, (*path, key))]
    if isinstance(node, list):
        return [leaf for number, value in enumerate(node) for leaf in leaves(value, (*path, number))]
    return [(path, node)]


def check_all(text: str) -> int:
    tree = tomli.loads(text, parse_float=Decimal)
    positions = Positions(text)
    found = leaves(tree)
    for path, value in found:
        start, end = positions.span(path, key=False)
        assert tomli.loads(f"v = {text[start:end]}", parse_float=Decimal)["v"] == value, path
        if isinstance(path[-1], str):
            start, end = positions.span(path, key=True)
            assert tomli.loads(f"{text[start:end]} = 1") == {path[-1]: 1}
    return len(found)


@pytest.mark.parametrize("text", [DOCUMENT, DOCUMENT.replace("\n", "\r\n")], ids=["lf", "crlf"])
def test_every_construct(text: str) -> None:
    assert check_all(text) == 21


def test_lines_and_columns_count_from_one_in_code_points() -> None:
    positions = Positions('é = "µ"\n[a]\nb = 1\n')
    assert positions.line_column(positions.span(("é",), key=False)[0]) == (1, 5)
    assert positions.line_column(positions.span(("a", "b"), key=True)[0]) == (3, 1)
    assert positions.line_column(positions.span(("a", "missing"), key=True)[0]) == (2, 2)


SCALARS = st.one_of(
    st.integers(-(10**6), 10**6),
    st.booleans(),
    st.dates(dt.date(1900, 1, 1), dt.date(2100, 1, 1)),
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12),
)
KEYS = st.text(st.sampled_from("abc-_.1 é\"'#"), min_size=1, max_size=5)
TREES = st.dictionaries(
    KEYS,
    st.recursive(
        SCALARS,
        lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=3)),
        max_leaves=12,
    ),
    max_size=5,
)


@pytest.mark.property
@settings(max_examples=150, deadline=None)
@given(TREES)
def test_generated_documents(tree: dict[str, Any]) -> None:
    check_all(tomlkit.dumps(tree))
