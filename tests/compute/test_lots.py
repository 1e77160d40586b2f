"""Lots over several periods: cases worked by hand, and laws judged by a search over every stock level."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ferrule.compute.lots import Ladder, LotPlan, cost_lots, lot_for_lot, one_lot, plan_lots, silver_meal
from ferrule.compute.quotes import Form

F = Fraction
FREE = F(0)
Breaks = Sequence[tuple[int | str, int | str]]
RULES: list[Callable[..., LotPlan]] = [lot_for_lot, one_lot, silver_meal]


def form(
    breaks: Breaks, *, minimum: int | str = 0, step: int | str = 1, charge: int = 0, per_unit: int = 0
) -> Form:
    return Form(
        label="",
        path=(),
        breaks=tuple((F(start), F(price)) for start, price in breaks),
        own=(),
        minimum=F(minimum),
        step=F(step),
        charge=F(charge),
        per_unit=F(per_unit),
    )


def ladder_of(form: Form, per_order: Fraction | tuple[Fraction, ...] = FREE) -> Ladder:
    return Ladder(forms=(form,), per_order=per_order)


def exactly(*numbers: int | str) -> list[Fraction]:
    return [F(number) for number in numbers]


def quantities(plan: LotPlan) -> dict[int, Fraction]:
    return {lot.period: lot.quantity for lot in plan.lots}


# Worked by hand


def test_a_lot_starts_before_the_stock_is_used_up() -> None:
    """80 and 80 are needed; 1.00 each, 0.50 from 100; 5 an order; 0.80 to carry one over.

    100 then 60: 50 + 5, carry 20 for 16, 60 + 5: 136. The second lot comes while 20 are there.
    160 at once: 80 + 5, carry 80 for 64: 149. 80 then 80: 2 x 85 = 170. 80 then 100: 85 + 55, 20 left
    over for 16: 156. 100 then 100: 55 + 16 + 55, 40 left over for 32: 158.
    A first lot of 100 + k saves k x 1.00 later and costs k x (0.50 + 0.80) now.
    """
    ladder = ladder_of(form([(1, 1), (100, "0.5")]), per_order=F(5))
    plan = plan_lots(exactly(80, 80), (ladder,), F("0.8"))
    assert quantities(plan) == {0: 100, 1: 60}
    assert [lot.cost for lot in plan.lots] == [55, 65]
    assert plan.ordering == 120
    assert plan.holding == 16
    assert plan.ending_stock == 0
    assert plan.total == 136


def test_buying_up_to_a_break_and_carrying_the_rest_pays() -> None:
    """900, nothing, 100 are needed; 1.20 each, 1.05 from 1,000; 20 an order; 0.10 to carry one over.

    1,000 at once: 1,050 + 20, carry 100 twice for 20: 1,090.
    900 then 100: 1,080 + 20 + 120 + 20: 1,240.
    """
    ladder = ladder_of(form([(1, "1.20"), (1000, "1.05")]), per_order=F(20))
    plan = plan_lots(exactly(900, 0, 100), (ladder,), F("0.1"))
    assert quantities(plan) == {0: 1000}
    assert plan.total == 1090
    assert plan.ending_stock == 0


def test_a_break_pays_even_if_the_rest_is_left_over() -> None:
    """900 are needed: 1,000 x 1.05 + 100 x 0.10 = 1,060, less than 900 x 1.20 = 1,080."""
    plan = plan_lots(exactly(900), (ladder_of(form([(1, "1.20"), (1000, "1.05")])),), F("0.1"))
    assert quantities(plan) == {0: 1000}
    assert plan.total == 1060
    assert plan.ending_stock == 100


def test_a_break_does_not_pay_if_carrying_costs_too_much() -> None:
    """As above with 0.31 to carry one: 1,050 + 31 = 1,081, more than 1,080."""
    plan = plan_lots(exactly(900), (ladder_of(form([(1, "1.20"), (1000, "1.05")])),), F("0.31"))
    assert quantities(plan) == {0: 900}
    assert plan.total == 1080
    assert plan.ending_stock == 0


def test_a_least_quantity_and_a_step_carry_stock_into_the_next_lot() -> None:
    """70 a period for three periods; at least 100, in steps of 30, so at least 120; 1 each; 1 to carry one.

    120 then 120: carry 50, 100 and 30: 240 + 180 = 420. 210 at once: carry 140 and 70: 420 as well, and one
    lot less. 120 cannot wait for the third period, since 50 do not cover the second.
    At 1, 1/2 and 1/2 to carry one: 240 + 50 + 50 + 15 = 355, less than 210 + 140 + 35 = 385. So the second
    lot comes while 50 are there.
    """
    ladder = ladder_of(form([(1, 1)], minimum=100, step=30))
    at_once = plan_lots(exactly(70, 70, 70), (ladder,), F(1))
    assert quantities(at_once) == {0: 210}
    assert at_once.total == 420
    parted = plan_lots(exactly(70, 70, 70), (ladder,), exactly(1, "0.5", "0.5"))
    assert quantities(parted) == {0: 120, 1: 120}
    assert parted.total == 355
    assert parted.ending_stock == 30


def test_opening_stock_is_used_before_anything_is_ordered() -> None:
    """50 in stock cover 30; of the next 30 another 10 are short: 10 x 2, carrying 20 for 20."""
    plan = plan_lots(exactly(30, 30), (ladder_of(form([(1, 2)])),), F(1), opening=F(50))
    assert quantities(plan) == {1: 10}
    assert plan.ordering == 20
    assert plan.holding == 20


def test_opening_stock_that_is_enough_leaves_nothing_to_order() -> None:
    """100 in stock, 30 and 30 used: 70 and 40 carried at 1/3."""
    plan = plan_lots(exactly(30, 30), (ladder_of(form([(1, 2)])),), F(1, 3), opening=F(100))
    assert plan.lots == ()
    assert plan.total == F(110, 3)
    assert plan.ending_stock == 40


def test_what_is_owed_already_is_ordered_in_the_first_period() -> None:
    plan = plan_lots(exactly(0, 5), (ladder_of(form([(1, 2)])),), F(1), opening=F(-3))
    assert quantities(plan) == {0: 3, 1: 5}


def test_no_periods_need_no_lots() -> None:
    assert plan_lots([], (ladder_of(form([(1, 2)])),), F(1)).total == 0


def test_charge_and_price_by_unit_of_the_form_count() -> None:
    """4 pieces: 4 x (2 + 1) + 7 + 5."""
    ladder = ladder_of(form([(1, 2)], charge=7, per_unit=1), per_order=F(5))
    assert plan_lots(exactly(4), (ladder,), F(1)).total == 24


def test_fixed_costs_by_period_move_the_lot() -> None:
    """10 in the third period. Ordered then 10 + 90; in the second 10 + 50, carried once for 20; in the first 10 + 40, twice for 40."""
    ladder = ladder_of(form([(1, 1)]), per_order=(F(40), F(50), F(90)))
    plan = plan_lots(exactly(0, 0, 10), (ladder,), F(2))
    assert quantities(plan) == {1: 10}
    assert plan.total == 80


def test_of_equal_plans_the_last_lot_is_as_late_and_as_large_as_can_be() -> None:
    """Carrying is free and orders cost nothing; two lots are needed, since 100 pieces cost 9 each.

    A lot of 1 to 99 costs 1 each, so 120 take two lots, and every split costs 120.
    """
    ladder = ladder_of(form([(1, 1), (100, 9)]))
    assert quantities(plan_lots(exactly(40, 0, 80), (ladder,), F(0))) == {0: 40, 2: 80}
    assert quantities(plan_lots(exactly(40, 80, 0), (ladder,), F(0))) == {0: 40, 1: 80}
    assert quantities(plan_lots(exactly(10, 0, 110), (ladder,), F(0))) == {0: 21, 2: 99}


def test_rules_of_thumb_on_a_ladder_with_step_and_opening_stock() -> None:
    """Needs 10, 10, 10; 5 in stock; steps of 8; 6 an order; 1 each; 1 to carry one.

    Lot for lot: 5 short take 8 (3 left), 7 short take 8 (1 left), 9 short take 16 (7 left):
    32 + 18 + 3 + 1 + 7 = 61. One lot: 25 short take 32, 27 + 17 + 7 carried: 32 + 6 + 51 = 89.
    Silver-Meal: averages 6 and (6 + 10) / 2 = 8, so each lot covers one period, as lot for lot.
    """
    ladder = ladder_of(form([(1, 1)], step=8), per_order=F(6))
    asked = (exactly(10, 10, 10), (ladder,), F(1))
    each, once, thumb = (rule(*asked, opening=F(5)) for rule in RULES)
    assert quantities(each) == {0: 8, 1: 8, 2: 16}
    assert each.total == 61
    assert quantities(once) == {0: 32}
    assert once.total == 89
    assert thumb == each


def test_silver_meal_goes_on_while_the_average_stays_equal() -> None:
    """12 an order, 6 and 6 needed, 2 to carry one: averages 12 and (12 + 12) / 2 = 12."""
    plan = silver_meal(exactly(6, 6), (ladder_of(form([(1, 0)]), per_order=F(12)),), F(2))
    assert quantities(plan) == {0: 12}


# What is refused


@pytest.mark.parametrize("rule", [plan_lots, *RULES])
@pytest.mark.parametrize(
    ("demand", "per_order", "holding"),
    [
        ([3, -1], F(1), F(1)),
        ([3, 1], F(-1), F(1)),
        ([3, 1], F(1), F(-1)),
        ([3, 1], F(1), exactly(1)),
        ([3, 1], (F(1),), F(1)),
    ],
    ids=[
        "negative demand",
        "negative order cost",
        "negative holding",
        "holding too short",
        "order costs too short",
    ],
)
def test_negative_amounts_and_other_lengths_are_refused(
    rule: Callable[..., LotPlan],
    demand: list[int],
    per_order: Fraction | tuple[Fraction, ...],
    holding: Fraction | list[Fraction],
) -> None:
    with pytest.raises(ValueError, match="negative"):
        rule(exactly(*demand), (ladder_of(form([(1, 1)]), per_order=per_order),), holding)


@pytest.mark.parametrize(
    "breaks", [[], [(1, -1)], [(10, 1), (1, 2)]], ids=["none", "negative", "not in order"]
)
def test_prices_that_make_no_ladder_are_refused(breaks: Breaks) -> None:
    with pytest.raises(ValueError, match="breaks"):
        plan_lots(exactly(3), (ladder_of(form(breaks)),), F(1))


@pytest.mark.parametrize(
    ("lots", "words"),
    [
        ({0: F(4)}, "period 1 is short of 2"),
        ({0: F(3), 1: F(3)}, "3 cannot be ordered"),
        ({0: F(0), 1: F(6)}, "0 cannot be ordered"),
        ({0: F(6), 2: F(6)}, "outside"),
        ({-1: F(6)}, "outside"),
    ],
)
def test_lots_that_cannot_be_are_not_costed(lots: dict[int, Fraction], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        cost_lots(lots, exactly(3, 3), (ladder_of(form([(1, 1)], minimum=4, step=2)),), F(1))


# Laws


class Case(NamedTuple):
    demand: list[Fraction]
    ladder: Ladder
    holding: list[Fraction]
    opening: Fraction

    def solved(self, rule: Callable[..., LotPlan] = plan_lots) -> LotPlan:
        return rule(self.demand, (self.ladder,), self.holding, opening=self.opening)


def price_of(case: Case, quantity: Fraction) -> Fraction | None:
    """Return the price of one at a quantity, or None if it cannot be ordered; read off the ladder anew."""
    asked = case.ladder.forms[0]
    if quantity <= 0 or quantity < asked.minimum or (quantity / asked.step).denominator != 1:
        return None
    holding = [price for start, price in asked.breaks if quantity >= start]
    return holding[-1] + asked.per_unit if holding else None


def order_cost(case: Case, period: int, quantity: Fraction) -> Fraction | None:
    price = price_of(case, quantity)
    fixed = case.ladder.per_order
    once = fixed[period] if isinstance(fixed, tuple) else fixed
    return None if price is None else price * quantity + once + case.ladder.forms[0].charge


#: Cost, number of lots, then the quantities from the last period back, negated: of equal plans the larger is first.
Rank = tuple[Fraction, int, tuple[Fraction, ...]]


def searched(case: Case) -> tuple[Fraction, int, Fraction, tuple[Fraction, ...]]:
    """Return cost, lots, stock left and quantities of the best plan, trying every quantity at every stock level."""
    asked = case.ladder.forms[0]
    highest = max(asked.minimum, *(start for start, _ in asked.breaks), sum(case.demand) - case.opening)
    sizes = [asked.step * number for number in range(1, math.ceil(highest / asked.step) + 1)]
    best: dict[Fraction, Rank] = {case.opening: (F(0), 0, ())}
    for period, (need, rate) in enumerate(zip(case.demand, case.holding, strict=True)):
        orders = [
            (F(0), F(0)),
            *((q, cost) for q in sizes if (cost := order_cost(case, period, q)) is not None),
        ]
        reached: dict[Fraction, Rank] = {}
        for (stock, (so_far, lots, before)), (q, cost) in itertools.product(best.items(), orders):
            left = stock + q - need
            rank = (so_far + cost + rate * left, lots + (q > 0), (-q, *before))
            if left >= 0 and (left not in reached or rank < reached[left]):
                reached[left] = rank
        best = reached
    cost, lots, left, back = min((rank[0], rank[1], left, rank[2]) for left, rank in best.items())
    return cost, lots, left, tuple(-q for q in reversed(back))


def ladders(periods: int, *, falling: bool) -> st.SearchStrategy[Ladder]:
    prices = st.fractions(0, 6, max_denominator=4)
    starts = st.lists(st.integers(0, 14), min_size=1, max_size=4, unique=True).map(sorted)
    breaks = starts.flatmap(
        lambda found: st.lists(prices, min_size=len(found), max_size=len(found)).map(
            lambda ps: tuple(zip(map(F, found), sorted(ps, reverse=True) if falling else ps, strict=True))
        )
    )
    costs = st.fractions(0, 12, max_denominator=3)
    forms = st.builds(
        Form,
        label=st.just(""),
        path=st.just(()),
        breaks=breaks,
        own=st.just(()),
        minimum=st.sampled_from(exactly(0, 0, 2, 5, 9)),
        step=st.sampled_from(exactly(1, 1, 2, 3, "1/2", "5/2")),
        charge=st.sampled_from(exactly(0, 2)),
        per_unit=st.sampled_from(exactly(0, "1/2")),
    )
    per_order = costs | st.lists(costs, min_size=periods, max_size=periods).map(tuple)
    return st.builds(ladder_of, forms, per_order)


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Return up to five periods with small needs, prices that mostly fall, and holding that may cost nothing."""
    periods = draw(st.integers(1, 5))
    needs = st.integers(0, 8).map(F) | st.fractions(0, 8, max_denominator=3)
    rates = st.fractions(0, 2, max_denominator=5)
    return Case(
        demand=draw(st.lists(needs, min_size=periods, max_size=periods)),
        ladder=draw(ladders(periods, falling=draw(st.sampled_from([True, True, False])))),
        holding=draw(st.lists(rates, min_size=periods, max_size=periods)),
        opening=draw(st.sampled_from(exactly(0, 0, 1, "7/2", 10))),
    )


