"""Scales and room: round numbers, exact places, labels that find a free spot."""

from __future__ import annotations

import itertools
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.chart.placing import Box, Room, spread
from ferrule.chart.scale import Scale, rounded_ends


@pytest.mark.parametrize(
    ("low", "high", "numbers"),
    [
        ("0", "100", "0 20 40 60 80 100"),
        ("41.1", "71.2", "40 50 60 70 80"),
        ("-24400", "120000", "-50000 0 50000 100000 150000"),
        ("40", "41", "40 40.2 40.4 40.6 40.8 41"),
        ("7", "7", "0 2 4 6 8"),
        ("0", "41", "0 10 20 30 40 50"),
        ("1", "41", "0 10 20 30 40 50"),
        ("0", "0", "0 0.2 0.4 0.6 0.8 1"),
        ("-7", "-3", "-8 -6 -4 -2 0"),
    ],
)
def test_round_numbers_by_hand(low: str, high: str, numbers: str) -> None:
    found = rounded_ends(Decimal(low), Decimal(high), 5)
    assert found.numbers[0] <= Decimal(low)
    assert found.numbers[-1] >= Decimal(high)
    assert found.numbers == tuple(map(Fraction, numbers.split()))


@given(st.decimals(-(10**9), 10**9, places=4), st.decimals(-(10**9), 10**9, places=4), st.integers(3, 9))
def test_the_ends_hold_everything_in_few_steps(one: Decimal, other: Decimal, most: int) -> None:
    low, high = sorted((one, other))
    found = rounded_ends(low, high, most)
    assert found.scale.low <= low
    assert high <= found.scale.high
    assert 2 <= len(found.numbers) <= most + 1
    assert (found.numbers[0], found.numbers[-1]) == (found.scale.low, found.scale.high)
    step = found.numbers[1] - found.numbers[0]
    assert str((step * 10**6).numerator).rstrip("0") in {"1", "2", "5"}
    assert (step * 10**found.places).denominator == 1


def test_places_on_a_scale() -> None:
    scale = Scale(Fraction(-50), Fraction(150))
    assert [scale.at(Decimal(value)) for value in (-50, 0, 150)] == [0, Fraction(1, 4), 1]
    assert Scale(Fraction(5), Fraction(5)).at(Decimal(5)) == 0


def test_equal_factors_whatever_the_context() -> None:
    scale = Scale(Fraction(1), Fraction(1000), ratio=True)
    with localcontext() as context:
        context.prec = 3
        found = [scale.at(Decimal(value)) for value in (1, 10, 100, 1000)]
    assert [round(place, 20) for place in found] == [
        0,
        round(Fraction(1, 3), 20),
        round(Fraction(2, 3), 20),
        1,
    ]
    assert scale.at(Fraction(1, 3) * 30) == found[1]


def test_numbers_along_equal_factors() -> None:
    def numbers(low: int, high: int, most: int = 6) -> list[int]:
        return [int(number) for number in Scale(Fraction(low), Fraction(high), ratio=True).numbers(most)]

    assert numbers(100, 10000) == [100, 300, 1000, 3000, 10000]
    assert numbers(100, 1000) == [100, 200, 500, 1000]
    assert numbers(1, 10**9) == [10**power for power in range(10)]
    assert numbers(40, 45) == []


def box(*sides: int) -> Box:
    return Box(*map(Fraction, sides))


def test_a_label_takes_the_first_free_spot() -> None:
    room = Room(box(0, 0, 100, 100), [box(0, 0, 50, 50)])
    assert (
        room.take([box(40, 40, 60, 60), box(50, 0, 70, 20), box(0, 60, 20, 80)]) == 1
    )  # touching is no meeting
    assert room.take([box(50, 0, 70, 20), box(90, 90, 110, 95)]) is None
    assert room.take([box(0, 60, 20, 80)]) == 0


@given(st.lists(st.integers(0, 200).map(Fraction), max_size=12))
def test_spread_names_keep_their_order_and_distance(wanted: list[Fraction]) -> None:
    found = spread(wanted, 17, Fraction(0), Fraction(200))
    inside = sorted(found)
    assert all(later - earlier >= 17 for earlier, later in itertools.pairwise(inside))
    assert not inside or (inside[0] >= 0 and inside[-1] <= 200)
    for i, one in enumerate(wanted):
        for j, other in enumerate(wanted):
            assert not one < other or found[i] < found[j]
    apart = sorted(wanted)
    if all(later - earlier >= 17 for earlier, later in itertools.pairwise(apart)):
        assert found == wanted
