"""What is read, as which value, and how the value is written again."""

from __future__ import annotations

import copy
import datetime as dt
import pickle
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from ferrule.model.designators import Designators, class_of, compact, parse_designators
from ferrule.model.due import EVENTS, Due, parse_due
from ferrule.model.duration import Duration, parse_duration
from ferrule.model.exchange import Exchange, parse_exchange
from ferrule.model.ids import parse_id
from ferrule.model.incoterms import Incoterm, parse_incoterm
from ferrule.model.money import CurrencyMismatch, Money, SignedMoney, parse_price, parse_signed_money
from ferrule.model.number import Count, Number, parse_count, parse_number, plain
from ferrule.model.percent import Percent, parse_percent
from ferrule.model.quantity import Quantity, UnitMismatch, convert, parse_quantity
from ferrule.model.shares import Share, parse_share, whole
from ferrule.model.when import When, iso_week, monday, parse_when

D = Decimal
DAYS_30 = Duration(D(30), "days")

READ: list[tuple[Callable[[Any], Any], Any, Any, str]] = [
    (parse_number, 12, Number(12), "12"),
    (parse_number, D("1.10"), Number("1.10"), "1.10"),
    (parse_number, D("-0.0000001"), Number("-0.0000001"), "-0.0000001"),
    (parse_number, D("1E+3"), Number(1000), "1000"),
    (parse_number, D("1E+30"), Number(10**30), "1" + "0" * 30),
    (parse_number, D("1E-30"), Number(D(1).scaleb(-30)), "0." + "0" * 29 + "1"),
    (parse_number, 10**31 - 1, Number(10**31 - 1), "9" * 31),
    (parse_number, D("1." + "1" * 39), Number("1." + "1" * 39), "1." + "1" * 39),
    (parse_count, 0, Count(0), "0"),
    (parse_quantity, 14, Quantity(D(14)), "14"),
    (parse_quantity, D("0.350"), Quantity(D("0.350")), "0.350"),
    (parse_quantity, "4.20 m", Quantity(D("4.20"), "m"), "4.20 m"),
    (parse_quantity, "400mg", Quantity(D(400), "mg"), "400 mg"),
    (parse_quantity, "3 cm2", Quantity(D(3), "cm2"), "3 cm2"),
    (parse_price, D("3.10"), Money(D("3.10")), "3.10"),
    (parse_price, "48000 USD", Money(D(48000), "USD"), "48000 USD"),
    (parse_price, "150000JPY", Money(D(150000), "JPY"), "150000 JPY"),
    (parse_price, 0, Money(D(0)), "0"),
    (parse_signed_money, "-12.50 EUR", SignedMoney(D("-12.50"), "EUR"), "-12.50 EUR"),
    (parse_percent, "98.5 %", Percent(D("98.5")), "98.5 %"),
    (parse_percent, "98.50%", Percent(D("98.50")), "98.50 %"),
    (parse_percent, "1000 %", Percent(D(1000)), "1000 %"),
    (parse_percent, "0 %", Percent(D(0)), "0 %"),
    (parse_duration, "12 weeks", Duration(D(12), "weeks"), "12 weeks"),
    (parse_duration, "1 weeks", Duration(D(1), "weeks"), "1 week"),
    (parse_duration, "1 working day", Duration(D(1), "working days"), "1 working day"),
    (parse_duration, "15 working days", Duration(D(15), "working days"), "15 working days"),
    (parse_duration, "1.5 weeks", Duration(D("1.5"), "weeks"), "1.5 weeks"),
    (parse_duration, "2 months", Duration(D(2), "months"), "2 months"),
    (parse_duration, "5 years", Duration(D(5), "years"), "5 years"),
    (parse_duration, "0 days", Duration(D(0), "days"), "0 days"),
    (parse_due, "order", Due("order"), "order"),
    (parse_due, "first shots", Due("first shots"), "first shots"),
    (parse_due, "shipment + 30 days", Due("shipment", lag=DAYS_30), "shipment + 30 days"),
    (parse_due, "shipment - 30 days", Due("shipment", lag=DAYS_30, before=True), "shipment - 30 days"),
    (parse_due, "kick-off - 30 days", Due("kick-off", lag=DAYS_30, before=True), "kick-off - 30 days"),
    (parse_due, "invoice + end of month", Due("invoice", month_end=True), "invoice + end of month"),
    (
        parse_due,
        "invoice + end of month + 30 days",
        Due("invoice", month_end=True, lag=DAYS_30),
        "invoice + end of month + 30 days",
    ),
    (parse_due, "end of month", Due("", month_end=True), "end of month"),
    (parse_due, "end of month + 30 days", Due("", month_end=True, lag=DAYS_30), "end of month + 30 days"),
    (
        parse_due,
        "receipt + end of month - 30 days",
        Due("receipt", month_end=True, lag=DAYS_30, before=True),
        "receipt + end of month - 30 days",
    ),
    (parse_due, "factory balance", Due("factory balance"), "factory balance"),
    (parse_share, "30 %", Share(percent=Percent(D(30))), "30 %"),
    (parse_share, "rest", Share(), "rest"),
    (parse_share, "2.40 USD per unit", Share(per_unit=Money(D("2.40"), "USD")), "2.40 USD per unit"),
    (parse_when, dt.date(2027, 1, 31), When(day=dt.date(2027, 1, 31)), "2027-01-31"),
    (parse_when, "2027-01-31", When(day=dt.date(2027, 1, 31)), "2027-01-31"),
    (parse_when, "week 0", When(week=0), "week 0"),
    (parse_when, "week 012", When(week=12), "week 12"),
    (parse_designators, "R12A", Designators(("R12A",)), "R12A"),
    (parse_designators, "C1-C3, C7", Designators(("C1", "C2", "C3", "C7")), "C1, C2, C3, C7"),
    (parse_designators, "C1-3; R2  r3", Designators(("C1", "C2", "C3", "R2", "r3")), "C1, C2, C3, R2, r3"),
    (parse_designators, "C9 \u2013 C11", Designators(("C9", "C10", "C11")), "C9, C10, C11"),
    (parse_designators, "C09-C11", Designators(("C09", "C10", "C11")), "C09, C10, C11"),
    (parse_designators, "R5, R4, R5", Designators(("R5", "R4", "R5")), "R5, R4, R5"),
    (parse_incoterm, "FCA Port Halden", Incoterm("FCA", "Port Halden"), "FCA Port Halden"),
    (parse_incoterm, "EXW", Incoterm("EXW"), "EXW"),
    (parse_id, "C-100N-0603", "C-100N-0603", "C-100N-0603"),
    (parse_id, "0.1+x_" + "y" * 58, "0.1+x_" + "y" * 58, "0.1+x_" + "y" * 58),
    (
        parse_exchange,
        "100 JPY = 0.61 EUR",
        Exchange(D(100), "JPY", D("0.61"), "EUR"),
        "100 JPY = 0.61 EUR",
    ),
]


