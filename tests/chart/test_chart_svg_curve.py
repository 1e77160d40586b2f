"""Step lines as SVG: every corner where its numbers say, causes beside the steps, gaps where nothing is known."""

from __future__ import annotations

from decimal import Decimal

import pytest
from chart_examples import BALANCE, EXAMPLES, SVG, VOLUMES, Written, drawn, line, texts
from hypothesis import given
from hypothesis import strategies as st

from ferrule.report.picture import Curve, Floor, Line, Step


def curve(*lines: Line, **more: object) -> Curve:
    return Curve(
        title="t", description="d", unit_x="weeks", unit_y="EUR", lines=lines, **more,  # type: ignore[arg-type]
    )  # fmt: skip


def paths(picture: Curve, look: str = "ferrule-line", wide: int = 760) -> list[str]:
    root = drawn(picture, width=wide)
    return [path.get("d", "") for path in root.iter(f"{SVG}path") if path.get("class") == look]


def test_corners_by_hand() -> None:
    # Up: 0 to 100. Along: 0 to 10. The numbers at the left take 3 * 12 * 0.61 = 21.96 pixels, 10 more and the margin
    # of 16 make 47.96; the last point is 14 before the right margin, at 730. Halfway is 388.98.
    # Title (18.75 -> 21 + 4 after 16) and one line of text (17) end at 58, 14 more is the top: 72, 220 below is 292.
    (path,) = paths(curve(line("", {0: "100", 5: "50", 10: "0"})))
    assert path == "M47.96 72 H388.98 V182 H730 V292 H744"


def test_an_unknown_value_leaves_a_gap() -> None:
    (path,) = paths(curve(line("", {0: "100", 5: None, 10: "0"})))
    assert path == "M47.96 72 H388.98 M730 292 H744"


def test_equal_factors_take_equal_room() -> None:
    # 10 lies halfway between 1 and 100.
    (path,) = paths(curve(line("", {1: "100", 10: "50", 100: "0"}), spread="ratio"))
    assert path == "M47.96 72 H388.98 V182 H730 V292 H744"


def test_no_place_for_zero_where_factors_count() -> None:
    with pytest.raises(ValueError, match="zero or less"):
        paths(curve(line("", {0: "100", 10: "50"}), spread="ratio"))


def test_a_scale_without_zero_says_so() -> None:
    def said(picture: Curve) -> str:
        return next(one.text for one in texts(drawn(picture)) if one.text.startswith("up:"))

    assert (
        said(curve(line("", {0: "41", 5: "40"}))) == "up: EUR, from 40.0 to 41.0, not from zero; along: weeks"
    )
    assert said(curve(line("", {0: "41", 5: "20"}))) == "up: EUR, from 0 to 50; along: weeks"
    assert said(curve(line("", {0: "-1", 5: "20"}))) == "up: EUR, from -5 to 20; along: weeks"


def written(picture: Curve, wide: int = 760) -> dict[str, Written]:
    return {one.text: one for one in texts(drawn(picture, width=wide))}


def test_a_cause_stands_beside_its_step() -> None:
    found = written(curve(line("", {0: "100", 5: "50", 10: "0"}), labels=(Step(Decimal(5), "second tool"),)))
    label = found["second tool, 50.00"]
    assert label.left == pytest.approx(388.98 + 7)
    assert label.bottom < 182 < label.bottom + 8


def test_a_cause_without_room_is_numbered_and_told_below() -> None:
    cause = "a very long cause " * 8
    found = written(curve(line("", {0: "100", 5: "50", 10: "0"}), labels=(Step(Decimal(5), cause),)))
    assert found["(1)"].left == pytest.approx(388.98 + 7)
    assert any(text.startswith("(1) at 5: 100.00 to 50.00, a very long cause") for text in found)


def test_a_cause_of_another_line_and_one_outside() -> None:
    two = (line("a", {0: "100", 10: "90"}), line("b", {0: "10", 5: "20", 10: "30"}))
    labels = (
        Step(Decimal(5), "why b", "b"),
        Step(Decimal(99), "why not", "a"),
        Step(Decimal(5), "whose", "no line"),
    )
    found = written(curve(*two, labels=labels))
    assert "why b, 20.00" in found
    assert "(1) a at 99: 90.00, why not" in found
    assert "(2) no line at 5: whose" in found


