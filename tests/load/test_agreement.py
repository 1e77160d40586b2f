"""The reader and the schema accept the same files; what they refuse is explained, and the rest is read."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

import msgspec
import pytest
import tomli
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import load
from ferrule.load.kinds import KINDS, kind_of
from ferrule.load.schema import explain
from ferrule.load.values import read_value

ROOT = Path(__file__).parents[2] / "example-product"
FILES = sorted(
    path
    for path in ROOT.rglob("*.toml")
    if not any(part.startswith(".") for part in path.relative_to(ROOT).parts)
)


def trees() -> list[tuple[str, dict[str, Any]]]:
    found = []
    for path in FILES:
        tree = tomli.loads(path.read_text(), parse_float=Decimal)
        kind = kind_of(tree)
        assert kind is not None
        found.append((kind, tree))
    return found


TREES = trees()


def reads(kind: str, tree: dict[str, Any]) -> bool:
    try:
        msgspec.convert(tree, KINDS[kind], dec_hook=read_value)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("number", range(len(FILES)), ids=[path.name for path in FILES])
def test_example_files_fit(number: int) -> None:
    kind, tree = TREES[number]
    assert reads(kind, tree)
    assert explain(kind, tree) == []


def paths(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    below = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [path] * bool(path) + [deep for key, value in below for deep in paths(value, (*path, key))]


JUNK: list[Any] = [
    "", "x", "12 weeks", "30 %", "5 EUR", "week 3", "FCA x", "C1-C3", 0, 1, -1, Decimal("1.5"), Decimal("nan"), True,
    [], {}, [1], ["EU"], {"zz": 1}, dt.date(2026, 1, 1), dt.datetime(2026, 1, 1, 12, 0, tzinfo=dt.UTC), dt.time(12, 0), "evt", "approved",
]  # fmt: skip


@pytest.mark.property
@settings(max_examples=400, deadline=None)
@given(st.data())
def test_a_file_is_refused_by_both_or_by_neither(data: st.DataObject) -> None:
    kind, tree = data.draw(st.sampled_from(TREES))
    broken = _copy(tree)
    path = data.draw(st.sampled_from(paths(broken)))
    holder = broken
    for key in path[:-1]:
        holder = holder[key]
    action = data.draw(st.sampled_from(["replace", "remove", "add"]))
    if action == "remove":
        del holder[path[-1]]
    elif action == "add" and isinstance(holder, dict):
        holder[data.draw(st.sampled_from(["zz", "name", "moq", "", "a b"]))] = data.draw(
            st.sampled_from(JUNK)
        )
    else:
        holder[path[-1]] = data.draw(st.sampled_from(JUNK))
    assert reads(kind, broken) == (explain(kind, broken) == [])


def _copy(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _copy(value) for key, value in node.items()}
    return [_copy(value) for value in node] if isinstance(node, list) else node


def test_what_does_not_fit_hides_nothing_else() -> None:
    loaded = load(
        {
            "parts/a.toml": '[part.A]\nname = "A"\nclas = "board"\n\n[[part.A.source]]\nmoq = "5000"\nmultiple = 50\n\n[part.B]\nname = "B"\n',
            "assemblies/t.toml": '[assembly]\nid = "T1"\n\n[[line]]\npart = "A"\nqty = 1\n\n[[line]]\nitem = 2\npart = "B"\nqty = 3\n',
        }
    )
    assert [(f.rule, f.place.path) for f in loaded.findings] == [
        ("missing-key", ("line", 0, "item")),
        ("unknown-key", ("part", "A", "clas")),
        ("malformed-value", ("part", "A", "source", 0, "moq")),
    ]
    product = loaded.product
    assert product.parts["A"].name == "A"
    assert product.parts["A"].source[0].multiple == 50
    assert product.parts["A"].source[0].moq is None
    assert [line.item for line in product.lines["T1"]] == [2]


def test_places_lead_back_past_what_was_left_out() -> None:
    loaded = load(
        {
            "assemblies/t.toml": '[assembly]\nid = "T1"\n'
            + "".join(
                f'\n[[line]]\n{head}part = "P{n}"\nqty = 1\n'
                for n, head in enumerate(["", "item = 2\n", "", "item = 4\n", "item = 5\n"])
            )
        }
    )
    holes = loaded.holes["assemblies/t.toml"]
    assert [line.item for line in loaded.product.lines["T1"]] == [2, 4, 5]
    assert [holes.original(("line", n, "qty")) for n in range(3)] == [
        ("line", 1, "qty"),
        ("line", 3, "qty"),
        ("line", 4, "qty"),
    ]


def test_a_record_that_cannot_be_read_is_not_called_unknown() -> None:
    loaded = load({"p.toml": '[part.A]\nname = "A"\nunknown = 1\n', "q.toml": 'part = "nonsense"\n'})
    assert loaded.product.knows("part", "A")
    assert not loaded.product.knows("part", "B")


def test_the_same_id_in_two_files_names_both() -> None:
    loaded = load(
        {"a.toml": "[part.A]\n", "b.toml": '[part.A]\nname = "again"\n', "c.toml": '[assembly]\nid = "A"\n'}
    )
    assert [(f.rule, f.place.file, f.related[0].place.file) for f in loaded.findings] == [
        ("id-defined-twice", "b.toml", "a.toml"),
        ("id-defined-twice", "c.toml", "a.toml"),
    ]
    assert loaded.product.parts["A"].name is None
