"""The choice of order quantities: the rules' own small numbers, then proof against brute force and a solver."""

from __future__ import annotations

import itertools
import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from ferrule.compute.gross import Pack
from ferrule.compute.purchase import STRATEGIES, Later, Purchase, cheapest, pays_from, purchase
from ferrule.compute.quotes import Form, Quote
from ferrule.model.number import Count
from ferrule.model.records.part import Source

F = Fraction


def form(
    *breaks: tuple[int, str],
    moq: int = 0,
    step: int = 1,
    pack: int | None = None,
    charge: str = "0",
    label: str = "",
) -> Form:
    return Form(
        label=label,
        path=("price",),
        breaks=tuple((F(start), F(price)) for start, price in breaks),
        own=tuple(F(price) for _, price in breaks),
        minimum=F(moq),
        step=F(step),
        pack=Pack(size=None if pack is None else F(pack)),
        charge=F(charge),
    )


def quote(*forms: Form, per_order: str = "0") -> Quote:
    source = Source(moq=Count(Decimal(0)))
    return Quote(index=0, source=source, forms=forms, bare=forms[0], per_order=F(per_order))


def bought(asked: Quote, need: int, later: Later | None = None) -> Purchase:
    return purchase(asked, lambda _: F(need), later or Later())


def test_minimum_that_is_no_multiple() -> None:
    # MOQ 5,000 in steps of 2,000: 5,000 cannot be ordered, 6,000 can.
    assert form((1, "1"), moq=5000, step=2000).rounded(F(4155)) == 6000


def test_nothing_needed_is_nothing_ordered() -> None:
    assert form((1, "1"), moq=5000).rounded(F(0)) == 0
    assert bought(quote(form((1, "1"), moq=5000)), 0).baskets["least cash now"].spend == 0


def test_buying_up_to_a_break_is_cheaper_than_the_need() -> None:
    # 900 at 1.20 = 1,080; 1,000 at 1.05 = 1,050: the hundred come free.
    offer = bought(quote(form((1, "1.20"), (1000, "1.05"))), 900)
    assert offer.baskets["full packs"].spend == 1080
    assert offer.baskets["least cash now"].qty == 1000
    assert offer.baskets["least cash now"].spend == 1050
    # 1,050 / 1.20 = 875: from there on the thousand cost no more.
    assert offer.pays_from == (F(875), F(1000))


def test_price_follows_the_order_not_the_need() -> None:
    # Need 700, least order 1,000: the price of 1,000 holds, not that of 700.
    offer = bought(quote(form((1, "2.00"), (1000, "1.50"), moq=1000)), 700)
    assert offer.baskets["full packs"].goods == 1500


def test_break_that_never_pays() -> None:
    assert pays_from(form((1, "1.00"), (1000, "1.00")), F(10)) is None
    assert pays_from(form((1, "1.00"), (1000, "1.10")), F(10)) is None
    assert pays_from(form((1, "1.00")), F(10)) is None


def test_mixed_packs_full_reel_and_a_strip() -> None:
    # 5,300 from reels of 5,000 at 0.01 and strips at 0.02: two reels 100.00; one reel and 300 cut 56.00.
    asked = quote(
        form((5000, "0.01"), moq=5000, step=5000, pack=5000, label="reel"),
        form((1, "0.02"), label="cut tape"),
    )
    offer = bought(asked, 5300)
    assert {name: basket.spend for name, basket in offer.baskets.items()} == {
        "full packs": 100,
        "mixed packs": 56,
        "least cash now": 56,
        "least expected total": 56,
    }
    assert [(lot.form.label, lot.qty) for lot in offer.baskets["mixed packs"].lots] == [
        ("reel", F(5000)),
        ("cut tape", F(300)),
    ]


def test_cut_charge_can_make_the_second_reel_cheaper() -> None:
    # The strip costs 45 to cut: 50 + 6 + 45 = 101 against two reels at 100.
    asked = quote(
        form((5000, "0.01"), moq=5000, step=5000, pack=5000),
        form((1, "0.02"), charge="45"),
    )
    assert bought(asked, 5300).baskets["least cash now"].spend == 100


