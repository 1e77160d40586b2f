"""Two branches of one file, merged by record: by hand, and no record is ever lost on generated ones."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ferrule.load.flat import flat_text
from ferrule.load.merging import merge_texts, merge_trees, read_tree, says_same
from ferrule.load.toml_text import block_text

BASE = """\
# the board
[assembly]
id = "TOP"
rev = "A"

# ten
[[line]]
item = 10
part = "A"  # the a
qty = 2
designators = "R1, R2"

[[line]]
item = 20
part = "B"
qty = 1
"""


def line(item: int, part: str, more: str = "qty = 1\n") -> str:
    return f'\n[[line]]\nitem = {item}\npart = "{part}"\n{more}'


def merged(ours: str, theirs: str, base: str = BASE) -> str:
    found = merge_texts(base, ours, theirs)
    assert found.clashes == ()
    assert found.text is not None
    return found.text


def clashes(ours: str, theirs: str, base: str = BASE) -> list[str]:
    found = merge_texts(base, ours, theirs)
    assert found.text is None
    return [clash.words for clash in found.clashes]


def test_both_sides_of_one_line_and_both_new_lines() -> None:
    ours = BASE.replace("qty = 1", "qty = 3") + line(30, "C")
    theirs = BASE.replace("qty = 1", 'qty = 1\nstep = "place"') + "\n# forty" + line(40, "D")
    assert merged(ours, theirs) == (
        BASE.replace("qty = 1", 'qty = 3\nstep = "place"') + line(30, "C") + "\n# forty" + line(40, "D")
    )


def test_places_that_both_gave_count_as_both() -> None:
    ours = BASE.replace('qty = 2\ndesignators = "R1, R2"', 'qty = 3\ndesignators = "R1-R3"')
    theirs = BASE.replace('qty = 2\ndesignators = "R1, R2"', 'qty = 2\ndesignators = "R2, R9"')
    assert 'qty = 3\ndesignators = "R2, R3, R9"' in merged(ours, theirs)


def test_a_quantity_that_both_changed_is_a_true_conflict() -> None:
    assert clashes(BASE.replace("qty = 1", "qty = 3"), BASE.replace("qty = 1", "qty = 4")) == [
        "line 20, qty: 3 here, 4 there, was 1"
    ]


def test_the_same_new_item_for_two_parts_is_a_true_conflict() -> None:
    assert clashes(BASE + line(30, "C"), BASE + line(30, "D")) == [
        'line 30, part: "C" here, "D" there, was not stated'
    ]
    assert merged(BASE + line(30, "C"), BASE + line(30, "C")) == BASE + line(30, "C")


def test_taken_out_here_and_changed_there_is_a_true_conflict() -> None:
    without = BASE[: BASE.index("\n[[line]]\nitem = 20")]
    (told,) = clashes(without, BASE.replace("qty = 1", "qty = 4"))
    assert told == (
        'line 20: not stated here, { item = 20, part = "B", qty = 4 } there, was { item = 20, part = "B", qty = 1 }'
    )
    assert merged(without, BASE) == without
    assert read_tree(merged(BASE, without)) == read_tree(without)


def test_remarks_of_both_sides_stay() -> None:
    ours = BASE.replace("# ten", "# ten, for us").replace("qty = 1", "qty = 3")
    theirs = BASE.replace('rev = "A"', 'rev = "B"  # after the review').replace(
        "# the board", "# the board\n# of rev B"
    )
    text = merged(ours, theirs)
    for remark in ("# ten, for us", "# the a", "# after the review", "# of rev B", "# the board"):
        assert text.count(remark) >= 1, remark


def test_parts_and_their_sources() -> None:
    base = (
        '[part.A]\nname = "a"\n[[part.A.source]]\nmaker = "m"\nseller = "s"\nmoq = 5\n[part.B]\nname = "b"\n'
    )
    ours = base.replace("moq = 5", "moq = 7") + '[part.C]\nname = "c"\n'
    theirs = (
        base.replace("moq = 5", 'moq = 5\nlead_time = "3 weeks"').replace('[part.B]\nname = "b"\n', "")
        + '[[part.A.source]]\nmaker = "n"\nseller = "s"\n'
    )
    tree = read_tree(merged(ours, theirs, base))
    assert tree["part"]["A"]["source"] == [
        {"maker": "m", "seller": "s", "moq": 7, "lead_time": "3 weeks"},
        {"maker": "n", "seller": "s"},
    ]
    assert set(tree["part"]) == {"A", "C"}


def test_price_breaks_in_one_row_are_joined_by_quantity() -> None:
    base = "[part.A]\n[[part.A.source]]\nmaker = 'm'\nprice = [{ from = 1, each = 2 }, { from = 100, each = 1 }]\n"
    ours, theirs = base.replace("each = 2", "each = 2.5"), base.replace("each = 1 }", "each = 1.25 }")
    assert "price = [{ from = 1, each = 2.5 }, { from = 100, each = 1.25 }]" in merged(ours, theirs, base)


def test_the_order_of_steps_is_not_guessed() -> None:
    base = '[assembly]\nid = "T"\nsteps = [{ name = "a" }, { name = "b" }]\n'
    ours = base.replace('{ name = "a" }, ', '{ name = "x" }, { name = "a" }, ')
    theirs = base.replace('{ name = "b" }', '{ name = "b" }, { name = "y" }')
    assert clashes(ours, theirs, base)[0].startswith("assembly steps: ")


def test_entries_that_nothing_tells_apart_are_not_joined() -> None:
    twice = BASE + line(20, "B")
    found = merge_texts(twice, twice.replace('rev = "A"', 'rev = "B"') + line(30, "C"), twice + line(40, "D"))
    assert found.text is None
    assert [clash.where for clash in found.clashes] == ["line"]


def test_line_ends_of_windows_are_kept() -> None:
    ours = (BASE.replace("qty = 1", "qty = 3")).replace("\n", "\r\n")
    theirs = (BASE + line(40, "D")).replace("\n", "\r\n")
    text = merged(ours, theirs, BASE.replace("\n", "\r\n"))
    assert text.count("\n") == text.count("\r\n")
    assert [row["item"] for row in read_tree(text)["line"]] == [10, 20, 40]


def test_what_is_no_toml_is_refused() -> None:
    with pytest.raises(ValueError, match="Invalid value"):
        merge_texts(BASE, BASE, "item = \n")


# --- laws ------------------------------------------------------------------------------------------------

FACTS = st.fixed_dictionaries(
    {"part": st.sampled_from("AB"), "qty": st.integers(1, 3)},
    optional={"step": st.sampled_from(["x", "y"]), "note": st.sampled_from(["n", "#m"])},
)
LINES = st.dictionaries(st.integers(1, 6), FACTS, max_size=5)


def written(lines: dict[int, dict[str, Any]], order: list[int] | None = None) -> str:
    rows = [
        block_text(("line",), {"item": item, **lines[item]}, many=True, about=[f"about {item}"])
        for item in (order or sorted(lines))
    ]
    return '[assembly]\nid = "T"\n' + "".join(f"\n{row}" for row in rows)


@pytest.mark.property
@settings(max_examples=200, deadline=None)
@given(LINES, LINES, LINES)
def test_no_record_is_lost_and_both_intentions_hold(
    base: dict[int, dict[str, Any]], ours: dict[int, dict[str, Any]], theirs: dict[int, dict[str, Any]]
) -> None:
    found = merge_texts(written(base), written(ours), written(theirs))
    if found.text is None:
        assert found.clashes
        return
    got = {row["item"]: row for row in read_tree(found.text).get("line", [])}
    for item in {*base, *ours, *theirs}:
        was, mine, other = (
            {"item": item, **side[item]} if item in side else {} for side in (base, ours, theirs)
        )
        for field in {*was, *mine, *other}:
            values = [side.get(field) for side in (was, mine, other)]
            wanted = values[2] if values[1] == values[0] else values[1]
            if (mine and other) or was in (mine, other):
                assert got.get(item, {}).get(field) == wanted, (item, field)
    for remark in (f"# about {item}" for item in got):
        assert remark in found.text


@pytest.mark.property
@settings(max_examples=100, deadline=None)
@given(LINES, LINES, st.randoms(use_true_random=False))
def test_one_side_alone_is_taken_whole_in_any_order(
    base: dict[int, dict[str, Any]], theirs: dict[int, dict[str, Any]], chance: Any
) -> None:
    order = sorted(base)
    chance.shuffle(order)
    shuffled = written(base, order)
    for ours, other in ((shuffled, written(theirs)), (written(theirs), shuffled)):
        found = merge_texts(written(base), ours, other)
        assert found.text is not None
        assert says_same(read_tree(found.text), read_tree(written(theirs)))


@pytest.mark.property
@given(LINES, LINES, LINES)
def test_the_other_way_round_says_the_same(
    base: dict[int, dict[str, Any]], ours: dict[int, dict[str, Any]], theirs: dict[int, dict[str, Any]]
) -> None:
    trees = [read_tree(written(side)) for side in (base, ours, theirs)]
    one, clashed = merge_trees(*trees)
    other, also = merge_trees(trees[0], trees[2], trees[1])
    assert sorted(clash.where for clash in clashed) == sorted(clash.where for clash in also)
    if not clashed:
        assert says_same(one, other)


# --- flat text -------------------------------------------------------------------------------------------


def test_flat_text_is_the_same_in_any_order() -> None:
    rows = flat_text(BASE).splitlines()
    assert "assembly/TOP/line/20/qty = 1" in rows
    assert rows == sorted(rows)
    head, ten, twenty = (
        BASE.partition("\n# ten")[0],
        *BASE.partition("\n# ten")[2].split("\n[[line]]\nitem = 20"),
    )
    assert flat_text(f"{head}\n\n[[line]]\nitem = 20{twenty}\n# ten{ten}") == flat_text(BASE)
    assert flat_text("no = = toml") == "no = = toml"