@pytest.mark.property
@settings(max_examples=150, deadline=None)
@given(cases())
def test_the_plan_is_the_one_a_search_over_every_stock_level_finds(case: Case) -> None:
    plan = case.solved()
    cost, lots, left, ordered = searched(case)
    assert (plan.total, len(plan.lots), plan.ending_stock) == (cost, lots, left)
    assert quantities(plan) == {period: q for period, q in enumerate(ordered) if q}


@pytest.mark.property
@settings(max_examples=100, deadline=None)
@given(cases(), st.sampled_from([plan_lots, *RULES]))
def test_lots_costed_anew_give_the_total_and_no_shortage(case: Case, rule: Callable[..., LotPlan]) -> None:
    plan = case.solved(rule)
    ordered = [quantities(plan).get(period, F(0)) for period in range(len(case.demand))]
    stock = list(
        itertools.accumulate(
            (q - need for q, need in zip(ordered, case.demand, strict=True)), initial=case.opening
        )
    )
    costs = [order_cost(case, period, q) for period, q in enumerate(ordered) if q]
    assert min(stock[1:]) >= 0
    assert [lot.cost for lot in plan.lots] == costs
    assert plan.holding == sum(rate * left for rate, left in zip(case.holding, stock[1:], strict=True))
    assert plan.total == sum(lot.cost for lot in plan.lots) + plan.holding
    assert plan.ending_stock == stock[-1]