def test_leftover_that_a_firm_build_will_use_counts_in_the_expected_total() -> None:
    # Need 900 at 1.00 = 900; 2,000 at 0.60 = 1,200. Cash now: 900. A firm build takes the 1,100 left, worth
    # 660 at 0.60; carrying is 10 % of it: 1,200 - 660 + 66 = 606.
    asked = quote(form((1, "1.00"), (2000, "0.60")))
    offer = bought(asked, 900, Later(F(1100), F("0.10")))
    assert offer.baskets["least cash now"].spend == 900
    assert offer.baskets["least expected total"].qty == 2000
    assert offer.expected["least expected total"] == 606
    # Nobody firm: the leftover is worth nothing and both ways agree.
    assert bought(asked, 900).baskets["least expected total"].qty == 900


def test_a_greedy_climb_of_breaks_would_miss_the_best() -> None:
    # Stopping at the first break that costs more misses the second: 900, then 1,140, then 880.
    offer = bought(quote(form((1, "1.00"), (1200, "0.95"), (2200, "0.40"))), 900)
    assert offer.baskets["least cash now"].spend == 880


def test_published_price_list() -> None:
    # Price list of Heizer and Render, Operations Management, "Inventory Management", quantity discounts:
    # 5.00 below 1,000, 4.80 from 1,000, 4.75 from 2,000. The yearly totals of its answer (25,700 for lots of
    # 700; 24,725 for 1,000; 24,822.50 for 2,000) are goods + 49 x orders + 20 % of the price on half a lot.
    offer = quote(form((1, "5.00"), (1000, "4.80"), (2000, "4.75")))
    totals = {}
    for lot in (700, 1000, 2000):
        price = offer.forms[0].price(F(lot))
        totals[lot] = 5000 * price + 49 * F(5000, lot) + F("0.20") * price * F(lot, 2)
    assert totals == {700: 25700, 1000: 24725, 2000: F("24822.50")}
    # The same list decides a single order: 980 at 5.00 = 4,900, 1,000 at 4.80 = 4,800.
    assert bought(offer, 980).baskets["least cash now"].qty == 1000
    assert bought(offer, 980).pays_from == (F(960), F(1000))


# Proof -----------------------------------------------------------------------------------------------------

prices = st.integers(1, 400)


@st.composite
def ladders(draw: st.DrawFn, most: int = 3) -> Form:
    starts = sorted(draw(st.sets(st.integers(1, 60), min_size=1, max_size=most)))
    amounts = draw(st.lists(prices, min_size=len(starts), max_size=len(starts)))
    return Form(
        label="",
        path=("price",),
        breaks=tuple((F(start), F(price, 100)) for start, price in zip(starts, amounts, strict=True)),
        own=(),
        minimum=F(draw(st.integers(0, 30))),
        step=F(draw(st.integers(1, 12))),
        charge=F(draw(st.sampled_from([0, 0, 1, 5, 20])), 4),
        per_unit=F(draw(st.sampled_from([0, 0, 3])), 100),
    )


def cost_of(asked: Form, qty: int) -> Fraction:
    """What a quantity costs in one form, worked out from the list alone."""
    if qty == 0:
        return F(0)
    price = [amount for start, amount in asked.breaks if start <= qty][-1]
    return qty * (price + asked.per_unit) + asked.charge


def orderable(asked: Form, most: int) -> list[int]:
    low = max(asked.minimum, asked.breaks[0][0])
    return [0, *(qty for qty in range(1, most) if qty % asked.step == 0 and qty >= low)]


@given(st.lists(ladders(), min_size=1, max_size=3), st.integers(1, 90))
def test_cheapest_equals_brute_force(forms: list[Form], need: int) -> None:
    most = need + 75
    best = min(
        (sum(map(cost_of, forms, qtys), F(0)), F(sum(qtys)))
        for qtys in itertools.product(*(orderable(each, most) for each in forms))
        if sum(qtys) >= need
    )
    found = cheapest(quote(*forms), F(need))
    assert found is not None
    assert (found.spend, found.qty) == best
    assert found.qty >= need