@pytest.mark.parametrize(("parse", "written", "value", "text"), READ)
def test_read(parse: Callable[[Any], Any], written: Any, value: Any, text: str) -> None:
    found = parse(written)
    assert found == value
    assert type(found) is type(value)
    assert hash(found) == hash(value)
    assert str(found) == text


@pytest.mark.parametrize("value", [row[2] for row in READ])
def test_values_can_be_copied_and_kept(value: Any) -> None:
    assert copy.copy(value) == value
    assert copy.deepcopy(value) == value
    assert pickle.loads(pickle.dumps(value)) == value  # noqa: S301  our own bytes


def test_values_cannot_be_changed() -> None:
    amount = Money(D(1), "EUR")
    with pytest.raises(AttributeError, match="Money is immutable"):
        amount.number = D(2)  # type: ignore[misc]
    with pytest.raises(AttributeError, match="Money is immutable"):
        del amount.number
    assert amount == Money(D(1), "EUR")


def test_values_of_two_kinds_are_never_equal() -> None:
    assert Quantity(D(1)) != Money(D(1))
    assert Quantity(D(1), "m") != Quantity(D(1), "cm")
    assert Percent(D(1)) != D(1)


def test_plain_keeps_zeros_and_has_no_exponent() -> None:
    assert [plain(D(text)) for text in ("1E-7", "1.10", "1E+3", "0E-2")] == [
        "0.0000001",
        "1.10",
        "1000",
        "0.00",
    ]


