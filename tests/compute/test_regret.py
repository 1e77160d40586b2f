"""What cancelling costs, what is left over of each order, and what of a tool is not recovered."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import product
from ferrule.compute.regret import Owed
from ferrule.compute.regret_commitments import Commitment, in_layers
from ferrule.compute.regret_terms import Fee, fee_of, is_made_for_us, may_move
from ferrule.compute.tooling import unrecovered
from ferrule.model.records.part import Source

DELIVERY = dt.date(2027, 3, 29)
STEPS = 'cancellation = [{ before = "6 weeks", fee = "25 %" }, { before = "2 weeks", fee = "100 %" }]\n'


def source(text: str) -> Source:
    made = product({"parts/p.toml": f'[part.P]\n[[part.P.source]]\nstatus = "approved"\n{text}'})
    return made.parts["P"].source[0]


def fee(text: str, before: int, *, ours: bool = False, ncnr: bool | None = None) -> Fraction | None:
    """Return the fee so many days before delivery."""
    return fee_of(source(text), DELIVERY - dt.timedelta(days=before), DELIVERY, ours=ours, ncnr=ncnr).share


@pytest.mark.parametrize(
    ("before", "share"),
    [(60, "0"), (42, "0"), (41, "0.25"), (14, "0.25"), (13, "1"), (1, "1"), (0, "1"), (-5, "1")],
)
def test_a_window_is_free_at_exactly_its_length_before_delivery(before: int, share: str) -> None:
    assert fee(STEPS, before) == Fraction(share)


def test_steps_count_before_the_mark_and_the_order_before_its_source() -> None:
    assert fee(f"ncnr = true\n{STEPS}", 60) == 0
    assert fee(STEPS, 60, ncnr=True) == 1
    assert fee("ncnr = true\n", 60, ncnr=False) == 0
    assert fee("ncnr = false\n", 60, ours=True) == 0


def test_what_nobody_states() -> None:
    """Made for us it cannot be cancelled; else it is not known, and counts in full."""
    assert fee("", 60, ours=True) == 1
    assert fee("", 60) is None
    assert Fee(share=None, words="").counted == 1
    assert fee_of(source(STEPS), DELIVERY, None, ours=False).share is None


def test_what_is_made_for_us() -> None:
    made = product(
        {
            "parts/p.toml": '[part.A]\nclass = "fabricated"\n[part.B]\nclass = "electrical"\n',
            "assemblies/c.toml": '[assembly]\nid = "C"\n',
        }
    )
    assert [is_made_for_us(made.item(number)) for number in "ABC"] == [True, False, True]
    assert not is_made_for_us(None)


@pytest.mark.parametrize(("before", "moves"), [(21, True), (20, False), (0, False)])
def test_notice_for_moving_a_delivery(before: int, *, moves: bool) -> None:
    day = DELIVERY - dt.timedelta(days=before)
    assert may_move(source('reschedule = "3 weeks"\n'), day, DELIVERY) is moves
    assert may_move(source(""), dt.date(2027, 1, 1), DELIVERY) is None


def order(qty: int) -> Commitment:
    return Commitment(
        kind="our orders",
        name="P",
        firm="s",
        ordered=None,
        delivery=None,
        value=Fraction(0),
        home=(),
        qty=Fraction(qty),
    )


def test_stock_serves_before_orders_and_the_first_order_before_the_next() -> None:
    """Stock 30, orders 50 and 40: 60 used leave 20 and 40; other runs took 10 of the orders where there is no stock."""
    assert in_layers([order(50), order(40)], Fraction(30), Fraction(60)) == [20, 40]
    assert in_layers([order(50), order(40)], Fraction(-10), Fraction(60)) == [0, 20]
    assert in_layers([order(50)], Fraction(80), Fraction(60)) == [50]


@given(
    st.lists(st.integers(1, 50), max_size=6), st.integers(-20, 60), st.integers(0, 200), st.integers(0, 50)
)
def test_what_is_left_over_adds_up_and_falls_with_use(
    orders: list[int], before: int, used: int, more: int
) -> None:
    made = [order(qty) for qty in orders]
    over = in_layers(made, Fraction(before), Fraction(used))
    taken = min(sum(orders), max(0, used - before))
    assert sum(over) == sum(orders) - taken
    after = in_layers(made, Fraction(before), Fraction(used + more))
    assert all(0 <= one <= other for one, other in zip(after, over, strict=True))


def owed(used: int, wasted: int, paid: int) -> Owed:
    return Owed(
        commitment=order(1),
        fee=Fee(share=Fraction(1), words=""),
        over=Fraction(1),
        used=Fraction(used),
        wasted=Fraction(wasted),
        paid=Fraction(paid),
    )


@pytest.mark.parametrize(
    ("used", "wasted", "paid", "found"),
    [
        (200, 100, 150, (150, 0, 0)),
        (200, 100, 250, (50, 50, 0)),
        (0, 300, 150, (150, 150, 0)),
        (0, 0, 120, (0, 0, 120)),
        (0, 100, 120, (0, 100, 20)),
    ],
)
def test_what_is_paid_stands_first_for_what_is_used(
    used: int, wasted: int, paid: int, found: tuple[int, int, int]
) -> None:
    row = owed(used, wasted, paid)
    assert tuple(map(int, (row.owed, row.lost, row.back))) == found


@given(st.integers(0, 500), st.integers(0, 500), st.integers(0, 500))
def test_owed_and_lost_cover_what_is_wasted(used: int, wasted: int, paid: int) -> None:
    row = owed(used, wasted, paid)
    assert row.owed + row.lost >= wasted
    assert row.owed + row.paid - row.back == used + wasted


def test_the_exposure_of_a_tool() -> None:
    """48,000 over 12,000 pieces; stopped after 5,000, 28,000 are not recovered."""
    made = product(
        {
            "tools/t.toml": '[tool.T]\nname = "T"\nkind = "mould"\namount = "48000 EUR"\namortise_over = 12000\n'
        }
    )
    tool, cash = made.tools["T"], Fraction(48000)
    assert [unrecovered(tool, cash, Fraction(pieces)) for pieces in (0, 5000, 12000, 20000)] == [
        48000,
        28000,
        0,
        0,
    ]
