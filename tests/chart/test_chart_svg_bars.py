"""Bars as SVG: lengths are the values, nothing covers anything, the unknown is open."""

from __future__ import annotations

import itertools
from decimal import Decimal

import pytest
from chart_examples import COST, SVG, bars, drawn, drawn_bars, segments, texts
from hypothesis import given
from hypothesis import strategies as st

from ferrule.chart.svg import as_svg
from ferrule.report.picture import Bar, Bars, Rounding, Segment

#: Written with two decimals, so each end may be off by half of the last one.
CLOSE = 0.011


def test_lengths_by_hand() -> None:
    # 760 wide leaves 760 - 2 * 16 = 728 for the longest bar, which is 8: 91 pixels for 1.
    first, second = drawn_bars(drawn(bars({"a": "5", "b": "3"}, {"a": "2", "b": "0.5"})))
    assert segments(first) == [(0, 455), (455, 273)]
    assert segments(second) == [(0, 182), (182, 45.5)]


def test_an_unknown_end_takes_its_room_from_every_bar() -> None:
    # 30 pixels are kept for the open end: (728 - 30) / 8 = 87.25 pixels for 1.
    first, second = drawn_bars(drawn(bars({"a": "5", "b": "3"}, {"a": "2", "b": None})))
    assert segments(first) == [(0, 436.25), (436.25, 261.75)]
    assert segments(second) == [(0, 174.5)]


values = st.decimals(0, 10**6, places=3)
rows = st.lists(st.dictionaries(st.sampled_from("abcdefghij"), st.none() | values), min_size=1, max_size=5)


@given(rows, st.sampled_from([280, 360, 760, 1000]))
def test_every_length_is_its_value_on_one_scale(
    given_rows: list[dict[str, Decimal | None]], wide: int
) -> None:
    picture = Bars(
        title="", description="", unit="EUR",
        rows=tuple(Bar("", tuple(map(Segment, row, row.values()))) for row in given_rows),
    )  # fmt: skip
    unknown = any(value is None for row in given_rows for value in row.values())
    longest = max(sum(value or 0 for value in row.values()) for row in given_rows)
    scale = (wide - 32 - (30 if unknown else 0)) / float(longest) if longest else 0
    for bar, row in zip(drawn_bars(drawn(picture, width=wide)), given_rows, strict=True):
        reached = Decimal(0)
        lengths = iter(segments(bar))
        for value in row.values():
            if value:
                start, length = next(lengths)
                assert abs(start - float(reached) * scale) < CLOSE
                assert abs(length - float(value) * scale) < CLOSE
                reached += value
        assert next(lengths, None) is None


@given(rows, st.sampled_from([280, 360, 760]))
def test_every_value_is_written_once_and_over_nothing(
    given_rows: list[dict[str, Decimal | None]], wide: int
) -> None:
    picture = bars(*({n: None if v is None else str(v) for n, v in row.items()} for row in given_rows))
    written = list(texts(drawn(picture, width=wide)))
    for index, one in enumerate(written):
        assert one.left >= 0
        assert one.right <= wide
        assert not [other.text for other in written[index + 1 :] if one.meets(other)]
    known = sum(value is not None for row in given_rows for value in row.values())
    shown = " ".join(one.text for one in written).replace("at least ", "")
    names = {name for row in given_rows for name in row}
    if names:
        end = shown.index("row 1")
        parts = shown[end:].replace(",", " ").split(" ")
        letters = [chr(ord("A") + index) for index in range(len(names))]
        pairs = [a for a, b in itertools.pairwise(parts) if a in letters and b[:1].isdigit()]
        assert len(pairs) == known


def test_a_value_stands_in_its_segment_or_under_the_bar() -> None:
    # "A 95.00" takes 7 * 12 * 0.61 = 52 of the first 691 pixels; "B 5.00" would take 44 and 8 of 36: only "B" fits.
    root = drawn(bars({"a": "95", "b": "5"}))
    (bar,) = drawn_bars(root)
    assert [one.text for one in texts(bar)] == ["A 95.00", "B"]
    assert [one.text for one in texts(root)][-1] == "also B 5.00"


