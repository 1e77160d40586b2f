"""Weeks, trough and what is needed, by hand and by law."""

from __future__ import annotations

import datetime as dt
import operator
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from ferrule.compute.ledger import CashEvent, Ledger, NoWeek, WeekRow, daily, ledger, open_weeks, restated
from ferrule.model.exchange import parse_exchange

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


def paper(amount: int | Fraction | None, *, day: dt.date | None = START, **named: Any) -> CashEvent:
    """Return an event with what a test is about."""
    known = None if amount is None else Fraction(amount)
    return structs.replace(event(0, 0), day=day, amount=known, own=known, **named)


def test_a_trough_from_months_is_wrong() -> None:
    """Opening 100; 80 leave on Tuesday 5 January, 90 come on Thursday 28. Worked by hand.

    January opens with 100 and closes with 110: by months the lowest is 100, and a floor of 50 is kept. By weeks
    it is 20, from week 0 (4 to 10 January) to week 2; week 3 (25 to 31 January) has the 90.
    """
    found = weeks(event(0, -80, day=1), event(3, 90, day=3), opening=100)
    month_ends: dict[tuple[int, int], Fraction] = {}
    for day, _, balance in daily(found):
        month_ends[day.year, day.month] = balance
    assert min([Fraction(100), *month_ends.values()]) == 100
    assert (found.trough.number, found.trough.balance) == (0, Fraction(20))
    assert [week.balance for week in found.weeks[:4]] == [20, 20, 20, 110]
    below = found.first_below(Fraction(50))
    assert below is not None
    assert below.monday == dt.date(2027, 1, 4)


def number(week: WeekRow | None) -> int | None:
    return None if week is None else week.number


@pytest.mark.parametrize(
    ("payments", "breakeven", "negative"),
    [
        ([], 0, None),
        ([(2, 5), (4, -5)], 0, None),  # never below the opening
        ([(2, -5), (4, 5)], 4, 2),
        ([(2, -5), (4, 9), (6, -8), (8, 4)], 8, 2),  # 4 to 5 above, then below again
        ([(2, -5), (4, 9), (20, -5)], None, 2),  # the last week is below
        ([(3, -1), (3, 1), (5, -7)], None, 5),
    ],
)
def test_when_the_money_is_back(
    payments: list[tuple[int, int]], breakeven: int | None, negative: int | None
) -> None:
    found = weeks(*(event(week, amount) for week, amount in payments))
    assert number(found.breakeven) == breakeven
    assert number(found.first_negative) == negative


def test_equal_troughs_are_the_earliest() -> None:
    found = weeks(event(2, -5), event(4, 5), event(9, -5))
    assert found.trough.number == 2


def test_week_zero_holds_the_start() -> None:
    """A plan from Wednesday 6 January: its first week is that of Monday 4, and what was paid on 5 is before."""
    found = ledger(
        [event(0, -1, day=1), event(0, -2, day=2), event(1, -4)],
        START + dt.timedelta(days=2),
        START + dt.timedelta(days=7),
        Fraction(0),
    )
    assert [(week.monday, week.outgo) for week in found.weeks] == [
        (dt.date(2027, 1, 4), Fraction(2)),
        (dt.date(2027, 1, 11), Fraction(4)),
    ]
    assert [each.amount for each in found.before] == [-1]


def test_a_plan_that_ends_before_it_starts() -> None:
    with pytest.raises(NoWeek, match="it ends on 2027-01-03, before it begins on 2027-01-04"):
        ledger([], START, dt.date(2027, 1, 3), Fraction(0))


def test_profit_inside_and_altogether() -> None:
    found = weeks(event(-1, -8), event(3, 5), event(4, 100, financing=True), event(30, -2))
    assert found.profit_within == 5
    assert found.profit == 3


@pytest.mark.parametrize(
    ("unknown", "bound"),
    [
        ([], "exact"),
        ([paper(None, incoming=False)], "at most"),
        ([paper(-5, day=None)], "at most"),
        ([paper(None, incoming=True), paper(5, day=None)], "at least"),
        ([paper(None, incoming=True), paper(-5, day=None)], "open"),
        ([paper(None)], "open"),  # nothing says which way it goes
    ],
)
def test_what_is_not_known(unknown: list[CashEvent], bound: str) -> None:
    found = weeks(event(0, 7), *unknown)
    assert found.bound == bound
    assert found.unknown == tuple(unknown)
    assert found.ending == 7


@given(st.lists(st.builds(event, st.integers(0, 20), st.integers(-99, 99)), max_size=9), st.data())
def test_a_bound_holds(events: list[CashEvent], data: st.DataObject) -> None:
    """Whatever an unknown payment turns out to be, balances were at most what they said; receipts at least."""
    incoming, size = data.draw(st.booleans()), data.draw(st.integers(1, 500))
    before = weeks(*events, paper(None, incoming=incoming))
    after = weeks(*events, event(data.draw(st.integers(0, 20)), size if incoming else -size))
    kept = {"at most": operator.le, "at least": operator.ge}[before.bound]
    assert all(kept(a.balance, b.balance) for a, b in zip(after.weeks, before.weeks, strict=True))


