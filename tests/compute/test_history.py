"""The course of figures over commits: what moved most, where a condition turns, and its marks."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.history import FIGURES, Moment, Turn, movers, parse_bisect, spark, turns
from ferrule.model.bad_value import BadValue


def moments(*costs: str | None) -> list[Moment]:
    return [
        Moment(
            commit=f"{index}",
            day="2026-11-25",
            subject="s",
            cost=None if cost is None else Fraction(cost),
            bound=False,
            lead=None,
            trough=None,
            errors=Fraction(0),
            warnings=Fraction(0),
        )
        for index, cost in enumerate(costs)
    ]


def turned(condition: str, *costs: str | None) -> list[tuple[str, bool]]:
    return [(turn.moment.commit, turn.holds) for turn in turns(moments(*costs), parse_bisect(condition))]


def test_every_turn_is_found_and_halving_would_have_missed_the_first() -> None:
    """Up at 1, down at 2, up at 4: halving between 0 and 5 finds 4 only."""
    assert turned("cost>18.40", "18", "19", "18.40", "17", "18.41", "20") == [
        ("1", True),
        ("2", False),
        ("4", True),
    ]


def test_the_limit_itself() -> None:
    assert turned("cost>=2", "1", "2") == [("1", True)]
    assert turned("cost>2", "1", "2") == []
    assert turned("cost<2", "1") == [("0", True)]


def test_what_is_not_known_turns_nothing() -> None:
    assert turned("cost>2", "3", None, "3", None, "1") == [("0", True), ("4", False)]


def test_movers_by_size_and_over_gaps() -> None:
    found = list(movers(moments("10", "11", None, "7", "7", "8"), most=2))
    assert [(m.figure, m.moment.commit, m.change) for m in found] == [
        ("cost", "3", Fraction(-4)),
        ("cost", "5", Fraction(1)),
    ]


@given(st.lists(st.integers(0, 9).map(str) | st.none(), max_size=12), st.integers(0, 9))
def test_turns_agree_with_looking_at_each(costs: list[str | None], limit: int) -> None:
    found: list[Turn] = list(turns(moments(*costs), parse_bisect(f"cost>{limit}")))
    assert [turn.holds for turn in found] == [index % 2 == 0 for index in range(len(found))]
    holding, at = False, {turn.moment.commit: turn.holds for turn in found}
    for index, cost in enumerate(costs):
        holding = at.get(str(index), holding)
        if cost is not None:
            assert holding == (int(cost) > limit)


def test_spark() -> None:
    assert spark([Fraction(1), None, Fraction(3), Fraction(2)], "abc") == "a?cb"
    assert spark([Fraction(5), Fraction(5)], "abc") == "aa"
    assert spark([], "abc") == ""


@pytest.mark.parametrize("written", ["cost=3", "cost", "price>3", "cost>3%", "lead>3x", ""])
def test_what_is_no_condition_is_refused(written: str) -> None:
    with pytest.raises(BadValue):
        parse_bisect(written)


@pytest.mark.parametrize("kind", FIGURES)
def test_every_example_is_a_condition(kind: str) -> None:
    assert parse_bisect(FIGURES[kind].example).name == kind
