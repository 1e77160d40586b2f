"""What a term holds, costs a year and moves, by hand, by published trade-credit figures, and as laws."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.ledger import CashEvent, Ledger, ledger
from ferrule.compute.lever_effects import Shift, held, promised, shifts, yearly_cost

START = dt.date(2027, 1, 4)
F = Fraction


def event(day: int, amount: int | Fraction, document: str = "bill") -> CashEvent:
    return CashEvent(
        day=START + dt.timedelta(days=day), amount=F(amount), own=F(amount), currency="EUR", kind="k",
        document=document, payer="", payee="", words="", reason="",
    )  # fmt: skip


def book(*events: CashEvent, weeks: int = 12) -> Ledger:
    return ledger(events, START, START + dt.timedelta(days=7 * weeks - 1), F(100))


@pytest.mark.parametrize(
    ("percent", "early", "late", "yearly"),
    [
        # Terms, then the yearly price of not taking the discount, by d / (1 - d) x 365 / t, as textbooks of
        # financial management print it: 2/10 net 30 is 37.24 %, 1/10 net 30 is 18.43 %, 3/15 net 45 is 37.63 %.
        (2, 10, 30, "37.24"),
        (1, 10, 30, "18.43"),
        (3, 15, 45, "37.63"),
    ],
)
def test_the_price_of_a_discount_given_up(percent: int, early: int, late: int, yearly: str) -> None:
    with_discount, without = book(event(early, percent - 100)), book(event(late, -100))
    found = yearly_cost(with_discount, without, 365)
    assert found == F(percent, 100 - percent) * 365 / (late - early)
    assert f"{float(found * 100):.2f}" == yearly


def test_money_held_by_hand() -> None:
    """40 paid on day 24 instead of 10 are 560 money-days; a dearer bill of 42 leaves two less from then on, for ever."""
    before = book(event(10, -40), event(50, 90, "sale"))
    assert held(before, book(event(24, -40), event(50, 90, "sale"))) == 560
    dearer = book(event(24, -42), event(50, 90, "sale"))
    assert held(before, dearer) == 560
    assert yearly_cost(before, dearer, 365) == F(2 * 365, 560)
    assert yearly_cost(before, before, 365) is None


def test_a_price_past_the_plan_counts() -> None:
    """30 paid in week 20, past a plan of twelve weeks, instead of in week 2: eighteen weeks held."""
    assert held(book(event(14, -30)), book(event(140, -30))) == 30 * 126


def test_shifts_by_hand() -> None:
    before = book(event(0, -30), event(21, -70), event(28, 50, "sale"))
    after = book(event(0, -10), event(21, -90), event(14, 45, "sale"))
    assert shifts(before, after) == (
        Shift(amount=F(45), start=4, end=2, incoming=True),
        Shift(amount=F(20), start=0, end=3, incoming=False),
        Shift(amount=F(5), start=4, end=None, incoming=True),
    )
    assert shifts(before, before) == ()


events = st.builds(
    event, st.integers(0, 83), st.integers(-100, 100).filter(bool), st.sampled_from(["a", "b", "c"])
)
books = st.builds(lambda found: book(*found), st.lists(events, max_size=8))


@given(books, books)
def test_shifts_account_for_every_change(before: Ledger, after: Ledger) -> None:
    """What leaves a week and what comes into it, in payments and receipts apart, is how that week differs."""
    found = shifts(before, after)
    for one, other in zip(before.weeks, after.weeks, strict=True):
        for incoming, change in (
            (True, other.income - one.income),
            (False, other.outgo - one.outgo),
        ):
            into = sum((s.amount for s in found if s.end == one.number and s.incoming == incoming), F(0))
            out = sum((s.amount for s in found if s.start == one.number and s.incoming == incoming), F(0))
            assert into - out == change


@given(st.lists(events, max_size=6), st.integers(0, 11), st.integers(0, 11))
def test_a_promise_is_kept_where_terms_touch_different_bills(
    others: list[CashEvent], one: int, two: int
) -> None:
    def plan(first: int, second: int) -> Ledger:
        return book(*others, event(7 * first, -50, "one"), event(7 * second, -80, "two"))

    base = plan(3, 5)
    both = plan(one, two)
    assert promised(base, [plan(one, 5), plan(3, two)]) == both.trough.balance - base.trough.balance
