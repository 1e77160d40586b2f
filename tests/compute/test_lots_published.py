"""Lot plans printed in the literature, price breaks aside: fixed cost of an order against holding.

Each set names its source. "From memory" and "recomputed" say which figures no copy was seen of.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest

from ferrule.compute.lots import Ladder, LotPlan, _averages, lot_for_lot, plan_lots, silver_meal
from ferrule.compute.quotes import Form

#: Goods cost nothing here: in these sets every plan buys the same quantity at one price.
FREE = Form(label="", path=(), breaks=((Fraction(0), Fraction(0)),), own=())

# H. M. Wagner, T. M. Whitin, "Dynamic Version of the Economic Lot Size Model", Management Science 5(1),
# October 1958, pages 89 to 96. Demand, setup costs, holding and 864 seen in public replications that quote
# the paper; the row of costs by horizon from memory. Lots recomputed: they are the only optimum.
WAGNER_WHITIN = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
WAGNER_WHITIN_SETUP = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
WAGNER_WHITIN_COSTS = [85, 114, 186, 277, 348, 400, 469, 555, 600, 710, 789, 864]

# W. J. Hopp, M. L. Spearman, Factory Physics, section 2.3.3. Demand seen; setup, holding, costs and lots
# from memory.
HOPP_SPEARMAN = [20, 50, 10, 50, 50, 10, 20, 40, 20, 30]
HOPP_SPEARMAN_COSTS = [100, 150, 170, 270, 320, 340, 400, 480, 520, 580]

# S. Nahmias, Production and Operations Analysis, lot-sizing section, machine-shop casings. Inputs, averages
# and lots seen; the total of 310 recomputed.
CASINGS = [18, 30, 42, 5, 20]

# C. Ptak, C. Smith, Orlicky's Material Requirements Planning, 3rd edition, 2011, pages 147 and 148 of the
# book. Net requirements, setup and holding seen, lot for lot seen as quantities; costs recomputed.
NINE_PERIODS = [35, 10, 0, 40, 0, 20, 5, 10, 30]


def exactly(numbers: Sequence[int]) -> list[Fraction]:
    return [Fraction(number) for number in numbers]


def setup(costs: int | Sequence[int]) -> tuple[Ladder, ...]:
    per_order = Fraction(costs) if isinstance(costs, int) else tuple(exactly(costs))
    return (Ladder(forms=(FREE,), per_order=per_order),)


def quantities(plan: LotPlan) -> dict[int, Fraction]:
    """Return the lots with periods counted from 1, as they are printed."""
    return {lot.period + 1: lot.quantity for lot in plan.lots}


@pytest.mark.parametrize("horizon", range(1, 13))
def test_wagner_and_whitin_costs_by_horizon(horizon: int) -> None:
    ladder = setup(WAGNER_WHITIN_SETUP[:horizon])
    plan = plan_lots(exactly(WAGNER_WHITIN[:horizon]), ladder, Fraction(1))
    assert plan.total == WAGNER_WHITIN_COSTS[horizon - 1]


def test_wagner_and_whitin_lots() -> None:
    plan = plan_lots(exactly(WAGNER_WHITIN), setup(WAGNER_WHITIN_SETUP), Fraction(1))
    assert quantities(plan) == {1: 98, 3: 97, 5: 121, 8: 112, 10: 67, 11: 135}
    # 85 + 102 + 98 + 86 + 110 + 98 for six lots, 29 + 61 + (26 + 34) + 34 + 45 + 56 carried.
    assert plan.ordering == 579
    assert plan.holding == 285


def test_snyder_and_shen_example() -> None:
    # L. V. Snyder, Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd edition, 2019, example 3.9. From memory.
    plan = plan_lots(exactly([90, 120, 80, 70]), setup(500), Fraction(2))
    assert plan.total == 1380
    assert quantities(plan) == {1: 210, 3: 150}


@pytest.mark.parametrize("horizon", range(1, 11))
def test_hopp_and_spearman_costs_by_horizon(horizon: int) -> None:
    plan = plan_lots(exactly(HOPP_SPEARMAN[:horizon]), setup(100), Fraction(1))
    assert plan.total == HOPP_SPEARMAN_COSTS[horizon - 1]


def test_hopp_and_spearman_lots() -> None:
    plan = plan_lots(exactly(HOPP_SPEARMAN), setup(100), Fraction(1))
    assert quantities(plan) == {1: 80, 4: 130, 8: 90}


@pytest.mark.parametrize(("start", "printed"), [(1, ["80", "70", "102.67"]), (3, ["80", "45", "56.67"])])
def test_silver_meal_averages_of_the_casings(start: int, printed: list[str]) -> None:
    rest = exactly(CASINGS[start - 1 :])
    averages = list(_averages(rest, Fraction(80), [Fraction(2)] * len(rest)))[:3]
    assert [round(average, 2) for average in averages] == [Fraction(shown) for shown in printed]


def test_silver_meal_lots_of_the_casings() -> None:
    plan = silver_meal(exactly(CASINGS), setup(80), Fraction(2))
    assert plan.total == 310
    assert quantities(plan) == {1: 48, 3: 47, 5: 20}


def test_of_equal_plans_for_the_casings_the_one_of_fewer_lots_comes_out() -> None:
    # 80 + 2 x 30 + 80 + 2 x 5 + 2 x 2 x 20 = 310 with two lots, 80 + 60 + 80 + 10 + 80 = 310 with three.
    plan = plan_lots(exactly(CASINGS), setup(80), Fraction(2))
    assert plan.total == 310
    assert quantities(plan) == {1: 48, 3: 67}


def test_nine_periods_lot_for_lot() -> None:
    plan = lot_for_lot(exactly(NINE_PERIODS), setup(100), Fraction(1))
    assert quantities(plan) == {1: 35, 2: 10, 4: 40, 6: 20, 7: 5, 8: 10, 9: 30}
    assert plan.total == 700


def test_nine_periods_silver_meal_is_the_optimum() -> None:
    best = plan_lots(exactly(NINE_PERIODS), setup(100), Fraction(1))
    assert quantities(best) == {1: 45, 4: 65, 8: 40}
    assert best.total == 395
    assert silver_meal(exactly(NINE_PERIODS), setup(100), Fraction(1)) == best


def test_nine_periods_with_a_price_add_the_same_goods_to_every_plan() -> None:
    # Unit cost 50 as printed: 150 units, 7,500 on top of 395.
    priced = Form(label="", path=(), breaks=((Fraction(1), Fraction(50)),), own=())
    plan = plan_lots(exactly(NINE_PERIODS), [Ladder(forms=(priced,), per_order=Fraction(100))], Fraction(1))
    assert plan.total == 7895
    assert plan.ordering == 7800


def test_steady_demand_gives_the_economic_order_quantity() -> None:
    # J. Heizer, B. Render, Operations Management, "Inventory Management", needles: 1,000 a year, 10.00 an order, 0.50 a
    # piece and year: 200 at a time (seen), five orders, 100.00 a year (from memory). Here the year is 100 periods of 10
    # pieces, each used when its period begins: half a period's 10 pieces less lie in stock, 0.50 x 5 = 2.50.
    plan = plan_lots([Fraction(10)] * 100, setup(10), Fraction(50, 100) / 100)
    assert list(quantities(plan).values()) == [200] * 5
    assert plan.total == 100 - Fraction(5, 2)
