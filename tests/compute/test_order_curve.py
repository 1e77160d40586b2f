"""What one order of every quantity costs over several forms: by hand, and against trying every mix."""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_buying import figures
from test_purchase import form, quote

from ferrule.compute.lots import Ladder, cost_lots, lot_for_lot, one_lot, plan_lots
from ferrule.compute.order_curve import common_measure, grid_of
from ferrule.compute.purchase import cheapest
from ferrule.compute.quotes import Form
from ferrule.compute.stretches import cost_at

F = Fraction
REEL = form((3000, "0.08"), step=3000, pack=3000, label="reel")
TAPE = form((1, "0.20"), charge="5", label="cut strip")


def cost(forms: tuple[Form, ...], quantity: int) -> Fraction | None:
    grid = grid_of(forms)
    found = cost_at(grid.curve(forms, quantity + 1), grid.steps(F(quantity)) or 0)
    return None if found is None else F(found, grid.scale)


# By hand ---------------------------------------------------------------------------------------------------


def test_a_reel_and_a_strip_cost_less_than_either() -> None:
    # 3,150: a reel for 240, 150 on a strip for 30 + 5. On strips alone 630 + 5.
    assert cost((REEL, TAPE), 3150) == 275
    assert cost((TAPE,), 3150) == 635
    assert cost((REEL,), 3150) is None
    assert cost((REEL, TAPE), 6000) == 480
    assert grid_of([REEL, TAPE]).mix((REEL, TAPE), F(3150)) == [(REEL, F(3000)), (TAPE, F(150))]
    assert grid_of([REEL, TAPE]).mix((REEL, TAPE), F(6000)) == [(REEL, F(6000))]


def test_the_grid_is_the_common_measure_of_all_steps() -> None:
    assert common_measure(F(6), F(4)) == 2
    assert common_measure(F(5, 2), F(1)) == F(1, 2)
    sixes, fours = form((6, "1"), step=6), form((4, "1"), step=4)
    assert grid_of([sixes, fours]).unit == 2
    assert [q for q in range(1, 13) if cost((sixes, fours), q) is not None] == [4, 6, 8, 10, 12]


def test_a_lot_for_each_build_of_reels_and_strips() -> None:
    # 3,150 and 3,150, 10 an order. Each alone: 275 + 10, twice: 570. At once 6,300: 480 + 300 x 0.20 + 5 + 10 = 555,
    # carrying 3,150 for 0.01: 586.50. Two reels first, 300 on a strip then: 490 + 28.50 carried + 65 + 10 = 593.50.
    # One strip of 300 first, which saves the charge of a second: 240 + 65 + 10, 150 carried for 1.50, 250: 566.50.
    # At 0.002 to carry: at once 555 + 6.30 = 561.30; one strip first 315 + 0.30 + 250 = 565.30.
    ladder = Ladder(forms=(REEL, TAPE), per_order=F(10))
    needs = [F(3150), F(3150)]
    apart = plan_lots(needs, [ladder], F("0.01"))
    assert apart.total == F("566.50")
    assert [lot.mix for lot in apart.lots] == [((REEL, F(3000)), (TAPE, F(300))), ((REEL, F(3000)),)]
    at_once = plan_lots(needs, [ladder], F("0.002"))
    assert (at_once.total, [lot.quantity for lot in at_once.lots]) == (F("561.30"), [F(6300)])
    assert lot_for_lot(needs, [ladder], F("0.002")).total == 570
    assert one_lot(needs, [ladder], F("0.01")).total == F("586.50")
    assert cost_lots({0: F(6000), 1: F(300)}, needs, [ladder], F("0.01")).total == F("593.50")


def test_each_lot_goes_to_its_cheapest_source() -> None:
    # 100 then 1,000: 1.00 each and 5 an order here, 0.80 and 60 there. 105 + 860; all there at once costs 940 + 100 x 1.
    small, large = form((1, "1.00")), form((1, "0.80"))
    ladders = [Ladder(forms=(small,), per_order=F(5)), Ladder(forms=(large,), per_order=F(60))]
    plan = plan_lots([F(100), F(1000)], ladders, F(1))
    assert [figures(lot.ladder, lot.quantity, lot.cost) for lot in plan.lots] == [
        (0, 100, 105),
        (1, 1000, 860),
    ]


def test_no_more_is_ordered_than_can_be_had() -> None:
    # 900 at 1.20, 1,000 at 1.05 not to be had where 950 are: 1,080.
    ladder = Ladder(forms=(form((1, "1.20"), (1000, "1.05")),))
    assert plan_lots([F(900)], [ladder], F(0)).total == 1050
    assert plan_lots([F(900)], [ladder], F(0), most=F(950)).total == 1080
    assert plan_lots([F(500), F(450)], [ladder], F(0), most=F(950)).total == 1140
    with pytest.raises(ValueError, match="can be had"):
        plan_lots([F(500), F(500)], [ladder], F(0), most=F(950))


