"""Instalments: when each is due, and that they add up. Terms as commonly practised, days counted by hand."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.calendars import calendar_of
from ferrule.compute.terms import due_day, instalments, pay_run, to_coin
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.due import parse_due
from ferrule.model.duration import Duration
from ferrule.model.percent import parse_percent
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Settlement
from ferrule.model.records.product import Calendar
from ferrule.model.shares import parse_share

ORDER = dt.date(2027, 3, 1)
EVENTS = {
    "order": ORDER,
    "shipment": dt.date(2027, 4, 14),
    "receipt": dt.date(2027, 5, 20),
    "invoice": dt.date(2027, 1, 31),
    "approval": None,
}


def pay(share: str, due: str) -> Payment:
    return Payment(share=parse_share(share), due=parse_due(due))


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ("order", "2027-03-01"),
        ("order + 30 days", "2027-03-31"),  # net 30
        ("shipment + 8 weeks", "2027-06-09"),
        ("receipt + 60 days", "2027-07-19"),
        ("invoice + 30 days", "2027-03-02"),  # 2027 is no leap year
        ("shipment + end of month + 10 days", "2027-05-10"),
        ("shipment + end of month", "2027-04-30"),
        ("shipment - 4 weeks", "2027-03-17"),
        ("order + 5 working days", "2027-03-08"),  # from a Monday
        ("approval + 14 days", None),
    ],
)
def test_due(written: str, day: str | None) -> None:
    found = due_day(parse_due(written), EVENTS)
    assert (found.isoformat() if found else None) == day


@pytest.mark.parametrize(
    ("settlement", "day", "paid"),
    [
        (None, "2027-05-20", "2027-05-20"),
        (Settlement(pay_run="friday"), "2027-05-20", "2027-05-21"),
        (Settlement(pay_run="friday"), "2027-05-21", "2027-05-21"),
        (Settlement(pay_run="thursday"), "2027-05-21", "2027-05-27"),
        (Settlement(pay_run_days=(10, 25)), "2027-05-11", "2027-05-25"),
        (Settlement(pay_run_days=(10, 25)), "2027-05-26", "2027-06-10"),
        (Settlement(pay_run_days=(31,)), "2027-02-03", "2027-02-28"),
    ],
)
def test_pay_run(settlement: Settlement | None, day: str, paid: str) -> None:
    assert pay_run(dt.date.fromisoformat(day), settlement).isoformat() == paid


def test_deposit_and_balance() -> None:
    terms = (pay("30 %", "order"), pay("rest", "shipment + 30 days"))
    found = instalments(Fraction("10000.01"), "EUR", terms, EVENTS)
    assert [(each.day, each.amount) for each in found] == [
        (ORDER, Fraction(3000)),
        (dt.date(2027, 5, 14), Fraction("7000.01")),
    ]


def test_a_tool_paid_with_each_unit() -> None:
    """18,000: 40 % and 30 % stated, then 2.40 a unit on 1,200 and 1,440 units until it is paid.

    7,200 + 5,400 leave 5,400; 1,200 x 2.40 = 2,880 leaves 2,520; 1,440 x 2.40 = 3,456 is more than that.
    """
    terms = (
        pay("40 %", "order"),
        pay("30 %", "shipment"),
        pay("2.40 USD per unit", "shipment"),
        pay("rest", "receipt"),
    )
    units = ((dt.date(2027, 4, 14), Fraction(1200)), (dt.date(2027, 9, 30), Fraction(1440)))
    found = instalments(Fraction(18000), "USD", terms, EVENTS, units)
    assert [each.amount for each in found] == [7200, 5400, 2880, 2520]
    assert found[3].day == dt.date(2027, 9, 30)
    few = instalments(Fraction(18000), "USD", terms, EVENTS, units[:1])
    assert [each.amount for each in few] == [7200, 5400, 2880, 2520]
    assert few[3].day == dt.date(2027, 5, 20)


def test_an_early_payment_discount() -> None:
    """2/10 net 30 on 1,000: 980 until day ten, 1,000 on day thirty."""
    terms = Payment(
        share=parse_share("100 %"),
        due=parse_due("invoice + 30 days"),
        discount=parse_percent("2 %"),
        discount_within=Duration.of("10 days"),
    )
    (found,) = instalments(Fraction(1000), "EUR", (terms,), EVENTS)
    assert (found.amount, found.day) == (Fraction(1000), dt.date(2027, 3, 2))
    assert (found.discounted, found.discount_day) == (Fraction(980), dt.date(2027, 2, 10))


@pytest.mark.parametrize(
    ("amount", "currency", "coin"),
    [("1.005", "EUR", "1.01"), ("-1.005", "EUR", "-1.01"), ("0.5", "JPY", "1"), ("1.0004", "KWD", "1")],
)
def test_to_coin(amount: str, currency: str, coin: str) -> None:
    """Minor units as in ISO 4217: two for EUR, none for JPY, three for KWD."""
    assert to_coin(Fraction(amount), currency) == Fraction(coin)


@given(
    st.fractions(0, 10**7, max_denominator=10**6),
    st.sampled_from(["EUR", "JPY", "KWD"]),
    st.lists(st.integers(1, 60), min_size=1, max_size=6),
)
def test_instalments_add_up(amount: Fraction, currency: str, percents: list[int]) -> None:
    """To the coin, however often it is split; each part is near its share."""
    scale = sum(percents)
    shares = [each * 100 // scale for each in percents[:-1]]
    terms = [*(pay(f"{share} %", "order") for share in shares), pay("rest", "shipment")]
    found = instalments(amount, currency, terms, EVENTS)
    assert sum(each.amount for each in found) == to_coin(amount, currency)
    assert all(each.amount == to_coin(each.amount, currency) for each in found)


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ("order + 1 month", "2027-04-01"),
        ("invoice + 1 month", "2027-02-28"),  # after the 31st: the last day of a shorter month
        ("invoice - 2 months", "2026-11-30"),
        ("shipment + end of month + 1 month", "2027-05-30"),
        ("factory balance", "2027-06-01"),  # an event of another document
        ("first shots + 2 weeks", "2027-03-24"),  # a milestone
        ("end of month + 30 days", "2027-04-30"),  # the document's own day, 10 March: 31 March and 30 days
        ("order - 5 working days", "2027-02-22"),  # the Monday before
    ],
)
def test_due_by_month_and_milestone(written: str, day: str) -> None:
    own = {
        "": dt.date(2027, 3, 10),
        "factory balance": dt.date(2027, 6, 1),
        "first shots": dt.date(2027, 3, 10),
    }
    found = due_day(parse_due(written), {**EVENTS, **own})
    assert found is not None
    assert found.isoformat() == day


@given(st.dates(dt.date(2026, 1, 1), dt.date(2030, 12, 31)), st.integers(1, 24))
def test_a_month_later_is_the_same_day_of_the_month(day: dt.date, months: int) -> None:
    """Or the last of a month that is too short, and no event waits a day less for it."""
    found = due_day(parse_due(f"order + {months} months"), {"order": day})
    assert found is not None
    assert (found.year * 12 + found.month) - (day.year * 12 + day.month) == months
    assert found.day == day.day or (found.day < day.day and (found + dt.timedelta(days=1)).day == 1)


def test_working_days_in_a_calendar() -> None:
    """Five working days from Monday 1 March 2027, the 4th and 5th closed: 2, 3, 8, 9, 10 March."""
    closed = calendar_of(Calendar(holidays=(dt.date(2027, 3, 4), dt.date(2027, 3, 5))))
    due = parse_due("order + 5 working days")
    assert due_day(due, EVENTS, closed) == dt.date(2027, 3, 10)
    (found,) = instalments(Fraction(1), "EUR", (pay("rest", str(due)),), EVENTS, working=closed)
    assert found.day == dt.date(2027, 3, 10)


@pytest.mark.parametrize(
    ("settlement", "day", "paid"),
    [
        (None, "2027-05-22", "2027-05-24"),  # a Saturday
        (Settlement(pay_run_days=(10, 25)), "2027-07-11", "2027-07-26"),  # the 25th is a Sunday
        (Settlement(pay_run="friday"), "2027-03-24", "2027-03-30"),  # closed on the 26th and the Monday after
        (Settlement(pay_run_days=(0,)), "2027-03-24", "2027-03-24"),  # no such day: no run to wait for
    ],
)
def test_pay_run_on_a_closed_day(settlement: Settlement | None, day: str, paid: str) -> None:
    payer = calendar_of(Calendar(holidays=(dt.date(2027, 3, 26), dt.date(2027, 3, 29))))
    assert pay_run(dt.date.fromisoformat(day), settlement, payer).isoformat() == paid


def test_the_rest_may_stand_anywhere() -> None:
    terms = (pay("rest", "order"), pay("20 %", "shipment"), pay("30 %", "receipt"))
    found = instalments(Fraction(1000), "EUR", terms, EVENTS)
    assert [(each.amount, each.event) for each in found] == [
        (Fraction(500), "order"),
        (Fraction(200), "shipment"),
        (Fraction(300), "receipt"),
    ]


def test_units_are_paid_as_they_ship() -> None:
    """Written in any order, and what is left when they stop has no day: no one has said when it is owed."""
    units = ((dt.date(2027, 9, 1), Fraction(50)), (None, Fraction(10)), (dt.date(2027, 3, 1), Fraction(50)))
    found = instalments(Fraction(300), "USD", (pay("2 USD per unit", "shipment + 30 days"),), EVENTS, units)
    assert [(each.day, each.amount) for each in found] == [
        (dt.date(2027, 3, 31), Fraction(100)),
        (dt.date(2027, 10, 1), Fraction(100)),
        (None, Fraction(20)),
        (None, Fraction(80)),
    ]
    assert found[3].words == "what the terms leave"


def test_less_than_a_unit_goes_with_the_last() -> None:
    """100 over three units of 33.33 leave 0.01."""
    units = ((ORDER, Fraction(2)), (dt.date(2027, 4, 1), Fraction(1)))
    found = instalments(Fraction(100), "EUR", (pay("33.33 EUR per unit", "shipment"),), EVENTS, units)
    assert [each.amount for each in found] == [Fraction("66.66"), Fraction("33.34")]


def test_an_amount_by_the_unit_in_another_currency() -> None:
    """At 1 EUR = 1.25 USD, 2.50 USD a unit are 2 EUR; without a rate nobody knows when the rest is paid."""
    terms = (pay("40 %", "order"), pay("2.50 USD per unit", "shipment"), pay("rest", "receipt"))
    units = ((dt.date(2027, 4, 14), Fraction(100)),)

    def convert(amount: Fraction, of: str, to: str) -> Fraction | None:
        return amount / Fraction("1.25") if (of, to) == ("USD", "EUR") else None

    found = instalments(Fraction(1000), "EUR", terms, EVENTS, units, convert=convert)
    assert [each.amount for each in found] == [400, 200, 400]
    unknown = instalments(Fraction(1000), "EUR", terms, EVENTS, units)
    assert [(each.day, each.amount) for each in unknown] == [(ORDER, Fraction(400)), (None, Fraction(600))]
    assert unknown[1].words == "2.50 USD per unit, shipment: no rate from USD to EUR"


def test_a_discount_is_a_choice() -> None:
    """Both ways are values: 700 on 2 March, or 686 by 10 February. A payment without a discount has one way."""
    early = Payment(
        share=parse_share("70 %"),
        due=parse_due("invoice + 30 days"),
        discount=parse_percent("2 %"),
        discount_within=Duration.of("10 days"),
    )
    found = instalments(Fraction(1000), "EUR", (pay("30 %", "order"), early), EVENTS)
    assert [(way.day, way.amount, way.early) for way in found[0].choices] == [(ORDER, Fraction(300), False)]
    assert [(way.day, way.amount, way.early) for way in found[1].choices] == [
        (dt.date(2027, 3, 2), Fraction(700), False),
        (dt.date(2027, 2, 10), Fraction(686), True),
    ]


def test_a_credit_note_is_the_bill_turned_round() -> None:
    terms = (pay("30 %", "order"), pay("2 EUR per unit", "shipment"), pay("rest", "receipt"))
    units = ((ORDER, Fraction(5)),)
    bill = instalments(Fraction(99), "EUR", terms, EVENTS, units)
    note = instalments(Fraction(-99), "EUR", terms, EVENTS, units)
    assert [(each.day, -each.amount) for each in note] == [(each.day, each.amount) for each in bill]


SHARES = st.one_of(
    st.integers(0, 70).map(lambda number: pay(f"{number} %", "order")),
    st.integers(1, 9).map(lambda number: pay(f"{number}.37 EUR per unit", "shipment")),
    st.just(pay("rest", "receipt")),
)


@given(
    st.fractions(0, 10**5, max_denominator=10**4),
    st.sampled_from(sorted(MINOR_UNITS)),
    st.lists(SHARES, min_size=1, max_size=6),
    st.lists(st.tuples(st.none() | st.dates(ORDER), st.integers(0, 900).map(Fraction)), max_size=4),
)
def test_every_coin_is_in_one_instalment(
    amount: Fraction, currency: str, terms: list[Payment], units: list[tuple[dt.date | None, Fraction]]
) -> None:
    """In every currency there is, and even where the shares make no whole: nothing lost, nothing below zero."""
    found = instalments(amount, currency, terms, EVENTS, units, convert=lambda number, *_: number)
    assert sum(each.amount for each in found) == to_coin(amount, currency)
    assert all(each.amount > 0 for each in found)
    assert all(each.amount == to_coin(each.amount, currency) for each in found)