@pytest.mark.property
@settings(max_examples=100, deadline=None)
@given(cases(), st.sampled_from(RULES))
def test_no_rule_of_thumb_is_cheaper(case: Case, rule: Callable[..., LotPlan]) -> None:
    assert case.solved().total <= case.solved(rule).total


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(cases(), st.integers(2, 10**6))
def test_other_units_of_count_change_nothing(case: Case, times: int) -> None:
    """Counted in a unit so many times finer, at prices as much lower: the same money for the same lots."""
    asked = case.ladder.forms[0]
    finer = Form(
        label="",
        path=(),
        breaks=tuple((start * times, price / times) for start, price in asked.breaks),
        own=(),
        minimum=asked.minimum * times,
        step=asked.step * times,
        charge=asked.charge,
        per_unit=asked.per_unit / times,
    )
    plan = plan_lots(
        [need * times for need in case.demand],
        (ladder_of(finer, per_order=case.ladder.per_order),),
        [rate / times for rate in case.holding],
        opening=case.opening * times,
    )
    assert plan.total == case.solved().total
    assert quantities(plan) == {period: q * times for period, q in quantities(case.solved()).items()}


# Many periods, large quantities


def wagner_whitin(
    demand: Sequence[Fraction], setups: Sequence[Fraction], holding: Sequence[Fraction]
) -> Fraction:
    """Return the least cost where one price holds for all: F(t) = min over s of F(s) + setup + carrying, 1958."""
    least = [F(0)]
    for end in range(1, len(demand) + 1):
        ways = []
        for start in range(end):
            carried = sum(demand[k] * sum(holding[start:k]) for k in range(start, end))
            placed = setups[start] if any(demand[start:end]) else F(0)
            ways.append(least[start] + placed + carried)
        least.append(min(ways))
    return least[-1]