def solved(forms: list[Form], need: int) -> float:
    """The same question as a mixed-integer programme: a count and a switch for each price segment."""
    costs, low, high, cover, groups = [], [], [], [], []
    rows, count = [], sum(len(each.breaks) for each in forms)
    column = 0
    for each in forms:
        group = []
        for index, (start, price) in enumerate(each.breaks):
            first = math.ceil(max(start, each.minimum) / each.step)
            last = 10**4
            if index + 1 < len(each.breaks):
                last = math.ceil(each.breaks[index + 1][0] / each.step) - 1
            costs += [float(each.step * (price + each.per_unit)), float(each.charge)]
            cover += [float(each.step), 0.0]
            for sign, bound in ((1, -last), (-1, first)):
                row = [0.0] * (2 * count)
                row[column], row[column + 1] = sign, bound
                rows.append(row)
            group.append(column + 1)
            low += [0, 0]
            high += [10**4, 1]
            column += 2
        groups.append(group)
    single = []
    for group in groups:
        row = [0.0] * (2 * count)
        for place in group:
            row[place] = 1.0
        single.append(row)
    answer = milp(
        costs,
        constraints=[
            LinearConstraint([cover], need, math.inf),
            LinearConstraint(rows, -math.inf, 0),
            LinearConstraint(single, -math.inf, 1),
        ],
        integrality=[1] * (2 * count),
        bounds=Bounds(low, high),
        options={"mip_rel_gap": 0},
    )
    assert answer.success
    return float(answer.fun)


@settings(max_examples=40)
@given(st.lists(ladders(4), min_size=1, max_size=4), st.integers(1, 5000))
def test_cheapest_equals_a_solver(forms: list[Form], need: int) -> None:
    # scipy.optimize.milp (HiGHS) as an independent witness; it computes in floats, hence the tolerance.
    found = cheapest(quote(*forms), F(need))
    assert found is not None
    assert float(found.spend) == pytest.approx(solved(forms, need), rel=1e-6)


@given(ladders(), ladders(), st.integers(0, 200), st.integers(1, 50))
def test_cost_never_falls_when_a_price_rises(one: Form, other: Form, need: int, rise: int) -> None:
    dearer = Form(
        label="",
        path=(),
        breaks=tuple((start, price + F(rise, 100)) for start, price in one.breaks),
        own=(),
        minimum=one.minimum,
        step=one.step,
        charge=one.charge,
        per_unit=one.per_unit,
    )
    before, after = cheapest(quote(one, other), F(need)), cheapest(quote(dearer, other), F(need))
    assert before is not None
    assert after is not None
    assert after.spend >= before.spend


@given(ladders(), st.integers(0, 200), st.integers(0, 50))
def test_cash_never_falls_when_the_need_rises(one: Form, need: int, more: int) -> None:
    low, high = cheapest(quote(one), F(need)), cheapest(quote(one), F(need + more))
    assert low is not None
    assert high is not None
    assert high.spend >= low.spend


@given(st.lists(ladders(), min_size=1, max_size=3), st.integers(0, 120), st.integers(0, 100))
def test_least_cash_is_least_of_all_ways(forms: list[Form], need: int, later: int) -> None:
    offer = bought(quote(*forms), need, Later(F(later), F(1, 10)))
    cash = offer.baskets["least cash now"].spend
    assert all(offer.baskets[name].spend >= cash for name in STRATEGIES)
    least = offer.expected["least expected total"]
    assert all(offer.expected[name] >= least for name in STRATEGIES)
    assert all(offer.baskets[name].qty >= need for name in STRATEGIES)


@given(ladders(), st.integers(1, 120), st.integers(0, 80), st.integers(0, 10))
def test_expected_total_of_one_form_equals_brute_force(one: Form, need: int, later: int, carry: int) -> None:
    def expected(qty: int) -> Fraction:
        spend = cost_of(one, qty)
        each = [amount for start, amount in one.breaks if start <= qty][-1]
        used = F(min(qty - need, later))
        return spend - used * each * (1 - F(carry, 10))

    best = min(expected(qty) for qty in orderable(one, need + 200) if qty >= need)
    offer = bought(quote(one), need, Later(F(later), F(carry, 10)))
    assert offer.expected["least expected total"] == best