def test_an_unknown_value_is_open_and_never_zero() -> None:
    root = drawn(bars({"a": "3", "duty": None}))
    (bar,) = drawn_bars(root)
    written = [one.text for one in texts(root)]
    assert "at least 3.00" in written
    assert "?" in written
    assert "not known: B duty" in written
    (open_end,) = [rect for rect in bar.iter(f"{SVG}rect") if rect.get("class") == "ferrule-unknown"]
    assert float(open_end.get("x", "nan")) == sum(segments(bar)[-1])
    assert open_end.get("fill") == "url(#picture-fill-unknown)"


def test_a_bar_of_which_nothing_is_known_says_so() -> None:
    written = [one.text for one in texts(drawn(bars({"a": None})))]
    assert "not known" in written
    assert not [text for text in written if "0.00" in text and "at least" in text]


def test_a_stated_zero_is_known() -> None:
    root = drawn(bars({"a": "3", "duty": "0"}))
    assert "at least" not in as_svg(bars({"a": "3", "duty": "0"}))
    assert [one.text for one in texts(root)][-1] == "also B 0.00"


def test_a_credit_is_taken_off_the_end() -> None:
    # 728 pixels for 8; 2 taken off reach back from 728 to 546.
    root = drawn(bars({"a": "8", "credit": "-2"}))
    (bar,) = drawn_bars(root)
    assert segments(bar) == [(0, 728)]
    (frame,) = [path.get("d") for path in bar.iter(f"{SVG}path")]
    assert frame == "M546 35 H728 v6 H546 Z"
    written = [one.text for one in texts(root)]
    assert "6.00" in written
    assert "taken off: B credit -2.00" in written


def test_the_same_element_looks_the_same_in_every_row() -> None:
    root = drawn(bars({"a": "3", "b": "4"}, {"b": "2", "a": "1"}))
    first, second = drawn_bars(root)
    looks = [
        [(rect.get("class"), rect.get("fill")) for rect in bar.iter(f"{SVG}rect")] for bar in (first, second)
    ]
    assert looks[0][:1] == looks[1][2:]  # the first element has no pattern, so one rectangle
    assert looks[0][1:] == looks[1][:2]
    assert looks[0][:1] != looks[0][1:2]


@pytest.mark.parametrize(
    ("rounding", "expected"),
    [(Rounding(), "0.13"), (Rounding(half_even=True), "0.12"), (Rounding(places=0), "0")],
)
def test_shown_values_are_rounded_as_the_picture_says(rounding: Rounding, expected: str) -> None:
    picture = Bars(
        title="", description="", unit="", rounding=rounding,
        rows=(Bar("", (Segment("a", Decimal("0.125")),)),),
    )  # fmt: skip
    assert f"A {expected}" in [one.text for one in texts(drawn(picture))]


def test_values_that_do_not_add_up_once_rounded_are_explained() -> None:
    # 0.004 + 0.004 = 0.008 is shown as 0.00, 0.00 and 0.01.
    said = "may not add up"
    assert said in as_svg(bars({"a": "0.004", "b": "0.004"}), width=1200)
    assert said not in as_svg(bars({"a": "0.04", "b": "0.04"}), width=1200)


def test_no_rows_and_no_lengths() -> None:
    empty = Bars(title="t", description="d", unit="EUR", rows=())
    assert "nothing to show" in [one.text for one in texts(drawn(empty))]
    assert segments(drawn_bars(drawn(bars({"a": "0"})))[0]) == []


def test_the_elements_are_in_the_key_once() -> None:
    written = [one.text for one in texts(drawn(COST))]
    for key in ("A board and parts", "H duty", "J returned deposit"):
        assert written.count(key) == 1