@pytest.mark.property
@settings(max_examples=30, deadline=None)
@given(st.data())
def test_at_one_price_the_plan_costs_what_wagner_and_whitin_find(data: st.DataObject) -> None:
    periods = data.draw(st.integers(1, 20))

    def drawn(most: int) -> list[Fraction]:
        numbers = st.lists(st.integers(0, most), min_size=periods, max_size=periods)
        return [F(number) for number in data.draw(numbers)]

    demand, setups, holding = drawn(3_000_000), drawn(40_000), [rate / 1000 for rate in drawn(30)]
    ladder = ladder_of(form([(1, 2)]), per_order=tuple(setups))
    assert plan_lots(demand, (ladder,), holding).total == wagner_whitin(demand, setups, holding) + 2 * sum(
        demand
    )


#: Four breaks around the need of one to six periods, for quantities of about 10^5 a period.
FALLING: Breaks = [(1, "1.20"), (80_000, "1.13"), (160_000, "1.08"), (340_000, "1.03"), (620_000, "1")]


def uneven(periods: int, unit: int) -> Iterator[int]:
    """Yield needs of 60,000 to 140,000 in multiples of ``unit``, in no order."""
    for period in range(periods):
        yield 60_000 // unit * unit + (period * period * 7919) % (80_000 // unit) * unit


