"""Draws: the sampler by law and against scipy's triangular distribution, and its numbers for a seed."""

from __future__ import annotations

import random
from fractions import Fraction
from math import isqrt

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.draws import Spread, drawn_days, nearest_root, quantile, spread_of, triangular, uniform
from ferrule.model.duration import Duration

F = Fraction
SPREADS = st.tuples(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60)).map(
    lambda three: Spread(*sorted(three))
)
AT = st.integers(0, 2**53 - 1).map(lambda number: F(number, 2**53))


def strata(spread: Spread, count: int) -> list[int]:
    """Return what the middles of so many even stretches from 0 to 1 pick."""
    return [triangular(F(2 * number + 1, 2 * count), spread) for number in range(count)]


@pytest.mark.parametrize(
    "spread", [Spread(10, 20, 60), Spread(24, 26, 32), Spread(5, 5, 30), Spread(3, 40, 40)]
)
def test_the_mean_is_that_of_the_triangle(spread: Spread) -> None:
    """(best + likely + worst) / 3; rounding to whole days takes as often as it gives."""
    picked = strata(spread, 20_000)
    assert abs(F(sum(picked), len(picked)) - F(spread.best + spread.likely + spread.worst, 3)) < F(1, 50)
    assert (min(picked), max(picked)) == (spread.best, spread.worst)


@pytest.mark.parametrize("spread", [Spread(10, 20, 60), Spread(24, 26, 32), Spread(0, 0, 9)])
def test_as_often_as_the_distribution_says(spread: Spread) -> None:
    """A day comes as often as the triangle has area from half a day before it to half a day after."""
    width = spread.worst - spread.best
    judge = scipy.stats.triang((spread.likely - spread.best) / width, loc=spread.best, scale=width)
    picked = strata(spread, 20_000)
    for day in range(spread.best, spread.worst + 1):
        share = sum(1 for each in picked if each <= day) / len(picked)
        assert abs(share - judge.cdf(day + 0.5)) < 1e-4


@given(SPREADS, AT, AT)
def test_more_luck_is_never_sooner(spread: Spread, one: Fraction, other: Fraction) -> None:
    low, high = sorted((triangular(one, spread), triangular(other, spread)))
    assert spread.best <= low <= high <= spread.worst
    assert (triangular(min(one, other), spread), triangular(max(one, other), spread)) == (low, high)


@given(st.fractions(0, 10**6, max_denominator=10**6))
def test_nearest_root(number: Fraction) -> None:
    root = nearest_root(number)
    assert (F(root) - F(1, 2)) ** 2 <= number or root == 0
    assert number < (F(root) + F(1, 2)) ** 2
    assert abs(root - isqrt(int(number))) <= 1


def test_what_is_certain_takes_no_random_number() -> None:
    generator = random.Random(7)  # noqa: S311
    assert [drawn_days(generator, Spread(9, 9, 9)) for _ in range(5)] == [9] * 5
    assert generator.random() == random.Random(7).random()  # noqa: S311
    with pytest.raises(ValueError, match="do not rise"):
        triangular(F(1, 2), Spread(3, 2, 5))


def test_a_seed_has_its_numbers() -> None:
    """The first numbers of the Mersenne Twister for seed 1, as its sequence is known, and the days they pick."""
    generator = random.Random(1)  # noqa: S311
    numbers = [uniform(generator) for _ in range(4)]
    assert [float(number) for number in numbers] == [
        0.13436424411240122,
        0.8474337369372327,
        0.763774618976614,
        0.2550690257394217,
    ]
    assert [triangular(number, Spread(24, 26, 32)) for number in numbers] == [25, 29, 29, 26]


def test_spreads_of_times() -> None:
    """Weeks are drawn by the day; without a range, a third time or one unit nothing is drawn."""
    of = Duration.of
    assert spread_of((of("2 weeks"), of("3 weeks"), of("5 weeks"))) == Spread(14, 21, 35)
    assert spread_of((of("10 days"), of("2 weeks"), of("20 days"))) == Spread(10, 14, 20)
    assert spread_of((of("1 working day"), of("2 working days"), of("4 working days"))) == Spread(1, 2, 4)
    assert spread_of((of("10 days"), of("10 days"), of("10 days"))) is None
    assert spread_of((of("1 day"), of("1 working day"), of("2 days"))) is None
    assert spread_of((of("1 day"), None, of("2 days"))) is None
    assert spread_of((of("3 days"), of("2 days"), of("4 days"))) is None


def test_quantiles() -> None:
    values = [F(number) for number in (5, 1, 4, 2, 3)]
    found = [quantile(values, F(share, 10)) for share in (1, 2, 5, 9, 10)]
    assert found == [1, 1, 3, 5, 5]
