"""Changing over from one part to another, by hand and by law."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from builders import TODAY
from cost_builders import line, part, whole
from effect_builders import PLAN
from ferrule.compute.cutin import CutInAsk, OpenLot, Switching, WeekNeed, cut_in
from ferrule.compute.cutin_facts import Spread, cut_in_facts, unit_at
from ferrule.compute.figures import figures_of
from ferrule.model.product import Product


def week(number: int, units: int = 50, each: int = 1) -> WeekNeed:
    return WeekNeed(number=number, units=units, old=Fraction(units * each), new=Fraction(units * each))


def lot(name: str, at: int | None, qty: int, value: int, fee: int | None = None) -> OpenLot:
    return OpenLot(
        name=name,
        week=at,
        qty=Fraction(qty),
        value=Fraction(value),
        fee=None if fee is None else Fraction(fee),
    )


#: 100 lie, 50 come fixed in week 2, 40 that can be cancelled for 30 in week 1; 50 units in each of four weeks.
ASK = CutInAsk(
    weeks=tuple(week(number) for number in range(4)),
    stock=Fraction(100),
    stock_value=Fraction(300),
    orders=(lot("fixed", 2, 50, 150), lot("free", 1, 40, 120, 30)),
    new_price=Fraction(4),
)


def totals(ask: CutInAsk) -> list[int | str]:
    found = cut_in(ask)
    rows = [*found.weeks, found.use_up]
    return [f"short {row.short}" if row.short else int(row.total) for row in rows]


def test_every_week_and_use_up_by_hand() -> None:
    """In week 0 200 new at 4 and 30 to cancel; 50 fewer new each week; 190 old feed no four weeks; use-up takes
    the 40 for 120 rather than 40 new for 160 and the fee."""
    assert totals(ASK) == [830, 630, 430, 230, "short 10", 160]
    found = cut_in(ASK)
    assert (found.use_up.old_units, found.use_up.taken, found.use_up.left) == (190, ("free",), Fraction(0))
    assert found.best is found.use_up


def test_sunk_money_is_in_no_row() -> None:
    dearer = replace(ASK, stock_value=Fraction(9000), orders=(lot("fixed", 2, 50, 9000), ASK.orders[1]))
    assert totals(dearer) == totals(ASK)
    assert (ASK.sunk, dearer.sunk) == (Fraction(450), Fraction(18000))


def test_the_write_off_is_what_is_left_last_come_first() -> None:
    """In week 2 the 100 that lay are gone, the 50 fixed are left at 3; in week 1 also 50 of the 100."""
    found = cut_in(ASK)
    assert [row.write_off for row in found.weeks[:4]] == [Fraction(n) for n in (450, 300, 150, 0)]
    assert [row.left for row in found.weeks[:4]] == [Fraction(n) for n in (150, 100, 50, 0)]


def test_an_order_is_cancelled_or_taken_whichever_is_cheaper() -> None:
    dear_fee = replace(ASK, orders=(ASK.orders[0], lot("free", 1, 40, 120, 130)))
    assert (cut_in(dear_fee).weeks[0].orders, cut_in(dear_fee).weeks[0].taken) == (Fraction(120), ("free",))
    assert (cut_in(ASK).weeks[0].orders, cut_in(ASK).weeks[0].cancelled) == (Fraction(30), ("free",))
    sold = replace(ASK, salvage=Fraction("2.5"))  # 40 taken bring 100 back: 20 against a fee of 30
    assert cut_in(sold).weeks[0].taken == ("free",)


def test_an_order_without_a_day_feeds_no_week() -> None:
    late = replace(ASK, orders=(lot("fixed", None, 50, 150),))
    assert totals(late) == [800, 600, 400, "short 50", "short 100", 400]


def test_a_switch_in_the_middle_of_a_week_is_use_up_only() -> None:
    few = replace(ASK, stock=Fraction(75), orders=())
    found = cut_in(few)
    assert (found.use_up.old_units, found.use_up.new_units, found.use_up.new_parts) == (
        75,
        125,
        Fraction(500),
    )
    two_each = replace(few, weeks=tuple(week(number, each=2) for number in range(4)))
    assert (cut_in(two_each).use_up.old_units, cut_in(two_each).use_up.left) == (37, Fraction(1))


def test_old_parts_that_come_too_late_do_not_help_a_week_before() -> None:
    late = replace(ASK, stock=Fraction(0), orders=(lot("fixed", 1, 500, 0),))
    assert [bool(row.short) for row in cut_in(late).weeks] == [False, True, True, True, True]
    assert cut_in(late).use_up.old_units == 0


def test_extra_warranty_and_other_cost_count_by_unit() -> None:
    found = cut_in(replace(ASK, warranty=Fraction(1), other=Fraction(-1, 2)))
    row = found.weeks[2]
    assert (row.warranty, row.other, row.total) == (Fraction(100), Fraction(-50), Fraction(480))


def test_what_would_make_both_equal_looks_at_every_choice_of_orders() -> None:
    """With 670/190 more warranty the use-up with the order costs 830 as well, but the one without it only
    230 + 150 x 3.53: it takes 4.00 on each of 150 units. Salvage: 150 left over at 4.00 bring 600, and so on."""
    even = cut_in(ASK).even
    assert even is not None
    assert (even.saved, even.warranty) == (Fraction(670), Fraction(4))
    assert even.warranty is not None
    assert even.salvage is not None
    for field, amount in (("warranty", even.warranty), ("salvage", even.salvage)):
        found = cut_in(replace(ASK, **{field: amount}))
        assert found.weeks[0].total == found.use_up.total, field
        less = cut_in(replace(ASK, **{field: amount - Fraction(1, 100)}))
        assert less.weeks[0].total > less.use_up.total, field


def test_nothing_is_said_where_using_up_saves_nothing() -> None:
    cheap = replace(ASK, other=Fraction(-10))
    assert cut_in(cheap).even is None
    assert cut_in(cheap).best.week == 0


ASKS = st.builds(
    lambda weeks, stock, orders, price, warranty: CutInAsk(
        weeks=tuple(week(number, units) for number, units in enumerate(weeks)),
        stock=Fraction(stock),
        stock_value=Fraction(stock),
        orders=tuple(lot(f"{index}", at, qty, 2 * qty, fee) for index, (at, qty, fee) in enumerate(orders)),
        new_price=Fraction(price),
        warranty=Fraction(warranty, 4),
    ),
    st.lists(st.integers(0, 20), min_size=1, max_size=5),
    st.integers(0, 60),
    st.lists(
        st.tuples(st.none() | st.integers(0, 5), st.integers(1, 30), st.none() | st.integers(0, 80)),
        max_size=3,
    ),
    st.integers(0, 9),
    st.integers(0, 9),
)


@pytest.mark.property
@settings(max_examples=150, deadline=None)
@given(ASKS)
def test_laws(ask: CutInAsk) -> None:
    found = cut_in(ask)
    rows: list[Switching] = [*found.weeks, found.use_up]
    assert {row.old_units + row.new_units for row in rows} == {ask.units}
    allowed = [row for row in rows if not row.short]
    assert found.best.total == min(row.total for row in allowed)
    for row in allowed:
        assert row.left >= 0
        orders = {lot.name for lot in ask.orders if lot.fee is not None}
        assert set(row.taken) | set(row.cancelled) == orders
        assert not set(row.taken) & set(row.cancelled)
    assert not found.weeks[0].short
    refused = [bool(row.short) for row in found.weeks]
    assert refused == sorted(refused)  # what was short stays short
    if found.even is not None and found.even.warranty is not None:
        again = cut_in(replace(ask, warranty=ask.warranty + found.even.warranty))
        assert again.weeks[0].total == again.use_up.total


# --- from two revisions ----------------------------------------------------------------------------------


def revisions(counts: str = "") -> tuple[Product, Product]:
    parts = part("P", (1, "10")) + part("Q", (1, "12"))
    plan = PLAN.replace("qty = 100", 'qty = 100\nserials = "501-600"')
    before, after = (
        whole(parts, line(10, number, 2), lane="", plans=plan, counts=counts) for number in ("P", "Q")
    )
    return before, after


COUNTS = """\
[[stock]]
part = "P"
place = "works"
qty = 51
counted = 2026-11-20
value = "4 EUR"
[[order]]
id = "1"
part = "P"
seller = "seller"
qty = 60
due = 2026-12-09
ncnr = true
each = "6 EUR"
[[order]]
id = "2"
part = "P"
seller = "seller"
qty = 10
due = 2026-12-16
ncnr = false
"""


def test_the_facts_of_two_revisions() -> None:
    """200 P in the one week of the build; 51 lie at 4, 60 come fixed at 6, 10 at the source's 10, free to cancel."""
    sides = [figures_of(each, TODAY, {}) for each in revisions(COUNTS)]
    facts = cut_in_facts(sides[0], sides[1], "p", ("P", "Q"), Spread())
    ask = facts.ask
    assert (ask.units, ask.weeks[-1].old, ask.weeks[-1].new) == (100, Fraction(200), Fraction(200))
    assert (ask.stock, ask.stock_value, ask.sunk) == (Fraction(51), Fraction(204), Fraction(564))
    assert [(each.week, each.value, each.fee) for each in ask.orders] == [
        (2, Fraction(360), None),
        (3, Fraction(100), Fraction(0)),
    ]
    assert (ask.new_price, ask.other, facts.unknown) == (Fraction(12), Fraction(0), ())
    found = cut_in(ask)
    assert found.use_up.old_units == 60  # 121 parts, the last odd one is left
    assert found.use_up.taken == ("2",)
    assert unit_at(facts, found.use_up.old_units) == ("b", 61, 561)
    assert unit_at(facts, 100) is None