def test_large_quantities_on_a_grid_cost_what_a_search_over_the_grid_finds() -> None:
    """Needs and breaks are multiples of 20,000 and prices fall, so a best plan has such lots only.

    Between two times of empty stock at most one lot lies off a break, since a piece could be moved from one
    such lot to another until one reaches a break. So every lot is a sum of multiples. Steps of 1 therefore
    cost as much as steps of 20,000, and these are few enough to try all.
    """
    demand = [F(need) for need in uneven(12, 20_000)]
    holding = [F(3 + period % 4, 200) for period in range(12)]
    fine = Case(demand, ladder_of(form(FALLING), per_order=F(4000)), holding, F(0))
    coarse = fine._replace(ladder=ladder_of(form(FALLING, step=20_000), per_order=F(4000)))
    assert fine.solved().total == searched(coarse)[0]


def test_large_odd_quantities_cost_no_more_than_any_rule_of_thumb() -> None:
    demand = [F(need) for need in uneven(24, 7)]
    odd = form([(1, "1.20"), (83_003, "1.13"), (161_009, "1.08"), (340_007, "1.03"), (611_953, "1")])
    case = Case(demand, ladder_of(odd, per_order=F(4000)), [F(1, 50)] * 24, F(12_345))
    best = case.solved()
    assert best.total < min(case.solved(rule).total for rule in RULES)
    # No plan buys below the lowest price, nor without one order at least.
    assert best.total > sum(demand) - 12_345 + 4000