def test_names_stand_at_the_ends_and_never_on_each_other() -> None:
    ends = {"a": "50", "b": "50.1", "c": "50", "d": "0"}
    found = written(curve(*(line(name, {0: "100", 5: end}) for name, end in ends.items())))
    assert [found[name].left for name in ends] == [pytest.approx(744 - 0.61 * 12 - 12 + 11)] * 4
    heights = sorted(found[name].top for name in "abc")
    assert heights[1] - heights[0] >= 17
    assert heights[2] - heights[1] >= 17
    assert found["b"].top < found["a"].top < found["c"].top < found["d"].top  # the highest end first


def test_a_name_too_long_for_the_edge_has_a_letter_there() -> None:
    name = "a name " * 20
    found = written(curve(line("short", {0: "1", 5: "2"}), line(name, {0: "2", 5: "1"})))
    assert {"short", "B"} <= set(found)
    assert any(text.startswith("B a name a name") for text in found)


def test_the_lowest_point_is_the_earliest_of_equals() -> None:
    picture = curve(line("", {0: "9", 2: "1", 4: "5", 6: "1", 10: "7"}), lowest="trough")
    assert "trough 1.00 at 2" in written(picture)
    (dot,) = drawn(picture).iter(f"{SVG}circle")
    # "10" takes 2 * 12 * 0.61 = 14.64 pixels, so the plot begins at 40.64; a fifth of 689.36 on is 178.512.
    assert (dot.get("cx"), dot.get("r")) == ("178.51", "4")


def test_the_floor_is_level_and_dashed() -> None:
    picture = curve(line("", {0: "100", 10: "0"}), floor=Floor(Decimal(25), "floor"))
    assert paths(picture, "ferrule-floor") == ["M47.96 237 H744"]  # 292 - 220 / 4
    assert "floor 25.00" in written(picture)


def test_places_have_their_names() -> None:
    found = written(BALANCE)
    assert {"2027-W10", "2027-W23"} <= set(found)
    assert "trough -24,400.00 at 2027-W19" in found


def test_nothing_known_and_no_lines() -> None:
    for picture in (curve(), curve(line("", {})), curve(line("", {0: None, 5: None}))):
        assert "nothing to show" in written(picture)


def test_numbers_too_long_for_a_picture_are_told_in_words() -> None:
    found = written(curve(line("", {0: "1" + "0" * 39, 5: "0"})), 280)
    assert "too narrow to be drawn" in found


numbers = st.none() | st.decimals(-(10**6), 10**6, places=2)
names = st.sampled_from(["", "a", "as-agreed", "a longer name", "a name " * 20])
lines = st.builds(
    Line,
    names,
    st.dictionaries(st.integers(0, 30).map(Decimal), numbers, max_size=9).map(lambda d: tuple(sorted(d.items(), key=lambda p: p[0]))),
)  # fmt: skip
steps = st.builds(
    Step, st.integers(0, 30).map(Decimal), st.sampled_from(["tool", "parts for build 2", "cause " * 20])
)
curves = st.builds(
    Curve,
    title=st.just("t"),
    description=st.just("d"),
    unit_x=st.just("weeks"),
    unit_y=st.just("EUR"),
    lines=st.lists(lines, max_size=7).map(tuple),
    labels=st.lists(steps, max_size=7).map(tuple),
    floor=st.none() | st.builds(Floor, st.integers(-5000, 5000).map(Decimal), st.just("floor")),
    lowest=st.sampled_from(["", "trough"]),
)


@given(curves, st.sampled_from([280, 360, 760]))
def test_no_text_meets_another_or_leaves_the_picture(picture: Curve, wide: int) -> None:
    root = drawn(picture, width=wide)
    found = list(texts(root))
    tall = float(root.get("height", "nan"))
    for index, one in enumerate(found):
        assert one.left >= 0
        assert one.right <= wide
        assert one.bottom <= tall
        assert not [other.text for other in found[index + 1 :] if one.meets(other)]


@pytest.mark.parametrize("name", list(EXAMPLES))
@pytest.mark.parametrize("wide", [280, 360, 760, 1200])
def test_no_text_of_the_examples_meets_another(name: str, wide: int) -> None:
    found = list(texts(drawn(EXAMPLES[name], width=wide)))
    meeting = [(a.text, b.text) for i, a in enumerate(found) for b in found[i + 1 :] if a.meets(b)]
    assert meeting == []


def test_labels_keep_clear_of_the_line() -> None:
    found = written(VOLUMES)
    label = found["full reel of regulators, 60.40"]
    (path,) = paths(VOLUMES)
    heights = {float(part[1:]) for part in path.split() if part[0] == "V"}
    assert not [y for y in heights if label.top < y < label.bottom]
