"""Yields against the wrong ways to reckon them, and published counts."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_losses import passed, step

from ferrule.compute.yields import passage, starts_for

F = Fraction
#: Losing something, and leaving something: where nothing is lost every way of reckoning agrees.
lossy = st.integers(1, 99)


def test_published_first_time_yield() -> None:
    # 100 units go in; 10, 5 and 3 are lost: 90/100, 85/90 and 82/85 multiply to 82/100 (counts of a lesson on
    # rolled throughput yield in a public text collection).
    counts = (100, 90, 85, 82)
    steps = [F(after, before) for before, after in itertools.pairwise(counts)]
    assert math.prod(steps) == F(82, 100)
    # Our records hold percentages, so the same lesson with shares that percentages can say: 90, 80, 50 %.
    flow = passed("90 %", "80 %", "50 %")
    assert [each.entering * 36 for each in flow.steps] == [100, 90, 72]
    assert flow.steps[-1].leaving * 36 == 36


def test_published_step_yield() -> None:
    # Ten made, eight good (encyclopedia article on rolled throughput yield): 80 %.
    assert passed("80 %").starts * 8 == 10


@given(st.lists(lossy, min_size=2, max_size=6))
def test_losses_do_not_add_up(yields: list[int]) -> None:
    flow = passed(*(f"{each} %" for each in yields))
    added = sum(F(100 - each, 100) for each in yields)
    assert 1 - flow.yield_ < added
    # Starting good x (1 + loss), common in spreadsheets, starts too few.
    assert flow.starts > 1 + (1 - flow.yield_)


@given(st.lists(st.tuples(lossy, st.integers(1, 500)), min_size=2, max_size=6))
def test_what_falls_out_late_has_cost_every_step_before(steps: list[tuple[int, int]]) -> None:
    flow = passed(*(f"{each} %" for each, _ in steps))
    true = sum((F(cost) * flow.entering(i) for i, (_, cost) in enumerate(steps)), F(0))
    costs = [cost for _, cost in steps]
    only_last = sum(costs[:-1]) + costs[-1] / flow.yield_
    assert true > sum(costs)
    assert true != only_last
    # Every step divided by the whole yield is too much: what falls out early never reaches the later steps.
    assert true < sum(costs) / flow.yield_


@given(
    st.lists(st.tuples(st.integers(1, 100), st.integers(0, 100), st.integers(0, 100)), min_size=1, max_size=5)
)
def test_rework_lies_between_scrap_and_perfect_repair(steps: list[tuple[int, int, int]]) -> None:
    flow = passage(
        [step(f"{first} %", share=f"{share} %", retest=f"{retest} %") for first, share, retest in steps]
    )
    assert flow is not None
    assert flow.first_time == math.prod(F(first, 100) for first, _, _ in steps)
    assert flow.first_time <= flow.yield_ <= 1
    for (first, share, retest), each in zip(steps, flow.steps, strict=True):
        saved = F(100 - first, 100) * F(share, 100)
        assert each.reworked == each.entering * saved
        assert each.final == F(first, 100) + saved * F(retest, 100)


@given(st.integers(1, 5000), st.lists(st.integers(1, 100), min_size=1, max_size=4))
def test_starts_are_the_least_that_will_do(good: int, yields: list[int]) -> None:
    flow = passed(*(f"{each} %" for each in yields))
    starts = starts_for(F(good), flow)
    assert (starts - 1) * flow.yield_ < good <= starts * flow.yield_


def test_a_raised_yield_stops_at_all() -> None:
    better = passage([step("98 %"), step("50 %")], {0: F("0.05"), 1: F("0.25")})
    assert better is not None
    assert [each.first_pass for each in better.steps] == [1, F("0.75")]


def test_no_steps_lose_nothing() -> None:
    flow = passage([])
    assert flow is not None
    assert (flow.starts, flow.entering(0), flow.first_time) == (F(1), F(1), F(1))


@pytest.mark.parametrize("retest", ["0 %", "100 %"])
def test_a_step_that_yields_nothing_makes_nothing(retest: str) -> None:
    # All fail and half can be repaired: nothing comes out if no retest passes, half of it if all do.
    flow = passage([step("0 %", share="50 %", retest=retest)])
    assert (flow is None) == (retest == "0 %")
    assert flow is None or flow.yield_ == F("0.5")
