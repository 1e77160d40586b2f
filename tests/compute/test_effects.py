"""What a change does to money and days: worked by hand on small products, and laws on generated ones."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import HEAD, TODAY, product
from cost_builders import FIRMS, line, part, step, tool, whole
from effect_builders import LEAD, PLAN, made
from ferrule.compute.effects import Effects, effects_of
from ferrule.compute.figures import Figures, figures_of, whole_cost
from ferrule.compute.idle import IdleStock, cancel_fee
from ferrule.model.number import Count
from ferrule.model.product import Product
from ferrule.model.records.counts import OpenOrder


def exactly(*numbers: int | str) -> tuple[Fraction, ...]:
    return tuple(map(Fraction, numbers))


def figures(product: Product) -> Figures:
    return figures_of(product, TODAY, {})


def effects(before: Product, after: Product) -> Effects:
    return effects_of(figures(before), figures(after))


# --- cost ------------------------------------------------------------------------------------------------


def test_each_cause_by_hand() -> None:
    """2 x 10 + 5 = 25; three of them 35; at 8 each 29; of which 80 % are good 36.25; the tool 10, then 12."""
    (row,) = effects(made(), made(qty=3, price="8", good="80 %", tooling="1200")).costs
    assert row.before is not None
    assert row.after is not None
    assert (row.before.total, row.after.total) == exactly(25, "36.25")
    assert row.split is not None
    assert (row.split.quantity, row.split.price, row.split.yields) == exactly(10, -6, "7.25")
    assert (row.split.once, row.split.leftovers) == exactly(2, 0)
    assert (row.split.unit, row.split.total) == exactly("11.25", "13.25")


@pytest.mark.parametrize(
    ("changed", "cause"),
    [
        ({"qty": 3}, "quantity"),
        ({"price": "9"}, "price"),
        ({"good": "90 %"}, "yields"),
        ({"tooling": "1100"}, "once"),
    ],
)
def test_one_cause_alone_moves_nothing_else(changed: dict[str, str], cause: str) -> None:
    (row,) = effects(made(), made(**changed)).costs  # type: ignore[arg-type]
    assert row.split is not None
    moved = [n for n in ("quantity", "price", "yields", "once", "leftovers") if getattr(row.split, n)]
    assert moved == [cause]


def test_leftovers_are_a_cause_of_their_own() -> None:
    """200 needed; from a least order of 250 on 50 are left at 10 each: 5.00 for each of 100 units."""
    before, after = (
        whole(part("P", (1, "10"), source=f"moq = {moq}\n"), line(10, "P", 2), lane="", plans=PLAN)
        for moq in (1, 250)
    )
    (row,) = effects(before, after).costs
    assert row.split is not None
    assert (row.split.unit, row.split.leftovers, row.split.total) == exactly(0, 5, 5)


def test_a_markup_on_a_dearer_part_counts_with_its_price() -> None:
    works = 'markup = [{ name = "profit", rate = "10 %", base = ["all"] }]\n'
    before, after = (
        whole(part("P", (1, each)), line(10, "P"), lane="", works=works, plans=PLAN) for each in ("10", "20")
    )
    (row,) = effects(before, after).costs
    assert row.split is not None
    assert (row.split.price, row.split.quantity, row.split.yields) == exactly(11, 0, 0)


def test_a_new_part_without_a_price_makes_the_cost_a_bound() -> None:
    before = made()
    after = whole(
        part("P", (1, "10"), source=LEAD) + "[part.NEW]\n",
        line(10, "P", 2) + line(20, "NEW"),
        step("make", "5"),
        lane="",
        tools=tool("T", "TOP", "1000 EUR", 100),
        plans=PLAN,
    )
    (row,) = effects(before, after).costs
    assert row.change == 0
    assert row.is_new_bound
    assert not effects(after, after).costs


def test_a_build_that_comes_has_no_split() -> None:
    more = PLAN + '[[build]]\nname = "c"\nsku = "TOP"\nqty = 10\nfactory = "works"\nreceive_by = 2027-08-30\n'
    rows = {row.build: row for row in effects(made(), made(plan=more)).costs}
    assert rows["c"].before is None
    assert rows["c"].split is None


def test_another_home_currency_is_said_and_not_compared() -> None:
    usd = '[product]\nid = "T"\nname = "Test"\ncurrency = "USD"\nstage = "dvt"\nmarkets = ["EU"]\n'
    files = {"assemblies/top.toml": '[assembly]\nid = "TOP"\n', "plans/p.toml": PLAN}
    before = product({"product.toml": HEAD, **files, "firms/f.toml": FIRMS})
    after = product({"product.toml": usd, **files, "firms/f.toml": FIRMS})
    found = effects(before, after)
    assert found.costs == ()
    assert found.failed == ("the home currency changed from EUR to USD: cost and cash cannot be compared",)


YIELDS = st.integers(50, 100).map(lambda number: f"{number} %")
PRICES = st.integers(1, 400).map(lambda cents: str(Decimal(cents) / 10))
SIDES = st.fixed_dictionaries(
    {"qty": st.integers(1, 9), "price": PRICES, "good": YIELDS, "tooling": st.integers(0, 5000).map(str)}
)


@pytest.mark.property
@settings(max_examples=25, deadline=None)
@given(SIDES, SIDES)
def test_causes_add_up_exactly(one: dict[str, str], other: dict[str, str]) -> None:
    before, after = figures(made(**one)), figures(made(**other))  # type: ignore[arg-type]
    for row in effects_of(before, after).costs:
        assert row.split is not None
        assert row.before is not None
        assert row.after is not None
        assert row.split.unit == row.after.total - row.before.total
        assert row.split.total == whole_cost(row.after) - whole_cost(row.before)
    assert effects_of(before, before).is_empty


@pytest.mark.property
@settings(max_examples=15, deadline=None)
@given(SIDES, SIDES)
def test_there_and_back_again_is_no_difference(one: dict[str, str], other: dict[str, str]) -> None:
    before, after = figures(made(**one)), figures(made(**other))  # type: ignore[arg-type]
    there, back = effects_of(before, after).costs, effects_of(after, before).costs
    assert [row.change for row in there] == [-row.change for row in back if row.change is not None]


# --- days ------------------------------------------------------------------------------------------------


def test_a_longer_lead_time_moves_the_earliest_day_and_what_is_late() -> None:
    """Ten weeks from today and a week each way leave time; thirty-two weeks do not."""
    (row,) = effects(made(), made(lead='lead_time = "32 weeks"\n')).dates
    assert row.before is not None
    assert row.after is not None
    assert row.later == 22 * 7
    assert row.after.critical is not None
    assert row.after.critical.items[0] == "P"
    assert [(order.item, order.late_by > 0) for order in row.newly_late] == [("P", True)]
    assert (
        effects(made(lead='lead_time = "32 weeks"\n'), made(lead='lead_time = "33 weeks"\n'))
        .dates[0]
        .newly_late
        == ()
    )


def test_cash_falls_by_what_the_build_costs_more() -> None:
    (row,) = effects(made(), made(price="12")).cash
    assert row.change == -100 * 2 * 2


# --- stock -----------------------------------------------------------------------------------------------

OTHER = part("P", (1, "10"), source=LEAD) + part("Q", (1, "9"), source=LEAD)


def replaced(counts: str, source: str = "") -> IdleStock:
    """Return what is idle of 200 P when Q takes its place."""
    parts = part("P", (1, "10"), source=source) + part("Q", (1, "9"))
    before, after = (
        whole(parts, line(10, number, 2), lane="", plans=PLAN, counts=counts) for number in ("P", "Q")
    )
    (row,) = effects(before, after).idle
    assert row.part == "P"
    return row


STOCK = '[[stock]]\npart = "P"\nplace = "works"\nqty = 50\ncounted = 2026-11-20\nvalue = "4 EUR"\n'
FIXED = '[[order]]\nid = "1"\npart = "P"\nseller = "seller"\nqty = 100\ndue = 2027-03-01\nncnr = true\neach = "6 EUR"\n'
OPEN = '[[order]]\nid = "2"\npart = "P"\nseller = "seller"\nqty = 80\ndue = 2027-01-05\nncnr = false\n'
STEPS = 'cancellation = [{ before = "8 weeks", fee = "25 %" }, { before = "2 weeks", fee = "100 %" }]\n'


def test_what_lies_and_what_must_be_taken_is_idle_first() -> None:
    """Needs use what lies (50), then fixed orders (100), then 50 of the 80 that can be cancelled."""
    row = replaced(STOCK + FIXED + OPEN, STEPS)
    assert (row.on_hand, row.on_hand_value) == exactly(50, 200)
    assert (row.fixed, row.fixed_value) == exactly(100, 600)
    assert (row.cancellable, row.cancellable_value) == exactly(50, 500)
    assert row.fee == 125  # 41 days before delivery: within eight weeks, not within two
    assert row.lost == 200 + 600 + 125


def test_what_was_idle_before_is_not_the_change_s_doing() -> None:
    row = replaced(STOCK.replace("qty = 50", "qty = 900"))
    assert row.on_hand == 200


def test_a_quarter_less_need_leaves_a_quarter_idle() -> None:
    before, after = (
        whole(
            part("P", (1, "10")), line(10, "P", many), lane="", plans=PLAN, counts=STOCK.replace("50", "400")
        )
        for many in (4, 3)
    )
    (row,) = effects(before, after).idle
    assert (row.on_hand, row.lost) == exactly(100, 400)


def test_more_need_leaves_nothing_idle() -> None:
    before, after = (
        whole(part("P", (1, "10")), line(10, "P", many), lane="", plans=PLAN, counts=STOCK) for many in (3, 4)
    )
    assert effects(before, after).idle == ()


@pytest.mark.parametrize(
    ("days", "fee"), [(57, "0"), (56, "0"), (55, "0.25"), (14, "0.25"), (13, "1"), (-3, "1")]
)
def test_the_fee_of_cancelling_by_days_before_delivery(days: int, fee: str) -> None:
    product = whole(part("P", (1, "10"), source=STEPS), line(10, "P"), lane="", plans=PLAN)
    order = OpenOrder(id="2", part="P", seller="seller", qty=Count(8), due=TODAY + dt.timedelta(days))
    assert cancel_fee(product, order, TODAY) == Fraction(fee)
