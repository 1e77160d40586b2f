"""One order for two builds or two orders: the split between them, and what the probability formula means."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_purchase import cost_of, form, ladders, orderable, quote

from ferrule.compute.combining import Combined, combined
from ferrule.compute.quotes import Form

F = Fraction
QUARTER = F(18, 100) * F(13, 52)  # 18 % a year for 13 weeks: 4.5 %


def compared(
    one: Form, first: int, second: int, rate: Fraction = QUARTER, *, per_order: str = "0"
) -> Combined:
    found = combined(quote(one, per_order=per_order), F(first), F(first + second), F(second), rate)
    assert found is not None
    return found


def test_buying_up_now_and_the_rest_later() -> None:
    # 900 now and 600 later; 1.20 from 1, 1.05 from 1,000. Alone 1,050 (buying up) and 720; together 1,500 at 1.05
    # = 1,575. Saved 195. Split: 1,000 now for 1,050, of which 100 are kept a quarter: 4.725; 500 later at 1.20: 600.
    found = compared(form((1, "1.20"), (1000, "1.05")), 900, 600)
    assert (found.first.qty, found.first.spend, found.second.spend) == (F(1000), F(1050), F(720))
    assert (found.together.spend, found.gross_saving) == (F(1575), F(195))
    # Carrying 600 at 1.05 for a quarter: 28.35.
    assert (found.carrying, found.net_saving) == (F("28.35"), F("166.65"))
    assert (found.extra_now, found.stranded, found.stranded_value) == (F(525), F(600), F(630))
    assert (found.split.now, found.split.later, found.split.total) == (F(1000), F(500), F("1654.725"))
    assert found.pays_above == F("553.35") / 720


def test_a_split_reaches_a_break_without_the_whole_second_build() -> None:
    # 400 and 1,600: 2.00 from 1, 1.00 from 1,000. Together 2,000 x 1.00 and a year's carrying of 50 % on 1,600: 2,800.
    # Split: 1,000 now = 1,000, 600 of them kept: 300; 1,000 later = 1,000: 2,300. Apart: 800 + 1,600 = 2,400.
    found = compared(form((1, "2.00"), (1000, "1.00")), 400, 1600, F(1, 2))
    assert (found.together.spend + found.carrying, found.gross_saving) == (F(2800), F(400))
    assert (found.first.spend + found.second.spend, found.split.total) == (F(2400), F(2300))


def test_a_charge_by_the_order_is_saved_once() -> None:
    found = compared(form((1, "1.00")), 100, 100, F(0), per_order="40")
    assert (found.gross_saving, found.net_saving, found.extra_now) == (F(40), F(40), F(100))
    assert found.pays_above == F(100, 140)


def test_combining_that_never_pays_and_that_always_does() -> None:
    # No break, dear carrying: 100 more now and 10 for carrying, to save 100 later: above 1, so never.
    assert compared(form((1, "1.00")), 100, 100, F(1, 10)).pays_above == F(110, 100)
    # A least order of 1,000 holds both builds: the second costs nothing more now.
    found = compared(form((1, "1.00"), moq=1000), 400, 600, F(0))
    assert (found.extra_now, found.pays_above, found.stranded) == (F(0), F(0), F(600))


def test_a_second_build_that_needs_nothing() -> None:
    found = combined(quote(form((1, "1.00"))), F(100), F(100), F(0), QUARTER)
    assert found is not None
    assert (found.pays_above, found.gross_saving, found.carrying) == (None, F(0), F(0))


def test_without_a_price_there_is_nothing_to_compare() -> None:
    asked = quote(form((1, "1.00")))
    bare = type(asked)(index=0, source=asked.source, forms=(), bare=asked.bare)
    assert combined(bare, F(1), F(2), F(1), QUARTER) is None


@pytest.mark.property
@given(ladders(), st.integers(1, 60), st.integers(1, 60), st.integers(0, 40), st.integers(0, 100))
def test_the_probability_is_where_both_ways_cost_the_same(
    one: Form, first: int, second: int, rate: int, chance: int
) -> None:
    found = compared(one, first, second, F(rate, 100))
    p = F(chance, 100)
    apart = found.first.spend + p * found.second.spend
    together = found.together.spend + found.carrying
    assert found.pays_above is not None
    if p > found.pays_above:
        assert together < apart
    elif found.pays_above > p:
        assert together >= apart


@pytest.mark.property
@given(ladders(), st.integers(1, 60), st.integers(1, 60), st.integers(0, 40))
def test_the_split_equals_brute_force(one: Form, first: int, second: int, rate: int) -> None:
    # Every orderable quantity now, the cheapest way for the rest later, the pieces kept carried at the price paid.
    found = compared(one, first, second, F(rate, 100))
    costs = {qty: cost_of(one, qty) for qty in orderable(one, 200)}

    def total(now: int) -> Fraction:
        later = min(cost for qty, cost in costs.items() if qty >= first + second - now)
        each = [price for start, price in one.breaks if start <= now][-1]
        return costs[now] + later + min(now - first, second) * each * F(rate, 100)

    totals = [total(now) for now in costs if now >= first]
    # Ours looks at the need and the breaks, and misses only what lies between two breaks.
    assert found.split.total >= min(totals)
    assert found.split.total in totals