# Worked by hand from the definitions: inch 25.4 mm, foot 12 in, pound 0.45359237 kg.
CONVERTED = [
    ("1 pair", "each", "2"),
    ("3 dozen", "each", "36"),
    ("4 each", "pair", "2"),
    ("1 ft", "in", "12"),
    ("1 in", "mm", "25.4"),
    ("0.35 m", "mm", "350"),
    ("1 m2", "cm2", "10000"),
    ("250 ml", "l", "0.25"),
    ("1 cm3", "ml", "1"),
    ("2 lb", "kg", "0.90718474"),
    ("1 t", "mg", "1000000000"),
    ("90 s", "min", "1.5"),
    ("2.5 h", "s", "9000"),
]


@pytest.mark.parametrize(("written", "unit", "number"), CONVERTED)
def test_convert(written: str, unit: str, number: str) -> None:
    assert convert(parse_quantity(written), unit) == Quantity(D(number), unit)


def test_convert_stays_exact_beyond_the_usual_precision() -> None:
    long = "1.234567890123456789012345678901234567"
    assert convert(Quantity(D(long), "kg"), "g").number == D("1234.567890123456789012345678901234567")


@pytest.mark.parametrize(
    ("written", "unit", "message"),
    [
        ("1 kg", "m", "1 kg cannot be counted in m"),
        ("1 set", "each", "1 set cannot be counted in each"),
        ("1 m", "roll", "1 m cannot be counted in roll"),
        ("1 m", "ft", "1 m has no exact form in ft"),
        ("1 each", "dozen", "1 each has no exact form in dozen"),
    ],
)
def test_convert_refuses(written: str, unit: str, message: str) -> None:
    with pytest.raises(UnitMismatch) as refused:
        convert(parse_quantity(written), unit)
    assert str(refused.value) == message


def test_a_number_without_unit_is_converted_to_nothing() -> None:
    with pytest.raises(UnitMismatch):
        convert(Quantity(D(1)), "each")


def test_money_adds_exactly_and_only_its_own_kind() -> None:
    large = Money(D("1" + "0" * 30), "EUR")
    assert large + Money(D("0.001"), "EUR") == Money(D("1" + "0" * 30 + ".001"), "EUR")
    assert sum([Money(D("0.10"), "EUR")] * 3, Money(D(0), "EUR")) == Money(D("0.30"), "EUR")
    with pytest.raises(CurrencyMismatch) as refused:
        Money(D(1), "EUR") + Money(D(2), "USD")
    assert str(refused.value) == "1 EUR and 2 USD cannot be added without a rate"


def test_money_takes_the_currency_around_it() -> None:
    assert parse_price(5).within("EUR") == Money(D(5), "EUR")
    assert parse_price("5 USD").within("EUR") == Money(D(5), "USD")


def test_percent_is_exactly_its_fraction() -> None:
    assert parse_percent("98.5 %").fraction == D("0.985")
    long = "1.234567890123456789012345678901234567"
    assert parse_percent(f"{long} %").fraction == D("0.01234567890123456789012345678901234567")


@pytest.mark.parametrize(
    ("written", "days"),
    [("12 weeks", 84), ("30 days", 30), ("1.5 weeks", D("10.5")), ("0 days", 0)],
)
def test_days_of_a_duration(written: str, days: Decimal) -> None:
    assert parse_duration(written).in_days == days


@pytest.mark.parametrize("written", ["15 working days", "2 months", "5 years"])
def test_a_calendar_has_to_tell_the_days(written: str) -> None:
    assert parse_duration(written).in_days is None


def test_known_events() -> None:
    assert all(parse_due(event).known for event in EVENTS)
    assert parse_due("end of month + 30 days").known
    assert not parse_due("factory balance").known


