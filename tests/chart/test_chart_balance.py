"""Money by week: the line where its numbers say, and under it ticks as long as what comes in and goes out."""

from __future__ import annotations

from decimal import Decimal

import pytest
from chart_examples import MONEY, SVG, day, drawn, texts, week
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from ferrule.chart.marks import as_marks
from ferrule.chart.money import curve_of
from ferrule.model.columns import width
from ferrule.report.picture import Balance, Floor, MoneyWeek, Scenario


def balance(*weeks: MoneyWeek, **more: object) -> Balance:
    return Balance(title="t", description="d", unit="EUR", weeks=weeks, **more)  # type: ignore[arg-type]


#: Out 40, in 10, both 50 and 20: from 100 to 60, 70 and 100.
THREE = balance(week(0, "0", "40", "60"), week(1, "10", "0", "70"), week(2, "50", "20", "100"))


def ticks(picture: Balance, look: str, wide: int = 760) -> list[dict[str, str]]:
    root = drawn(picture, width=wide)
    return [
        rect.attrib for rect in root.iter(f"{SVG}rect") if f"ferrule-{look}" in rect.get("class", "").split()
    ]


def line(picture: Balance) -> str:
    (first, *_) = [
        path.get("d", "") for path in drawn(picture).iter(f"{SVG}path") if path.get("class") == "ferrule-line"
    ]
    return first


def test_ticks_by_hand() -> None:
    # The largest is 50 and takes 24 pixels, so 1 takes 0.48. The title and one line of text end at 58, the plot is
    # from 72 to 292, its numbers end at 325 (17 + 16 more), the strip's middle is 24 below: 349.
    incomes, outgoes = ticks(THREE, "income"), ticks(THREE, "outgo")
    assert [(each["y"], each["height"]) for each in incomes] == [("344.20", "4.80"), ("325", "24")]
    assert [(each["y"], each["height"]) for each in outgoes] == [("349", "19.20"), ("349", "9.60")]
    # Week 0 is at 47.96 and week 2 at 730, as in any curve; ticks are 5 thick and stand on their week.
    assert [each["x"] for each in outgoes] == ["45.46", "727.50"]
    # Up: 60 to 100 in 220 pixels, so 70 is 55 above the foot at 292.
    assert line(THREE) == "M47.96 292 H388.98 V237 H730 V72 H744"


def test_what_is_not_known_is_hatched_and_never_zero() -> None:
    picture = balance(week(0, None, "40", "60"), week(1, "0", "0", None))
    (unknown,) = ticks(picture, "unknown")
    assert (unknown["y"], unknown["height"], unknown["fill"]) == ("325", "24", "url(#picture-fill-unknown)")
    assert ticks(picture, "income") == []
    said = drawn(picture).findtext(f"{SVG}desc") or ""
    assert "week 0: in ?, out 40.00, balance 60.00" in said
    assert "week 1: in 0.00, out 0.00, balance ?" in said
    found = list(as_marks(picture, 60, ascii_only=True))
    assert next(text for text in found if text.strip().startswith("in |")).strip() == "in |?"


def test_in_and_out_are_told_apart_by_side_and_fill() -> None:
    looks = {each["class"] for each in (*ticks(THREE, "income"), *ticks(THREE, "outgo"))}
    assert looks == {"ferrule-income ferrule-tone0", "ferrule-outgo ferrule-tone3 ferrule-edge"}
    written = [one.text for one in texts(drawn(THREE))]
    assert {"in", "out", "in and out a week: EUR, the largest is 50.00"} <= set(written)


def test_strips_in_text_by_hand() -> None:
    # 40 columns less 5 for "100 |": 35, of which the last 2 are the last week going on; weeks in 0, 16 and 32.
    # In ninths of 50, rounded up: 10 is 2 (1.8), 20 is 4 (3.6), 40 is 8 (7.2).
    found = list(as_marks(THREE, 40, ascii_only=True))
    at = next(number for number, text in enumerate(found) if text.startswith(" in"))
    assert found[at] == " in |" + " " * 16 + "2" + " " * 15 + "9"
    assert found[at + 1] == "out |8" + " " * 31 + "4"
    assert found[at + 2] == "in and out a week: EUR, the largest is"  # wrapped
    assert found[at + 3] == "50.00"


def test_weeks_that_share_a_column_are_added_up() -> None:
    # 101 weeks in 53 columns and one unknown: it makes its column unknown, no other.
    weeks = [week(number, "1", "0", "5") for number in range(101)]
    weeks[50] = week(50, "1", None, "5")
    found = list(as_marks(balance(*weeks), 60, ascii_only=True))
    (incomes,) = [text.partition("|")[2] for text in found if text.strip().startswith("in |")]
    (outgoes,) = [text.partition("|")[2] for text in found if text.strip().startswith("out |")]
    assert set(incomes.strip()) == {"9", "5"}  # two weeks or one
    assert incomes.count("9") * 2 + incomes.count("5") == 101
    assert outgoes.strip() == "?"
    assert "in and out in each column, up to 2 weeks together: EUR, the largest is 2.00" in " ".join(found)


def test_weeks_given_as_days_have_their_iso_names() -> None:
    picture = balance(week(day(-7), "0", "0", "5"), week(day(0), "0", "0", "4"), week(day(14), "0", "0", "6"), trough="trough")  # fmt: skip
    curve = curve_of(picture)
    assert [x for x, _ in curve.lines[0].points] == [0, 1, 3]
    assert dict(curve.places) == {0: "2026-W53", 1: "2027-W01", 3: "2027-W03"}
    assert "trough 4.00 at 2027-W01" in [one.text for one in texts(drawn(picture))]


