"""How far a fact may go: the search on a grid, its values, and what quantities tried one by one say."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.limits import Limit, Mark, solve
from ferrule.compute.limits_build import Rung, Short, build_limit
from ferrule.compute.limits_grids import days_from, points_down, points_up, rate_step, rates_along

ROOMS = st.lists(st.integers(-20, 20), min_size=2, max_size=60)


def solved(today: int, *, stepped: bool = False, **rooms: list[int]) -> Limit:
    """Return the limits where conditions have these rooms at each value."""
    count = len(next(iter(rooms.values())))

    def marks(index: int) -> list[Mark]:
        return [
            Mark(key=key, room=Fraction(each[index]), unit="EUR", words=f"{key} {index}")
            for key, each in rooms.items()
        ]

    return solve(count, today, marks, stepped=stepped)


def told(limit: Limit) -> list[tuple[str, int | None, str]]:
    return [(bound.key, bound.at, bound.state) for bound in limit.bounds]


def test_the_tightest_condition_binds_and_the_next_is_named() -> None:
    found = solved(2, floor=[9, 7, 5, 3, 1, -1, -3], margin=[6, 6, 5, 5, 0, 0, -1], arrival=[4] * 7)
    assert told(found) == [("floor", 4, "within"), ("margin", 5, "within")]
    assert (found.binding, found.next) == found.bounds
    assert found.bounds[0].mark.words == "floor 5"
    assert [mark.key for mark in found.held] == ["arrival"]
    assert not found.scanned


def test_a_condition_that_no_value_breaks_lies_beyond() -> None:
    found = solved(0, floor=[9, 8, 7], margin=[3, 2, 1])
    assert told(found) == [("margin", 2, "beyond"), ("floor", 2, "beyond")]
    assert found.next is None


def test_a_condition_that_every_value_breaks() -> None:
    found = solved(1, floor=[-1, -2, -3])
    assert told(found) == [("floor", None, "never")]
    assert found.at is None
    assert found.bounds[0].mark.words == "floor 0"


def test_what_only_eases_limits_nothing() -> None:
    assert told(solved(0, floor=[1, 2, 3])) == []


def test_what_comes_in_steps_is_not_halved() -> None:
    """Kept at 0, 1 and 4, broken at 2, 3 and from 5: from today at 1 the limit is 1, though 4 would do again."""
    found = solved(1, floor=[3, 2, -1, -1, 2, -4, -5])
    assert told(found) == [("floor", 1, "within")]
    assert found.scanned
    assert found.bounds[0].again


def test_where_today_is_broken_the_nearest_better_value_counts() -> None:
    found = solved(4, stepped=True, floor=[3, -1, 2, -1, -2, 0, -5])
    assert told(found) == [("floor", 2, "within")]


@given(ROOMS, st.data())
def test_halving_finds_what_trying_all_finds(rooms: list[int], data: st.DataObject) -> None:
    falling = sorted(rooms, reverse=True)
    found = solved(data.draw(st.integers(0, len(rooms) - 1)), floor=falling)
    kept = [index for index, room in enumerate(falling) if room >= 0]
    if len(set(falling)) == 1:
        assert found.bounds == ()
    else:
        assert found.bounds[0].at == (kept[-1] if kept else None)


@given(ROOMS, st.data())
def test_the_limit_is_kept_and_the_next_value_breaks(rooms: list[int], data: st.DataObject) -> None:
    """Whatever the steps: no value between today's and the limit is passed over."""
    today = data.draw(st.integers(0, len(rooms) - 1))
    for bound in solved(today, stepped=True, floor=rooms).bounds:
        at = -1 if bound.at is None else bound.at
        if at >= today:
            assert all(room >= 0 for room in rooms[today : at + 1])
        else:
            assert all(room < 0 for room in rooms[at + 1 : today + 1])
            assert at < 0 or rooms[at] >= 0
        if bound.state != "beyond":
            assert rooms[at + 1] == bound.mark.room < 0


