"""One order for two builds or two orders: each alone is what `buy` pays, the split, what the probability means."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from test_buy_orders import made, products, receipt
from test_buying import bought, figures, line, source
from test_netting import shelf
from test_purchase import cost_of, ladders, orderable

from ferrule.compute.combining import Combined, Combining, combine_lists
from ferrule.compute.order_split import Split
from ferrule.compute.purchase import STRATEGIES
from ferrule.compute.quotes import Form
from ferrule.model.product import Product

F = Fraction
#: 13 weeks apart: at 18 % a year carrying is 4.5 %.
DAYS = ("2027-03-01", "2027-05-31")
YEARLY = 'carrying_rate = "18 %"\n'


def both_builds(parts: str, first: int, second: int, lines: str = "", **more: str) -> Product:
    builds = [("a", first, DAYS[0]), ("b", second, DAYS[1])]
    return made(f"[part.P]\n{parts}", lines or line(1, "P"), *builds, **({"policy": YEARLY} | more))


def lists(p: Product, **named: object) -> Combining:
    return combine_lists(p, *(bought(p, builds=names, **named) for names in (["a"], ["b"], ["a", "b"])))


def compared(p: Product, **named: object) -> Combined:
    ((_, _, found),) = lists(p, **named).rows
    return found


def at(*breaks: tuple[int, str], **more: str) -> str:
    prices = ", ".join(f"{{ from = {start}, each = {price} }}" for start, price in breaks)
    return source("P", f"[{prices}]", **more)


def test_buying_up_now_and_the_rest_later() -> None:
    # 900 now and 600 later; 1.20 from 1, 1.05 from 1,000. Alone 1,050 (buying up) and 720; together 1,500 at 1.05
    # = 1,575. Saved 195. Split: 1,000 now for 1,050, of which 100 are kept a quarter: 4.725; 500 later at 1.20: 600.
    found = compared(both_builds(at((1, "1.20"), (1000, "1.05")), 900, 600))
    assert figures(found.first.qty, found.first.spend, found.second.spend) == (1000, 1050, 720)
    assert figures(found.together.spend, found.gross_saving) == (1575, 195)
    # Carrying 600 at 1.05 for a quarter: 28.35.
    assert (found.carrying, found.net_saving) == (F("28.35"), F("166.65"))
    assert figures(found.extra_now, found.stranded, found.stranded_value) == (525, 600, 630)
    assert found.split == Split(F(1000), F(500), F("1054.725"), F("1654.725"))
    assert found.pays_above == F("553.35") / 720
    # One order costs 1,603.35 in any case. At a chance of one, two orders cost 1,770 and the split 1,654.725; at a
    # half 1,410 and 1,354.725; at 1 % 1,057.20 and 1,060.725.
    assert [found.better(p) for p in (F(1), F(1, 2), F(1, 100))] == ["one order", "split", "two orders"]


def test_a_split_reaches_a_break_without_the_whole_second_build() -> None:
    # 400 and 1,600: 2.00 from 1, 1.00 from 1,000. Together 2,000 x 1.00 and a quarter of 200 % on 1,600: 2,800.
    # Split: 1,000 now = 1,000, 600 of them kept: 300; 1,000 later = 1,000: 2,300. Apart: 800 + 1,600 = 2,400.
    p = both_builds(at((1, "2.00"), (1000, "1.00")), 400, 1600, policy='carrying_rate = "200 %"\n')
    found = compared(p)
    assert figures(found.together.spend + found.carrying, found.gross_saving) == (2800, 400)
    assert figures(found.first.spend + found.second.spend) == (2400,)
    assert found.split == Split(F(1000), F(1000), F(1300), F(2300))


def test_a_charge_by_the_order_is_saved_once() -> None:
    charge = '[{ name = "handling", amount = 40, per = "order" }]'
    found = compared(both_builds(at((1, "1.00"), charge=charge), 100, 100, policy=""))
    assert figures(found.gross_saving, found.net_saving, found.extra_now) == (40, 40, 100)
    assert found.pays_above == F(100, 140)


def test_combining_that_never_pays_and_that_always_does() -> None:
    # No break, dear carrying: 100 more now and 10 for carrying, to save 100 later: above 1, so never.
    dear = both_builds(at((1, "1.00")), 100, 100, policy='carrying_rate = "40 %"\n')
    assert compared(dear).pays_above == F(110, 100)
    # A least order of 1,000 holds both builds: the second costs nothing more now.
    found = compared(both_builds(at((1, "1.00"), moq="1000"), 400, 600, policy=""))
    assert figures(found.extra_now, found.pays_above, found.stranded) == (0, 0, 600)


def test_a_second_build_that_needs_nothing() -> None:
    # 600 a build; 600 on order come between the two and serve the second, together or alone.
    found = compared(both_builds(at((1, "1.00")), 600, 600, counts=receipt(600, "2027-05-10")))
    assert figures(found.first.spend, found.second.spend, found.together.spend) == (600, 0, 600)
    assert (found.pays_above, found.gross_saving, found.carrying) == (None, F(0), F(0))
    assert found.better(F(1)) is None
    assert found.split == Split(F(600), F(0), F(600), F(600))


# Several sources -----------------------------------------------------------------------------------------------


def test_shares_are_compared_at_the_sources_that_buy_asks() -> None:
    # 70 % at 1.00 (0.90 from 1,000) and 30 % at 2.00. Alone: 700 at 1.00 + 300 at 2.00 = 1,300, twice.
    # Together: 1,400 at 0.90 + 600 at 2.00 = 2,460: saves 140. One of the two prices alone gives another answer.
    parts = at((1, "1.00"), (1000, "0.90"), share='"70 %"') + at(
        (1, "2.00"), share='"30 %"', seller='"mirefen"'
    )
    found = compared(both_builds(parts, 1000, 1000))
    assert figures(found.first.spend, found.second.spend, found.together.spend) == (1300, 1300, 2460)
    # 1,000 later pieces at 1.23 on average, 4.5 % of it: 55.35.
    assert (found.gross_saving, found.carrying, found.net_saving) == (F(140), F("55.35"), F("84.65"))
    assert figures(found.extra_now, found.stranded, found.stranded_value) == (1160, 1000, 1230)
    assert found.pays_above == F("1215.35") / 1300


def test_what_is_not_allocated_goes_to_the_next_source_as_it_does_for_buy() -> None:
    # 800 a build; 1,000 are allocated at 1.00, the rest costs 1.50. Each alone 800; together 1,000 + 600 x 1.50
    # = 1,900. Two orders would take 1,600 of the 1,000: their 1,600 are a lower bound, and that is said.
    parts = at((1, "1.00"), allocated="1000", rank="1") + at((1, "1.50"), rank="2", seller='"mirefen"')
    found = compared(both_builds(parts, 800, 800))
    assert figures(found.first.spend, found.second.spend, found.together.spend) == (800, 800, 1900)
    assert found.rationed
    assert found.better(F(1)) == "split"
    # Now 800, later the 200 that are left at 1.00 and 600 at 1.50: 1,900, the same as in one order.
    assert found.split == Split(F(800), F(800), F(800), F(1900))
    assert not compared(both_builds(parts, 400, 400)).rationed


def test_an_allocation_that_leaves_no_remainder_to_order() -> None:
    # At least 600 an order, 1,000 allocated: 300 now take 600, the 400 that are left are no order. Both take 1,000.
    found = compared(both_builds(at((1, "1.00"), moq="600", allocated="1000"), 300, 700))
    assert figures(found.first.qty, found.second.qty, found.together.qty) == (600, 700, 1000)
    assert (found.split, found.rationed, found.better(F(1))) == (None, True, "one order")


def test_the_cheapest_source_may_differ_between_the_orders() -> None:
    # 100 a build: 1.00 without more, or 0.50 and 60 for the order. Alone 100 each at the first; together 160 at the
    # second: 0.50 x 200 + 60.
    charge = '[{ name = "handling", amount = 60, per = "order" }]'
    p = both_builds(at((1, "1.00")) + at((1, "0.50"), seller='"mirefen"', charge=charge), 100, 100)
    found = compared(p, choice="cheapest")
    assert figures(found.first.spend, found.second.spend, found.together.spend) == (100, 100, 160)
    assert found.carrying == 100 * F("0.50") * F("0.045")
    assert figures(compared(p).together.spend) == (200,)


# Left out ------------------------------------------------------------------------------------------------------

NO_PRICE = '[[part.P.source]]\nseller = "norholt"\nstatus = "approved"\nmoq = 1\n'
WHY = [
    (at((1, "1.00"), allocated="1000"), "too little is allocated for one order"),
    (at((1, "1.00"), allocated="500"), "too little is allocated for the first alone, one order"),
    (at((1, "1.00"), allocated="0"), "its sources have allocated nothing that can be ordered"),
    (NO_PRICE, "no price is known"),
    ("", "it has no source"),
    ("in_house = true\n", "made in house"),
]


@pytest.mark.parametrize(("parts", "why"), WHY)
def test_what_cannot_be_compared_says_why(parts: str, why: str) -> None:
    found = lists(both_builds(parts, 800, 300))
    assert found.rows == ()
    assert [(each.part, each.why) for each in found.left_out] == [("P", why)]


def test_stock_that_covers_both_and_parts_of_one_build_only() -> None:
    found = lists(both_builds(at((1, "1.00")), 100, 100, counts=shelf("works", 500)))
    assert [each.why for each in found.left_out] == ["stock and open orders cover it"]
    dated = line(1, "P", effective="{ to = 2027-04-15 }")
    found = lists(both_builds(at((1, "1.00")), 100, 100, lines=dated))
    assert [each.why for each in found.left_out] == ["only the first needs it"]


def test_small_order_fees_count_by_seller() -> None:
    # Norholt asks 35 USD = 28 EUR below 250 USD = 200 EUR: 150 each alone, 300 in one order.
    found = lists(both_builds(at((1, "1.50")), 100, 100))
    assert figures(*found.fees) == (28, 28, 0)


def test_builds_that_interleave_are_said() -> None:
    builds = [("a", 10, "2027-03-01"), ("b", 10, "2027-05-03"), ("c", 10, "2027-07-05")]
    p = made("[part.P]\n" + at((1, "1")), line(1, "P"), *builds)
    each = [bought(p, builds=names) for names in (["a", "c"], ["b"], ["a", "b", "c"])]
    assert combine_lists(p, *each).interleaved
    assert not lists(p).interleaved


# Laws ----------------------------------------------------------------------------------------------------------


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(products(), st.sampled_from(STRATEGIES))
def test_each_alone_and_both_are_what_buy_pays(case: tuple[Product, str], strategy: str) -> None:
    p, choice = case
    named = {"choice": choice, "strategy": strategy}
    found = lists(p, **named)
    paid = [
        {(row.part, row.buyer): row for row in bought(p, builds=names, **named).rows}
        for names in (["a"], ["b"], ["a", "b"])
    ]
    pools = [(part, buyer) for part, buyer, _ in found.rows]
    assert sorted([*pools, *((each.part, each.buyer) for each in found.left_out)]) == sorted(paid[2])
    for part, buyer, each in found.rows:
        rows = [rows[part, buyer] for rows in paid]
        assert [each.first.spend, each.second.spend, each.together.spend] == [row.spend for row in rows]
        assert [each.first.qty, each.second.qty, each.together.qty] == [row.ordered for row in rows]
        assert not any(row.lacking for row in rows)
    for left in found.left_out:
        rows = [rows[left.part, left.buyer] for rows in paid]
        assert any(row.lacking for row in rows) or not any(row.orders for row in rows)


bare_ladders = ladders().map(lambda one: replace(one, charge=F(0), per_unit=F(0)))


def ladder(one: Form, first: int, second: int, rate: int) -> Combined:
    """Return the comparison of one source with the breaks, least order and step of a form."""
    prices = [(int(start), f"{float(price):.2f}") for start, price in one.breaks]
    parts = at(*prices, moq=str(max(1, int(one.minimum))), multiple=str(int(one.step)))
    return compared(both_builds(parts, first, second, policy=f'carrying_rate = "{rate * 4} %"\n'))


@pytest.mark.property
@settings(max_examples=40, deadline=None)
@given(bare_ladders, st.integers(1, 60), st.integers(1, 60), st.integers(0, 40), st.integers(0, 100))
def test_the_probability_is_where_both_ways_cost_the_same(
    one: Form, first: int, second: int, rate: int, chance: int
) -> None:
    found = ladder(one, first, second, rate)
    p = F(chance, 100)
    apart = found.first.spend + p * found.second.spend
    together = found.together.spend + found.carrying
    assert found.pays_above is not None
    if p > found.pays_above:
        assert together < apart
    elif found.pays_above > p:
        assert together >= apart


@pytest.mark.property
@settings(max_examples=40, deadline=None)
@given(bare_ladders, st.integers(1, 60), st.integers(1, 60), st.integers(0, 40))
def test_the_split_equals_brute_force(one: Form, first: int, second: int, rate: int) -> None:
    # Every orderable quantity now, the cheapest way for the rest later, the pieces kept carried at the price paid.
    found = ladder(one, first, second, rate)
    costs = {qty: cost_of(one, qty) for qty in orderable(one, 200)}

    def total(now: int) -> Fraction:
        later = min(cost for qty, cost in costs.items() if qty >= first + second - now)
        each = [price for start, price in one.breaks if start <= now][-1]
        return costs[now] + later + min(now - first, second) * each * F(rate, 100)

    totals = [total(now) for now in costs if now >= first]
    assert found.split is not None
    # Ours looks at the need and the breaks, and misses only what lies between two breaks.
    assert found.split.total >= min(totals)
    assert found.split.total in totals
