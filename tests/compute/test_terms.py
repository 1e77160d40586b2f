"""Instalments: when each is due, and that they add up. Terms as commonly practised, days counted by hand."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.terms import due_day, instalments, pay_run, to_coin
from ferrule.model.due import parse_due
from ferrule.model.duration import Duration
from ferrule.model.percent import parse_percent
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Settlement
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