# Against trying everything ---------------------------------------------------------------------------------

small_forms = st.builds(
    lambda breaks, moq, step, charge: form(
        *((start, str(price)) for start, price in sorted(breaks.items())),
        moq=moq,
        step=step,
        charge=str(charge),
    ),
    st.dictionaries(st.integers(1, 9), st.integers(0, 6), min_size=1, max_size=2),
    st.integers(0, 5),
    st.sampled_from([1, 1, 2, 3, 4]),
    st.sampled_from([0, 2, 5]),
)
MOST = 24


def quantities_of(asked: Form) -> list[tuple[int, Fraction]]:
    """Return every quantity of a form up to MOST with its cost, read off the form anew; nothing costs nothing."""
    found = [(0, F(0))]
    for q in range(1, MOST + 1):
        prices = [price for start, price in asked.breaks if start <= q]
        if q >= asked.minimum and q % asked.step == 0 and prices:
            found.append((q, q * prices[-1] + asked.charge))
    return found


def mixes_of(forms: tuple[Form, ...]) -> dict[int, Fraction]:
    """Return the least cost of every quantity, trying every mix."""
    costs: dict[int, Fraction] = {}
    for choice in itertools.product(*map(quantities_of, forms)):
        q, spent = sum(q for q, _ in choice), sum((spent for _, spent in choice), F(0))
        if q and (q not in costs or spent < costs[q]):
            costs[q] = spent
    return costs


@pytest.mark.property
@settings(max_examples=150, deadline=None)
@given(st.lists(small_forms, min_size=1, max_size=3).map(tuple), st.integers(1, 12))
def test_the_curve_is_what_trying_every_mix_finds(forms: tuple[Form, ...], need: int) -> None:
    every = mixes_of(forms)
    for q in range(1, 13):
        assert cost(forms, q) == every.get(q)
        mix = grid_of(forms).mix(forms, F(q))
        assert (mix is None) == (q not in every)
        if mix is not None:
            assert sum(amount for _, amount in mix) == q
            assert sum(amount * f.price(amount) + f.charge for f, amount in mix) == every[q]
    # What a single order pays for a need is the least of the curve from there on.
    found = cheapest(quote(*forms, per_order="3"), F(need))
    assert found is not None
    assert found.spend == min(spent for q, spent in every.items() if q >= need) + 3


@st.composite
def several(draw: st.DrawFn) -> tuple[list[Fraction], list[Ladder], list[Fraction], int | None]:
    periods = draw(st.integers(1, 4))
    ladders = draw(
        st.lists(
            st.builds(
                Ladder,
                forms=st.lists(small_forms, min_size=1, max_size=2).map(tuple),
                per_order=st.integers(0, 9).map(F),
            ),
            min_size=1,
            max_size=2,
        )
    )
    needs = draw(st.lists(st.integers(0, 5).map(F), min_size=periods, max_size=periods))
    rates = draw(st.lists(st.fractions(0, 2, max_denominator=4), min_size=periods, max_size=periods))
    most = draw(st.none() | st.integers(int(sum(needs)), int(sum(needs)) + 6))
    return needs, ladders, rates, most


@pytest.mark.property
@settings(max_examples=150, deadline=None)
@given(several())
def test_lots_over_forms_and_sources_are_what_a_search_over_every_stock_level_finds(
    case: tuple[list[Fraction], list[Ladder], list[Fraction], int | None],
) -> None:
    """With price breaks a lot may start before stock is empty: the search lets every lot start at every stock."""
    needs, ladders, rates, most = case
    orders: dict[int, Fraction] = {0: F(0)}
    for ladder in ladders:
        assert isinstance(ladder.per_order, Fraction)
        for q, spent in mixes_of(ladder.forms).items():
            orders[q] = min(orders.get(q, spent + ladder.per_order), spent + ladder.per_order)
    best: dict[int, Fraction] = {0: F(0)}  # by all that is ordered so far
    due = 0
    for need, rate in zip(needs, rates, strict=True):
        due += int(need)
        reached: dict[int, Fraction] = {}
        for (ordered, so_far), (q, spent) in itertools.product(best.items(), orders.items()):
            level = ordered + q
            value = so_far + spent + rate * (level - due)
            if due <= level <= (2 * MOST if most is None else most) and value < reached.get(level, math.inf):
                reached[level] = value
        best = reached
    if not best:
        with pytest.raises(ValueError, match="had"):
            plan_lots(needs, ladders, rates, most=None if most is None else F(most))
        return
    plan = plan_lots(needs, ladders, rates, most=None if most is None else F(most))
    assert plan.total == min(best.values())
    assert most is None or sum(lot.quantity for lot in plan.lots) <= most
    assert all(sum((q for _, q in lot.mix), F(0)) == lot.quantity for lot in plan.lots)
    assert one_lot(needs, ladders, rates).total >= plan.total or most is not None