def test_grids() -> None:
    assert points_up(Fraction("0.25"), Fraction("0.4")) == tuple(
        map(Fraction, ("0", "0.1", "0.2", "0.25", "0.3", "0.4"))
    )
    assert points_down(Fraction("99.95"), Fraction("99.8")) == tuple(
        map(Fraction, ("100", "99.95", "99.9", "99.8"))
    )
    assert days_from(dt.date(2027, 2, 27), dt.date(2027, 3, 1))[-1] == dt.date(2027, 3, 1)
    assert len(days_from(dt.date(2027, 2, 27), dt.date(2027, 3, 1))) == 3
    assert days_from(dt.date(2027, 3, 2), dt.date(2027, 3, 1)) == (dt.date(2027, 3, 2),)
    assert [rate_step(Fraction(each)) for each in ("1.08", "162.5", "0.0061", "7.2", "1000")] == [
        Fraction(each) for each in ("0.01", "1", "0.00001", "0.01", "10")
    ]
    assert rates_along(Fraction("1.085"), Fraction("1.06")) == tuple(
        map(Fraction, ("1.11", "1.10", "1.09", "1.085", "1.08", "1.07", "1.06"))
    )
    assert rates_along(Fraction("0.02"), Fraction("0.0204"))[0] == Fraction("0.0196")


def rung(qty: int, over: int, **named: object) -> Rung:
    return Rung(qty=qty, needed=Fraction(500 - over), over=Fraction(over), week=7, **named)  # type: ignore[arg-type]


def test_every_smaller_range_that_cannot_be_paid_is_told() -> None:
    overs = {10: 9, 20: -1, 30: -4, 40: 2, 50: -3, 60: 1, 70: -2, 80: -9}
    found = build_limit("one", "TOP", 60, 10, [rung(qty, over) for qty, over in overs.items()])
    assert found.largest is not None
    assert found.after is not None
    assert (found.largest.qty, found.after.qty, int(found.after.needed)) == (60, 70, 502)
    gaps = [(gap.first.qty, gap.last.qty, int(gap.first.needed), int(gap.last.needed)) for gap in found.gaps]
    assert gaps == [(20, 30, 501, 504), (50, 50, 503, 503)]


@given(st.lists(st.integers(-5, 5), min_size=1, max_size=40))
def test_largest_and_gaps_agree_with_every_quantity(overs: list[int]) -> None:
    rungs = [rung(10 * (at + 1), over) for at, over in enumerate(overs)]
    found = build_limit("one", "TOP", 60, 10, rungs)
    paid = {each.qty for each in rungs if each.over >= 0}
    assert (found.largest.qty if found.largest else None) == max(paid, default=None)
    told = {qty for gap in found.gaps for qty in range(gap.first.qty, gap.last.qty + 1, 10)}
    assert told == {each.qty for each in rungs if each.qty < max(paid, default=0)} - paid


def test_parts_that_can_no_longer_be_bought_come_before_cash() -> None:
    """180 at hand and 1.5 a unit make floor(180 / 1.5) = 120, and 91 at hand at 1.02 make floor(89.2) = 89."""
    shorts = (
        Short(part="A", at_hand=Fraction(180), each=Fraction("1.5"), days=4),
        Short(part="B", at_hand=Fraction(91), each=Fraction("1.02"), days=2),
    )
    assert [each.units for each in shorts] == [120, 89]
    rungs = [
        rung(80, 3),
        rung(90, 2, shorts=shorts[1:], late_by=2, held_by=("B",)),
        rung(100, -1, shorts=shorts, late_by=4),
    ]
    found = build_limit("one", "TOP", 100, 10, rungs)
    assert [(stop.name, stop.most, stop.beyond) for stop in found.stops] == [
        ("parts", 80, False),
        ("time", 80, False),
        ("cash", 90, False),
    ]
    assert found.stops[0].words == "B can no longer be bought in time; what is at hand makes 89"
    assert found.stops[1].words == "90 arrive 2 days late, waiting for B"


def test_no_quantity_can_be_paid() -> None:
    found = build_limit("one", "TOP", 60, 10, [rung(10, -1), rung(20, -2)])
    assert (found.largest, found.gaps, found.most) == (None, (), None)
    assert found.after is not None
    assert found.after.qty == 10


@pytest.mark.parametrize("at_hand", [0, 5])
def test_a_part_without_need_of_its_own_makes_none(at_hand: int) -> None:
    assert Short(part="A", at_hand=Fraction(at_hand), each=Fraction(0), days=1).units == 0
