"""Weeks, trough and what is needed, by hand and by law."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.ledger import CashEvent, Ledger, daily, ledger

START = dt.date(2027, 1, 4)
END = START + dt.timedelta(weeks=20, days=6)


def event(week: int, amount: int | Fraction, *, day: int = 0, financing: bool = False) -> CashEvent:
    return CashEvent(
        day=START + dt.timedelta(weeks=week, days=day),
        amount=Fraction(amount),
        own=Fraction(amount),
        currency="EUR",
        kind="test",
        document="paper",
        payer="",
        payee="",
        words="",
        reason="",
        financing=financing,
    )


def weeks(*events: CashEvent, opening: int = 0) -> Ledger:
    return ledger(events, START, END, Fraction(opening))


def test_worked_weeks() -> None:
    """Opening 100; out 40, 30, 50 in weeks 0, 4, 8; in 90 in weeks 12 and 16. Worked by hand."""
    found = weeks(event(0, -40), event(4, -30), event(8, -50), event(12, 90), event(16, 90), opening=100)
    assert [found.weeks[week].balance for week in (0, 4, 8, 12, 16)] == [60, 30, -20, 70, 160]
    assert (found.trough.number, found.trough.balance) == (8, Fraction(-20))
    assert found.needed(Fraction(0)) == 120
    assert found.needed(Fraction(15)) == 135
    assert found.profit == 60
    assert found.ending == 160
    below = found.first_below(Fraction(31))
    assert below is not None
    assert below.number == 4
    assert found.first_below(Fraction(-20)) is None
    assert found.breakeven is not None
    assert found.breakeven.number == 16
    #  weeks 0-3: 40, 4-7: 70, 8-11: 120, 12-15: 30 below the opening
    assert found.deployed == 4 * (40 + 70 + 120 + 30)


@pytest.mark.parametrize(("moved", "trough"), [((4, 7, -30), -20), ((8, 12, -50), 30)])
def test_a_payment_helps_only_across_the_trough(moved: tuple[int, int, int], trough: int) -> None:
    """The 30 from week 4 to 7 frees nothing, the 50 from 8 to 12 frees 50."""
    payments = {0: -40, 4: -30, 8: -50, 12: 90, 16: 90}
    old, new, amount = moved
    payments[old] -= amount
    payments[new] = payments.get(new, 0) + amount
    found = weeks(*(event(week, each) for week, each in payments.items()), opening=100)
    assert found.trough.balance == trough


def test_payments_leave_before_receipts_land() -> None:
    """In one week 70 out and 90 in: the balance never shows the 30 that must be there on Tuesday."""
    found = weeks(event(0, -70, day=1), event(0, 90, day=4), opening=100)
    assert found.trough.balance == 120
    assert found.pay_first_low.low == 30


def test_money_lent_is_no_profit() -> None:
    found = weeks(event(1, 500, financing=True), event(9, -500, financing=True), event(9, -20), event(10, 70))
    assert found.profit == 50
    assert found.weeks[1].balance == 500


def test_outside_the_weeks() -> None:
    unknown = CashEvent(
        day=None,
        amount=Fraction(5),
        own=None,
        currency="EUR",
        kind="",
        document="",
        payer="",
        payee="",
        words="",
        reason="",
    )
    found = weeks(event(-1, -8), event(20, 3, day=6), event(21, -4), unknown)
    assert [each.amount for each in found.before] == [-8]
    assert [each.amount for each in found.after] == [-4]
    assert found.unknown == (unknown,)
    assert found.ending == 3
    assert found.profit == -1


EVENTS = st.lists(
    st.builds(
        event,
        st.integers(0, 20),
        st.integers(-1000, 1000).filter(bool),
        day=st.integers(0, 6),
    ),
    min_size=1,
    max_size=30,
)


@given(EVENTS, st.integers(-500, 500))
def test_sums_agree(events: list[CashEvent], opening: int) -> None:
    """Ending is opening plus all events; day by day and week by week agree at each week's end."""
    found = weeks(*events, opening=opening)
    assert found.ending - found.opening == sum(each.amount or 0 for each in events)
    assert sum(week.income - week.outgo for week in found.weeks) == found.ending - found.opening
    for week in found.weeks:
        assert sum(week.kinds.values()) == week.income - week.outgo
        until = [balance for day, _, balance in daily(found) if day < week.monday + dt.timedelta(weeks=1)]
        assert week.balance == (until[-1] if until else opening)
        assert week.low <= week.balance


@given(EVENTS, st.randoms())
def test_order_does_not_matter(events: list[CashEvent], chance: object) -> None:
    mixed = list(events)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert weeks(*mixed).weeks == weeks(*events).weeks


@given(EVENTS, st.integers(0, 20), st.integers(1, 20), st.integers(1, 500))
def test_a_later_payment_lowers_no_balance(
    events: list[CashEvent], week: int, later: int, amount: int
) -> None:
    """To pay later lowers no balance at all, and what is needed never rises."""
    before = weeks(*events, event(week, -amount))
    after = weeks(*events, event(week + later, -amount))
    assert all(a.balance >= b.balance for a, b in zip(after.weeks, before.weeks, strict=True))
    assert after.needed(Fraction(0)) <= before.needed(Fraction(0))
    assert after.profit == before.profit


@given(EVENTS, st.integers(-100, 100))
def test_what_is_needed_is_exact(events: list[CashEvent], floor: int) -> None:
    """Opened with what is needed, the lowest week is the floor exactly."""
    needed = weeks(*events).needed(Fraction(floor))
    again = ledger(events, START, END, needed)
    assert again.trough.balance == floor
    assert again.first_below(Fraction(floor)) is None
