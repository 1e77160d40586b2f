"""Strips of time: places worked by hand, and what must hold for any picture."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from chart_examples import SEASON, SVG, day, drawn, texts
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from ferrule.chart.days import Axis, axis_of, calendar_marks, columns_of, plan_marks
from ferrule.chart.looks import STRIPS
from ferrule.chart.marks import as_marks
from ferrule.chart.wording import strip_label
from ferrule.model.columns import width
from ferrule.report.picture import Closed, Picture, Stretch, StripRow, Strips


def strips(*rows: StripRow, last: int = 99, **more: object) -> Strips:
    """Return strips on an axis from Monday, 2027-01-04."""
    return Strips(
        title="t", description="d", start=day(0), end=day(last), rows=rows, **more,  # type: ignore[arg-type]
    )  # fmt: skip


def rects(picture: Picture, wide: int = 760, look: str = "ferrule-stretch") -> list[ET.Element]:
    root = drawn(picture, width=wide)
    return [rect for rect in root.iter(f"{SVG}rect") if look in rect.get("class", "").split()]


def spans(picture: Picture, wide: int = 760) -> list[tuple[float, float]]:
    return [(float(rect.get("x", "nan")), float(rect.get("width", "nan"))) for rect in rects(picture, wide)]


# The axis


def test_an_axis_counts_whole_days() -> None:
    axis = Axis(day(0), day(99))
    found = axis.at(day(0)), axis.at(day(50)), axis.after(day(99))
    assert found == (Fraction(0), Fraction(1, 2), Fraction(1))
    assert (axis.at(day(-5)), axis.at(day(500))) == (Fraction(0), Fraction(1))
    assert axis.holds(day(-5), day(0))
    assert axis.holds(day(99), day(120))
    assert not axis.holds(day(-5), day(-1))
    assert not axis.holds(day(100), day(120))
    assert axis_of(strips()) is None
    assert axis_of(strips(StripRow("a", ()), last=-1)) is None


def test_a_short_axis_names_weeks_and_a_long_one_months() -> None:
    # 2026-12-28 is the Monday of 2026-W53, a week only years with 53 have (ISO 8601); 182 days are 26 weeks.
    weeks, every_second, *_ = calendar_marks(Axis(day(-7), day(20)))
    assert weeks == [(day(-7), "2026-W53"), (day(0), "2027-W01"), (day(7), "W02"), (day(14), "W03")]
    assert every_second == [(day(7), "2027-W02")]
    assert next(calendar_marks(Axis(day(1), day(182))))[0] == (day(7), "2027-W02")
    months = next(calendar_marks(Axis(day(0), day(370))))
    assert months[0] == (dt.date(2027, 2, 1), "Feb 2027")
    assert months[1] == (dt.date(2027, 3, 1), "Mar")
    assert months[-1] == (dt.date(2028, 1, 1), "Jan 2028")
    assert len(months) == 12


def test_plan_weeks_count_from_their_first_day() -> None:
    numbers, every_second, *_ = plan_marks(Axis(day(0), day(30)), day(-10))
    assert numbers == [(day(4), "week 2"), (day(11), "3"), (day(18), "4"), (day(25), "5")]
    assert every_second == [(day(4), "week 2"), (day(18), "4")]
    # No week comes before 0.
    assert next(plan_marks(Axis(day(0), day(30)), day(20))) == [(day(20), "week 0"), (day(27), "1")]


def test_columns_are_whole_for_days_or_weeks() -> None:
    # 100 days from a Monday are 15 weeks, the last of them begun.
    axis = Axis(day(0), day(99))
    found = {room: columns_of(axis, room) for room in (330, 160, 47, 20, 10)}
    assert [each.said for each in found.values()] == [
        "3 columns are a day",
        "a column is a day",
        "3 columns are a week",
        "a column is a week",
        "a column is 2 weeks",
    ]
    assert [each.count for each in found.values()] == [300, 100, 43, 15, 8]
    # From a Wednesday on, the columns begin with its Monday.
    assert columns_of(Axis(day(2), day(99)), 20).first == day(0)


@given(st.integers(-20, 400), st.integers(0, 400), st.integers(5, 200))
def test_columns_share_out_every_day_once(start: int, length: int, room: int) -> None:
    axis = Axis(day(0), day(300))
    grid = columns_of(axis, room)
    assert grid.count <= room
    assert grid.column(axis.last) < grid.count
    parts = dict(grid.covered(day(start), day(start + length)))
    first, last = max(0, start), min(300, start + length)
    end = int(grid.count * grid.days)
    inside = max(0, min(end, start + length + 1) - first)
    assert sum(parts.values()) == inside or (last == 300 and sum(parts.values()) >= inside)
    assert all(0 < part <= grid.days for part in parts.values())


# Drawn


def test_every_strip_is_as_long_as_its_days() -> None:
    # 760 wide; "row" takes 3 * 12 * 0.61 = 21.96, so the axis is from 16 + 21.96 + 8 = 45.96 to 744: 698.04 for 100 days.
    row = StripRow("row", (Stretch("a", day(0), day(49)), Stretch("b", day(50), day(59), "making")))
    assert spans(strips(row)) == [(45.96, 349.02), (394.98, 69.8)]
    # At 360 names stand above, and the axis takes all between the margins: 328 for 100 days.
    assert spans(strips(row), 360) == [(16, 164), (180, 32.8)]


@given(st.lists(st.tuples(st.integers(-50, 150), st.integers(0, 80)), min_size=1, max_size=8))
@pytest.mark.parametrize("wide", [280, 360, 760])
def test_lengths_are_days_and_what_lies_beyond_is_cut(wide: int, given_days: list[tuple[int, int]]) -> None:
    row = StripRow("", tuple(Stretch("", day(start), day(start + more)) for start, more in given_days))
    found = iter(spans(strips(row), wide))
    left = 24 if wide == 760 else 16
    scale = (wide - 16 - left) / 100
    for start, more in given_days:
        first, last = max(0, start), min(99, start + more)
        if first <= last:
            x, long = next(found)
            assert abs(x - left - first * scale) < 0.011
            assert abs(long - (last - first + 1) * scale) < 0.011
    assert next(found, None) is None


def test_kinds_look_unlike_in_tone_and_pattern() -> None:
    row = StripRow(
        "",
        tuple(
            Stretch(kind, day(20 * at), day(20 * at + 19), kind)  # type: ignore[arg-type]
            for at, kind in enumerate(STRIPS)
        ),
    )
    fills = [rect.get("fill") for rect in rects(strips(row))]
    assert len(set(fills)) == 4
    assert "url(#picture-fill-unknown)" not in fills
    (line,) = [
        text for text in as_marks(strips(row, last=79), 100, ascii_only=True) if text.strip().startswith("W.")
    ]
    assert line.strip() == "W" + "." * 19 + "M" + "#" * 19 + "S" + "=" * 19 + "I" + ":" * 19


def test_what_decides_is_framed_thickly() -> None:
    row = StripRow("row", (Stretch("a", day(0), day(9)), Stretch("b", day(20), day(49))), critical=True)
    (frame,) = [
        rect for rect in rects(strips(row), look="ferrule-line") if float(rect.get("width", "nan")) > 20
    ]
    # From 2 before the first to 2 after the last of 50 days.
    assert (frame.get("x"), frame.get("width"), frame.get("stroke-width")) == ("43.96", "353.02", "2.5")
    plain = rects(strips(replace(row, critical=False)), look="ferrule-line")
    assert plain == []


def test_closures_are_hatched_columns_as_wide_as_their_days() -> None:
    row = StripRow("row", (Stretch("a", day(0), day(9)),))
    closures = (
        Closed("shut", day(10), day(19), "works"),
        Closed("half", day(-9), day(4)),
        Closed("gone", day(-9), day(-1)),
    )
    root = drawn(strips(row, row, closures=closures))
    (ground,) = [group for group in root.iter(f"{SVG}g") if group.find(f"{SVG}rect") is not None][-1:]
    found = [(rect.get("x"), rect.get("width"), rect.get("height")) for rect in ground.iter(f"{SVG}rect") if rect.get("fill") == "url(#picture-fill-unknown)"]  # fmt: skip
    assert found[-2:] == [("115.76", "69.80", "40"), ("45.96", "34.90", "40")]
    written = [one.text for one in texts(root)]
    assert written.count("a") == 1
    assert written.count("b") == 1
    assert "a shut: 2027-01-14 to 2027-01-23, works" in written


def test_the_date_stands_beside_its_tick() -> None:
    def label(row: StripRow) -> tuple[float, float, float]:
        root = drawn(strips(row))
        (one,) = [one for one in texts(root) if one.text == "order by " + str(row.tick)]
        (name,) = [each for each in texts(root) if each.text == "row"]
        return one.left, one.right, one.top - name.top

    # "order by 2027-03-05" takes 19 * 7.32 = 139.08 pixels; day 60 begins at 45.96 + 60 * 6.9804 = 464.78.
    late = StripRow("row", (Stretch("a", day(60), day(79)),), day(60), "order by")
    assert label(late)[0] == pytest.approx(464.78 - 6 - 139.08, abs=0.01)
    # Day 10 begins at 115.76, too near: so it stands right of the strip, which ends at 464.78.
    early = StripRow("row", (Stretch("a", day(10), day(59)),), day(10), "order by")
    assert label(early)[0] == pytest.approx(464.78 + 6, abs=0.01)
    # Neither side has room: under its tick.
    long = StripRow("row", (Stretch("a", day(10), day(95)),), day(10), "order by")
    assert label(long)[0] == pytest.approx(115.76, abs=0.01)
    assert label(long)[2] == 17


def test_on_a_narrow_sheet_name_and_date_stand_above() -> None:
    written = {one.text: one for one in texts(drawn(SEASON, width=360))}
    name, date = written["slow part"], written["order by 2027-01-04"]
    assert name.top == date.top
    assert date.right == pytest.approx(344)


# In text


def lines(picture: Picture, columns: int = 60) -> list[str]:
    return list(as_marks(picture, columns, ascii_only=True))


def test_rows_by_hand() -> None:
    # 40 columns less 3 and 3 for the name: 34. 28 days are 28 columns, a day each.
    closed = (Closed("shut", day(3), day(5)),)
    row = StripRow(
        "row", (Stretch("a", day(7), day(16)), Stretch("b", day(17), day(18), "making")), critical=True
    )
    found = lines(strips(row, last=27, closures=closed, today=day(1)), 40)
    assert "one strip a row; a column is a day" in found
    at = next(number for number, line in enumerate(found) if line.startswith("row"))
    # "2027-W01" and a blank are more than a week long, so every second week is named.
    assert found[at - 2] == "      " + " " * 7 + "2027-W02      W04"
    assert found[at - 1] == "       | a//"
    assert found[at] == "row *  | /// W.........M#"


def test_labels_by_hand() -> None:
    def row(first: int, last: int) -> str:
        made = StripRow("row", (Stretch("a", day(first), day(last)),), day(first), "by")
        found = lines(strips(made, last=39), 46)
        at = next(number for number, line in enumerate(found) if line.startswith("row"))
        return "\n".join(found[at:-1])

    # 46 less 6 is 40: a column a day. "by 2027-01-24" takes 13 and a blank.
    assert row(20, 30) == "row   " + " " * 6 + "by 2027-01-24 oW........."
    assert row(2, 12) == "row   " + "  oW......... by 2027-01-06"
    assert row(2, 38) == "row   " + "  oW by 2027-01-06 " + "." * 20
    assert row(10, 22) == "row   " + " " * 10 + "oW........... by 2027-01-14"
    # Too short to hold it, and no room at its sides.
    assert row(12, 26) == "row   " + " " * 12 + "oW............." + "\n" + " " * 18 + "by 2027-01-16"


def test_a_column_shows_what_has_most_of_it() -> None:
    # 14 days in 2 columns of a week: 4 days of waiting against 3 of making, then 7 of making.
    row = StripRow("row", (Stretch("a", day(0), day(3)), Stretch("b", day(4), day(13), "making")))
    grid = columns_of(Axis(day(0), day(13)), 3)
    assert (grid.days, grid.count) == (Fraction(7), 2)
    far = StripRow("far", (Stretch("c", day(399), day(399), "shipping"),))
    found = lines(strips(row, far, last=399), 64)
    assert "one strip a row; a column is a week" in found
    assert next(line for line in found if line.startswith("row")) == "row   WM"


def test_a_remark_follows_the_date() -> None:
    row = StripRow("row", (), day(3), "order by", remark="late by 6 days")
    assert strip_label(row) == "order by 2027-01-07, late by 6 days"
    assert strip_label(StripRow("row", (), remark="no date")) == "no date"
    assert strip_label(StripRow("row", ())) == ""


def test_words_hold_every_day() -> None:
    said = (drawn(SEASON).findtext(f"{SVG}desc") or "").splitlines()
    assert "slow part: decides the date, order by 2027-01-04, lead time 2027-01-04 to 2027-03-14" in said
    assert "the same: slow twin, slow brother" in said
    assert "b new year: 2027-01-25 to 2027-02-19, works" in said
    assert "what began before 2026-12-21 is cut off there" in said
    assert "3 more rows are left out" in said


def test_nothing_to_draw_and_nothing_left_out() -> None:
    assert "nothing to show" in lines(strips())
    assert "nothing to show" in [one.text for one in texts(drawn(strips()))]
    found = lines(strips(StripRow("row", (Stretch("a", day(0), day(3)),))))
    assert not [line for line in found if "left out" in line or "cut off" in line or "today" in line]
    assert "1 more row is left out" in lines(strips(StripRow("row", ()), left_out=1))


names = st.sampled_from(["", "a", "W20-210, spring", "a long name of an assembly", "a name " * 9])
kinds = st.sampled_from(sorted(STRIPS))
stretches = st.tuples(st.integers(-100, 500), st.integers(0, 300), kinds).map(
    lambda each: Stretch("s", day(each[0]), day(each[0] + each[1]), each[2])  # type: ignore[arg-type]
)
rows = st.builds(
    StripRow,
    name=names,
    stretches=st.lists(stretches, max_size=4).map(tuple),
    tick=st.none() | st.integers(-100, 500).map(day),
    label=st.sampled_from(["", "order by", "a label " * 8]),
    critical=st.booleans(),
    remark=st.sampled_from(["", "late by 6 days"]),
)
pictures = st.builds(
    Strips,
    title=st.just("t"),
    description=st.just("d"),
    start=st.just(day(0)),
    end=st.integers(0, 900).map(day),
    rows=st.lists(rows, max_size=6).map(tuple),
    closures=st.lists(
        st.tuples(st.integers(-100, 900), st.integers(0, 60)).map(
            lambda each: Closed("shut", day(each[0]), day(each[0] + each[1]))
        ),
        max_size=5,
    ).map(tuple),
    today=st.none() | st.integers(-50, 900).map(day),
    week_zero=st.none() | st.integers(-300, 900).map(day),
    left_out=st.integers(0, 9),
)


@given(pictures, st.sampled_from([280, 360, 760]))
def test_no_text_meets_another_or_leaves_the_picture(picture: Strips, wide: int) -> None:
    root = drawn(picture, width=wide)
    found = list(texts(root))
    tall = float(root.get("height", "nan"))
    for index, one in enumerate(found):
        assert one.left >= 0
        assert one.right <= wide
        assert one.bottom <= tall
        assert not [other.text for other in found[index + 1 :] if one.meets(other)]


@given(pictures, st.sampled_from([280, 360, 760]))
def test_no_label_lies_on_a_strip(picture: Strips, wide: int) -> None:
    boxes = [
        (x, x + long, float(rect.get("y", "nan")) + 1, float(rect.get("y", "nan")) + 11)
        for rect in rects(picture, wide)
        for x, long in [(float(rect.get("x", "nan")), float(rect.get("width", "nan")))]
    ]
    for one in texts(drawn(picture, width=wide)):
        assert not [
            box
            for box in boxes
            if one.left < box[1] and box[0] < one.right and one.top + 2 < box[3] and box[2] < one.bottom - 3
        ]


@given(pictures, st.integers(40, 200), st.booleans())
def test_no_line_is_wider_than_asked(picture: Strips, columns: int, plain: bool) -> None:  # noqa: FBT001
    for line in as_marks(picture, columns, ascii_only=plain):
        assert width(line) <= columns
        assert line == line.rstrip()