def abroad(week: int, own: int, *, rate: Fraction | None, currency: str = "CNY") -> CashEvent:
    """Return a payment in another currency, ``rate`` of it for one at home."""
    return structs.replace(
        event(week, 0), amount=None if rate is None else own / rate, own=Fraction(own), currency=currency
    )


def test_exposure_until_paid() -> None:
    """To pay 500 in week 2 and 340 in week 4, to come in 200 in week 3, 60 after the plan. Worked by hand.

    Weeks 0 to 2: 840 out, 260 in. Week 3: 340 out, 260 in. Week 4: 340 out, 60 in. Then 60 in.
    """
    sums = [(2, -500), (3, 200), (4, -340), (25, 60)]
    found = weeks(event(1, -9), *(abroad(week, own, rate=Fraction(7)) for week, own in sums))
    rows = open_weeks(found, "EUR")
    assert [row.number for row in rows] == list(range(21))
    assert [row.outgo for row in rows[:6]] == [840, 840, 840, 340, 340, 0]
    assert [row.income for row in rows[:6]] == [260, 260, 260, 260, 60, 60]
    assert [row.net for row in rows[:6]] == [-580, -580, -580, -80, -280, 60]
    assert {row.currency for row in rows} == {"CNY"}


def test_exposure_ends_when_paid() -> None:
    """A Friday's payment is open on its Monday; without a day it stays open; alphabetical by currency."""
    usd = structs.replace(abroad(1, -10, rate=Fraction(1), currency="USD"), day=START + dt.timedelta(days=11))
    undated = structs.replace(abroad(0, -3, rate=None, currency="CHF"), day=None)
    rows = open_weeks(weeks(usd, undated), "EUR")
    assert [(row.currency, row.number) for row in rows] == [
        *(("CHF", week) for week in range(21)),
        ("USD", 0),
        ("USD", 1),
    ]


def test_restated_at_another_rate() -> None:
    """840,000 at 7.20 are 116,667; at 6.84, five percent less, 122,807: 6,140 more to pay. Worked by hand."""
    owed = weeks(abroad(3, -840_000, rate=Fraction("7.20")), event(1, -50))
    again = restated(owed.events, parse_exchange("1 EUR = 6.84 CNY"), "EUR")
    after = ledger(again, START, END, Fraction(0))
    assert [round(each.ending) for each in (owed, after)] == [-116_667 - 50, -122_807 - 50]
    assert round(owed.ending - after.ending) == 6_140
    # Written the other way round it is the same rate.
    turned = restated(owed.events, parse_exchange("6.84 CNY = 1 EUR"), "EUR")
    assert turned == again


def test_restating_touches_one_currency() -> None:
    events = (abroad(1, -70, rate=None), abroad(2, -70, rate=Fraction(1), currency="USD"), event(3, 5))
    found = restated(events, parse_exchange("1 EUR = 7 CNY"), "EUR")
    assert found[0].amount == -10  # not known before
    assert found[1:] == events[1:]
    assert restated(events, parse_exchange("1 USD = 7 CNY"), "EUR") == events


@given(EVENTS, st.integers(-500, 500))
def test_a_week_later(events: list[CashEvent], opening: int) -> None:
    """Everything moved by a week moves every week by one, and changes nothing else."""
    late = [structs.replace(each, day=each.day + dt.timedelta(weeks=1)) for each in events if each.day]
    before = weeks(*events, opening=opening)
    after = ledger(late, START, END + dt.timedelta(weeks=1), Fraction(opening))
    assert after.weeks[0].balance == opening
    for old, new in zip(before.weeks, after.weeks[1:], strict=True):
        assert new == structs.replace(old, number=old.number + 1, monday=old.monday + dt.timedelta(weeks=1))
    assert after.profit_within == before.profit_within
    if before.trough.balance < opening:
        assert after.trough.number == before.trough.number + 1
        assert after.deployed == before.deployed


@given(st.lists(st.tuples(st.integers(-5, 30), st.integers(-99, 99)), max_size=20))
def test_no_event_is_lost(pairs: list[tuple[int, int]]) -> None:
    """Before, in and after the plan: every event is in exactly one place."""
    given_events = [event(week, amount) for week, amount in pairs]
    found = weeks(*given_events, paper(None, incoming=True))
    placed = [*found.before, *found.events, *found.after]
    assert sum(each.amount or 0 for each in placed) == sum(amount for _, amount in pairs)
    assert len(placed) + len(found.unknown) == len(pairs) + 1


@given(EVENTS)
def test_what_is_deployed_by_brute_force(events: list[CashEvent]) -> None:
    """Day by day, then the last day of every week: the same area, and the same exact balances."""
    found = weeks(*events, opening=77)
    nets = {day: net for day, net, _ in daily(found)}
    balance, area = Fraction(77), Fraction(0)
    for day in range((END - START).days + 1):
        balance += nets.get(START + dt.timedelta(days=day), Fraction(0))
        area += max(Fraction(0), 77 - balance) if day % 7 == 6 else 0
    assert (found.deployed, found.ending) == (area, balance)