def test_a_weekly_rate_spreads_the_build() -> None:
    sides = [figures_of(each, TODAY, {}) for each in revisions(COUNTS)]
    facts = cut_in_facts(sides[0], sides[1], "p", ("P", "Q"), Spread(weekly=30))
    assert [each.units for each in facts.ask.weeks[-4:]] == [30, 30, 30, 10]
    assert facts.ask.units == 100


def test_what_is_not_known_is_told_from_what_is_only_not_valued() -> None:
    for counts, unknown, unvalued in (
        (COUNTS.replace('value = "4 EUR"', 'value = "4 NOK"'), (), ("value of P at works",)),
        (COUNTS.replace('each = "6 EUR"', 'each = "6 NOK"'), (), ("price of order 1",)),
        (COUNTS.replace("ncnr = false", 'each = "6 NOK"'), ("price of order 2",), ()),
    ):
        sides = [figures_of(each, TODAY, {}) for each in revisions(counts)]
        facts = cut_in_facts(sides[0], sides[1], "p", ("P", "Q"), Spread())
        assert (facts.unknown, facts.unvalued) == (unknown, unvalued)


def test_a_new_part_without_a_price_leaves_no_answer() -> None:
    before, after = revisions(COUNTS)
    parts = {
        number: part if number == "P" else replace(part, source=()) for number, part in after.parts.items()
    }
    sides = [figures_of(each, TODAY, {}) for each in (before, replace(after, parts=parts))]
    facts = cut_in_facts(sides[0], sides[1], "p", ("P", "Q"), Spread())
    assert "price of Q" in facts.unknown