@pytest.mark.parametrize(
    ("written", "missing"),
    [
        ("30 %, 70 %", None),
        ("30 %, rest", None),
        ("100 %, rest", None),
        ("rest", None),
        ("33.3 %, 33.3 %, 33.4 %", None),
        ("2.40 USD per unit", None),
        ("100 %, 2.40 USD per unit", None),
        ("2.40 USD per unit, rest", None),
        ("30 %, 60 %", D(10)),
        ("30 %, 80 %", D(-10)),
        ("110 %, rest", D(-10)),
        ("30 %, 2.40 USD per unit", D(70)),
        ("rest, rest", D(100)),
        # one unit in the 31st decimal is missing, which the usual 28 digits would round away
        (f"50 %, 49.{'9' * 30}0 %, 0.{'0' * 29}0 %", D("1E-30")),
    ],
)
def test_whole(written: str, missing: Decimal | None) -> None:
    assert whole(parse_share(share) for share in written.split(", ")) == missing


def test_no_shares_miss_everything() -> None:
    assert whole([]) == 100


def test_a_plan_week_counts_from_the_start_monday() -> None:
    start = dt.date(2026, 12, 28)
    assert parse_when("week 0").on(start) == start
    assert parse_when("week 12").on(start) == dt.date(2027, 3, 22)
    assert parse_when("2027-01-31").on(start) == dt.date(2027, 1, 31)


# ISO 8601-1:2019: week 1 holds the first Thursday. Rows seen in M. Kuhn's summary of the standard (1996, 1997), the
# worked example of the encyclopedia article (2008), world.clndr.org (2006), wikisum.wiki (2019); the others are
# computed from the definition: years of 53 weeks start or end on a Thursday.
WEEKS = [
    ("1996-12-30", "1997-W01"),
    ("1997-01-05", "1997-W01"),
    ("2003-12-29", "2004-W01"),
    ("2005-01-01", "2004-W53"),
    ("2006-01-01", "2005-W52"),
    ("2006-12-31", "2006-W52"),
    ("2008-09-26", "2008-W39"),
    ("2008-12-29", "2009-W01"),
    ("2010-01-03", "2009-W53"),
    ("2019-12-30", "2020-W01"),
    ("2021-01-03", "2020-W53"),
    ("2022-12-31", "2022-W52"),
    ("2026-12-31", "2026-W53"),
    ("2027-01-03", "2026-W53"),
    ("2027-01-04", "2027-W01"),
]


@pytest.mark.parametrize(("day", "week"), WEEKS)
def test_iso_weeks(day: str, week: str) -> None:
    assert iso_week(dt.date.fromisoformat(day)) == week
    assert monday(week) <= dt.date.fromisoformat(day) < monday(week) + dt.timedelta(days=7)


def test_years_of_53_weeks() -> None:
    # ISO 8601 calendar: these years between 2000 and 2049 have 53 weeks, and 71 of any 400
    long = [year for year in range(2000, 2400) if iso_week(dt.date(year, 12, 28)).endswith("W53")]
    assert long[:9] == [2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048]
    assert len(long) == 71


@pytest.mark.parametrize(
    ("names", "text"),
    [
        ("C3 C1 C2 C7", "C1-C3, C7"),
        ("C1 C2", "C1, C2"),
        ("C1 C1 C2 C3", "C1-C3"),
        ("C9 C10 C11 R1", "C9-C11, R1"),
        ("C01 C02 C03", "C01-C03"),
        ("C08 C09 C10", "C08-C10"),
        ("C1 C02 C3", "C1, C02, C3"),
        ("C1 C01", "C01, C1"),
        ("R1A R1B R1C", "R1A, R1B, R1C"),
        ("", ""),
    ],
)
def test_compact(names: str, text: str) -> None:
    assert compact(names.split()) == text


def test_length_counts_every_place() -> None:
    assert len(parse_designators("C1-C9, C12-C16")) == 14


def test_classes() -> None:
    assert [class_of(name) for name in ("R12", "ds2", "R12A", "TP")] == ["R", "DS", "R", ""]