def test_few_weeks_are_named_and_the_lowest_always() -> None:
    weeks = [week(number, "0", "0", str(abs(number - 33))) for number in range(57)]
    # 57 weeks at 7 names: every tenth, week 33 for its trough, and the last.
    named = [name for _, name in curve_of(balance(*weeks, trough="trough")).places]
    assert named == ["week 0", "week 10", "week 20", "week 30", "week 33", "week 40", "week 50", "week 56"]
    assert "week 33" not in [name for _, name in curve_of(balance(*weeks)).places]


def test_the_trough_is_labelled_in_place() -> None:
    root = drawn(MONEY)
    (label,) = [one for one in texts(root) if one.text == "trough 9,000.00 at 2027-W06"]
    (dot,) = root.iter(f"{SVG}circle")
    x, y = float(dot.get("cx", "nan")), float(dot.get("cy", "nan"))
    # No room right beside it: it stands higher, tied by a thin line from the dot up to its middle.
    ties = [
        path.get("d", "")
        for path in root.iter(f"{SVG}path")
        if path.get("d", "").startswith(f"M{dot.get('cx')} ")
    ]
    assert len(ties) == 1
    assert label.left == pytest.approx(x + 7)
    assert label.bottom < y - 10


def test_scenarios_end_with_their_names_and_may_be_shorter() -> None:
    curve = curve_of(MONEY)
    assert [each.name for each in curve.lines] == ["as agreed", "later sales", "half known"]
    assert [len(each.points) for each in curve.lines] == [9, 9, 4]
    written = [one.text for one in texts(drawn(MONEY))]
    assert {"as agreed", "later sales", "half known", "floor 20,000.00"} <= set(written)


def test_words_hold_every_week_and_line() -> None:
    said = (drawn(MONEY).findtext(f"{SVG}desc") or "").splitlines()
    assert "2027-W02: in 0.00, out 22,000.00, balance 96,000.00" in said
    assert "floor 20,000.00" in said
    assert "half known; 2027-W01: 118,000.00; 2027-W02: 90,000.00; 2027-W03: ?; 2027-W04: 70,000.00" in said


def test_what_is_not_drawn_is_said_in_both_forms() -> None:
    picture = replace(THREE, remark="not drawn: a and b")
    assert "not drawn: a and b" in [one.text for one in texts(drawn(picture))]
    found = list(as_marks(picture, 80))
    assert found[found.index("in and out a week: EUR, the largest is 50.00") + 1] == "not drawn: a and b"


def test_nothing_known() -> None:
    for picture in (balance(), balance(week(0, "1", "2", None))):
        assert "nothing to show" in [one.text for one in texts(drawn(picture))]
        assert "nothing to show" in list(as_marks(picture, 80))


amounts = st.none() | st.decimals(0, 10**6, places=2)
levels = st.none() | st.decimals(-(10**6), 10**6, places=2)
balances = st.builds(
    balance,
    *[st.builds(MoneyWeek, st.just(number), amounts, amounts, levels) for number in range(5)],
    name=st.sampled_from(["", "as agreed"]),
    floor=st.none() | st.builds(Floor, st.integers(-5000, 5000).map(Decimal), st.just("floor")),
    trough=st.sampled_from(["", "trough"]),
    scenarios=st.lists(
        st.builds(Scenario, st.sampled_from(["a", "a longer name", "a name " * 20]), st.lists(levels, max_size=5).map(tuple)),
        max_size=4,
    ).map(tuple),
    remark=st.sampled_from(["", "not drawn: a and b", "not drawn: " + "a name " * 40]),
)  # fmt: skip


@given(balances, st.sampled_from([280, 360, 760]))
def test_no_text_meets_another_or_leaves_the_picture(picture: Balance, wide: int) -> None:
    root = drawn(picture, width=wide)
    found = list(texts(root))
    tall = float(root.get("height", "nan"))
    for index, one in enumerate(found):
        assert one.left >= 0
        assert one.right <= wide
        assert one.bottom <= tall
        assert not [other.text for other in found[index + 1 :] if one.meets(other)]


@given(balances, st.integers(0, 200))
def test_ticks_are_on_one_scale_and_under_their_weeks(picture: Balance, more: int) -> None:
    weeks = tuple(replace(each, balance=each.balance or Decimal(more)) for each in picture.weeks)
    whole = replace(picture, weeks=weeks, scenarios=())
    known = [each for one in weeks for each in (one.income, one.outgo) if each is not None]
    most = max(known, default=Decimal(0))
    for look, given_amounts in (
        ("income", [one.income for one in weeks]),
        ("outgo", [one.outgo for one in weeks]),
    ):
        found = ticks(whole, look)
        shown = [each for each in given_amounts if each]
        assert len(found) == len(shown)
        for tick, value in zip(found, shown, strict=True):
            assert abs(float(tick["height"]) - float(value) * 24 / float(most)) < 0.011
    assert len(ticks(whole, "unknown")) == sum(
        each is None for one in weeks for each in (one.income, one.outgo)
    )


@given(balances, st.integers(40, 170), st.booleans())
def test_no_line_is_wider_than_asked(picture: Balance, columns: int, plain: bool) -> None:  # noqa: FBT001
    for one in as_marks(picture, columns, ascii_only=plain):
        assert width(one) <= columns
        assert one == one.rstrip()
