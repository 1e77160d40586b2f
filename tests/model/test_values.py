"""Every written value: what is accepted, how it reads back, and the exact words for what is refused."""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.load.values import VALUES
from ferrule.model.bad_value import BadValue
from ferrule.model.designators import class_of, compact, parse_designators
from ferrule.model.due import parse_due
from ferrule.model.duration import Duration, parse_duration
from ferrule.model.exchange import parse_exchange
from ferrule.model.ids import parse_id
from ferrule.model.incoterms import RULES, parse_incoterm
from ferrule.model.money import CurrencyMismatch, Money, parse_price, parse_signed_money
from ferrule.model.number import parse_count, parse_number, plain
from ferrule.model.percent import parse_percent
from ferrule.model.quantity import Quantity, UnitMismatch, convert, parse_quantity
from ferrule.model.shares import parse_share, whole
from ferrule.model.text import nearest, visible
from ferrule.model.when import iso_week, parse_when

BY_NAME = {kind.name: kind for kind in VALUES.values()}

ACCEPTED: list[tuple[str, Any, str]] = [
    ("number", 12, "12"), ("number", Decimal("1.50"), "1.50"), ("number", Decimal("-0.5"), "-0.5"), ("number", Decimal("1e3"), "1000"),
    ("count", 0, "0"), ("count", Decimal("0.35"), "0.35"),
    ("quantity", 14, "14"), ("quantity", "0.35 m", "0.35 m"), ("quantity", "400mg", "400 mg"), ("quantity", "2 cm3", "2 cm3"),
    ("money", Decimal("0.0062"), "0.0062"), ("money", "48000 USD", "48000 USD"), ("money", "150000JPY", "150000 JPY"),
    ("signed-money", "-250.50 EUR", "-250.50 EUR"),
    ("percent", "98.5 %", "98.5 %"), ("percent", "0%", "0 %"),
    ("duration", "12 weeks", "12 weeks"), ("duration", "1 day", "1 day"), ("duration", "15 working days", "15 working days"), ("duration", "1.5 months", "1.5 months"),
    ("due", "order", "order"), ("due", "shipment + 30 days", "shipment + 30 days"), ("due", "end of month + 30 days", "end of month + 30 days"),
    ("due", "invoice + end of month + 10 days", "invoice + end of month + 10 days"), ("due", "shipment - 2 weeks", "shipment - 2 weeks"), ("due", "factory balance", "factory balance"),
    ("share", "30 %", "30 %"), ("share", "rest", "rest"), ("share", "2.40 USD per unit", "2.40 USD per unit"),
    ("when", dt.date(2027, 1, 31), "2027-01-31"), ("when", "week 12", "week 12"), ("when", "2027-01-31", "2027-01-31"),
    ("designators", "C1-C3, C7", "C1, C2, C3, C7"), ("designators", "R1-3", "R1, R2, R3"), ("designators", "D1 D2;D3", "D1, D2, D3"), ("designators", "R12A", "R12A"),
    ("incoterm", "FCA Port Halden", "FCA Port Halden"), ("incoterm", "EXW", "EXW"),
    ("exchange", "1 EUR = 1.08 USD", "1 EUR = 1.08 USD"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "written", "shown"), ACCEPTED)
def test_accepted(kind: str, written: Any, shown: str) -> None:
    value = BY_NAME[kind].read(written)
    text = plain(value) if isinstance(value, Decimal) else str(value)
    assert text == shown
    if not isinstance(value, Decimal) and kind not in ("quantity", "money"):
        assert BY_NAME[kind].read(text) == value
    if isinstance(written, str) and written != "2027-01-31":
        assert re.search(BY_NAME[kind].pattern, written)


REFUSED: list[tuple[str, Any, str, tuple[Any, ...]]] = [
    ("number", "12", '"12" is text, not a number', (Decimal(12),)),
    ("number", True, "true is not a number", (12, 0.5)),
    ("number", Decimal("nan"), "NaN is not a number one can count with", (12, 0.5)),
    ("number", Decimal("1e400"), "1E+400 has more than 40 digits or an exponent over 30", (12, 0.5)),
    ("count", -1, "-1 is negative", (5000,)),
    ("quantity", "4 metres", '"metres" is no unit; known are each, pair', ("4 m",)),
    ("quantity", "four", '"four" is not a quantity', (14, "0.35 m", "400 mg")),
    ("money", "48,000 USD", '"48,000 USD" has a thousands separator', ("48000 USD",)),
    ("money", "12 XXX", "XXX is no currency of ISO 4217 that one can pay with", (3.1, "48000 USD")),
    ("money", Decimal(-1), "-1 is negative", (3.1, "48000 USD")),
    ("percent", Decimal("0.3"), "0.3 is not a percentage in quotes", ("30 %", "0.3 %")),
    ("percent", "30", '"30" is not a percentage', ("30 %",)),
    ("percent", "-5 %", '"-5 %" is not a percentage', ("98.5 %", "30 %")),
    ("percent", "5000 %", '"5000 %" is over 1000 %', ("98.5 %", "30 %")),
    ("duration", "12 wks", '"wks" is no unit of time here', ("12 weeks",)),
    ("duration", 12, "12 is not a length of time", ("12 weeks", "30 days", "15 working days")),
    ("duration", "1.5 days", '"1.5 days" is not a whole number of days', ("12 weeks", "30 days", "15 working days")),
    ("due", "shipment + soon", 'in "shipment + soon": "soon" is not a length of time', ()),
    ("due", "Order", '"Order" is not an event with a lag', ()),
    ("due", "", '"" names no event', ()),
    ("share", "half", '"half" is not a share of an amount', ("30 %", "rest", "2.40 USD per unit")),
    ("when", "spring", '"spring" is neither a day nor a plan week', ("week 12", "2027-01-31")),
    ("when", "2027-02-30", '"2027-02-30" is neither a day nor a plan week', ("week 12", "2027-01-31")),
    ("designators", "R3-R1", 'the range "R3-R1" does not rise', ("R1-R3",)),
    ("designators", "R1-C3", 'the range "R1-C3" changes its letters', ()),
    ("designators", "R", '"R" is not a designator: letters, a number, perhaps one letter more', ()),
    ("designators", "R1-R99999", 'the range "R1-R99999" has more than 20000 places', ()),
    ("incoterm", "FOC Halden", '"FOC" is no rule of Incoterms 2020', ("FOB Halden",)),
    ("exchange", "1.08", '"1.08" is not an exchange rate with its direction', ("1 EUR = 1.08 USD", "100 JPY = 0.61 EUR")),
    ("exchange", "1 EUR = 0 USD", "a rate of zero is no rate", ()),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "written", "message", "forms"), REFUSED)
def test_refused(kind: str, written: Any, message: str, forms: tuple[Any, ...]) -> None:
    with pytest.raises(BadValue) as caught:
        BY_NAME[kind].read(written)
    assert caught.value.message.startswith(message)
    if forms:
        assert caught.value.forms == forms


@pytest.mark.parametrize("kind", list(BY_NAME))
def test_examples_are_accepted_and_match_the_pattern(kind: str) -> None:
    for example in BY_NAME[kind].examples:
        BY_NAME[kind].read(Decimal(str(example)) if isinstance(example, float) else example)
        if isinstance(example, str) and example != "2027-01-31":
            assert re.search(BY_NAME[kind].pattern, example)


@given(
    st.decimals(min_value=0, max_value=10**9, places=4), st.sampled_from(["m", "mm", "kg", "each", "l", "ft"])
)
def test_a_quantity_reads_back(number: Decimal, unit: str) -> None:
    quantity = Quantity(number, unit)
    assert parse_quantity(str(quantity)) == quantity


@pytest.mark.parametrize(
    ("quantity", "unit", "number"),
    [("35 cm", "m", "0.35"), ("3 pair", "each", "6"), ("1 in", "mm", "25.4"), ("2 ft", "m", "0.6096"), ("1 lb", "g", "453.59237"), ("1 l", "cm3", "1000"), ("2 dozen", "pair", "12")],
)  # fmt: skip
def test_conversion_is_exact(quantity: str, unit: str, number: str) -> None:
    """Factors: UN/ECE Recommendation 20, revision 17 (2021)."""
    assert convert(parse_quantity(quantity), unit).number == Decimal(number)


@pytest.mark.parametrize(("quantity", "unit"), [("1 kg", "m"), ("1 m", "ft"), ("1 set", "each")])
def test_conversion_never_guesses(quantity: str, unit: str) -> None:
    with pytest.raises(UnitMismatch):
        convert(parse_quantity(quantity), unit)


def test_money_adds_only_like_to_like() -> None:
    assert Money(Decimal("1.10"), "EUR") + Money(Decimal("2.20"), "EUR") == Money(Decimal("3.30"), "EUR")
    with pytest.raises(CurrencyMismatch):
        Money(Decimal(1), "EUR") + Money(Decimal(1), "USD")
    assert parse_price(3).within("USD") == Money(Decimal(3), "USD")
    assert parse_price("3 EUR").within("USD").currency == "EUR"
    assert parse_signed_money("-3 EUR").number == -3


def test_values_are_immutable_and_equal_by_content() -> None:
    duration = parse_duration("12 weeks")
    assert duration == Duration.of("12 weeks")
    assert hash(duration) == hash(Duration.of("12 weeks"))
    assert duration != parse_duration("84 days")
    assert duration.in_days == 84
    assert parse_duration("15 working days").in_days is None
    with pytest.raises(AttributeError):
        duration.count = Decimal(1)  # type: ignore[misc]


@pytest.mark.parametrize(
    ("shares", "missing"),
    [(["30 %", "70 %"], None), (["33.3 %", "66.7 %"], None), (["33.33 %", "66.66 %"], Decimal("0.01")), (["50 %", "rest"], None),
     (["60 %", "60 %"], Decimal(-20)), (["2.40 USD per unit"], None), (["2.40 USD per unit", "50 %"], Decimal(50)), (["rest", "rest"], Decimal(100))],
)  # fmt: skip
def test_shares_make_exactly_a_whole(shares: list[str], missing: Decimal | None) -> None:
    assert whole(parse_share(share) for share in shares) == missing


@given(st.sets(st.tuples(st.sampled_from(["R", "C", "TP"]), st.integers(1, 60)), min_size=1))
def test_compact_designators_read_back(names: set[tuple[str, int]]) -> None:
    written = [f"{letters}{number}" for letters, number in names]
    assert set(parse_designators(compact(written)).names) == set(written)


def test_designator_classes() -> None:
    assert [class_of(name) for name in ("R12", "tp3", "LED4A")] == ["R", "TP", "LED"]


# Edge cases of ISO 8601-1:2019 week dates; recomputed in the reference with datetime, status per row there.
@pytest.mark.parametrize(
    ("day", "week"),
    [("2005-01-01", "2004-W53"), ("2008-12-29", "2009-W01"), ("2010-01-03", "2009-W53"), ("2019-12-30", "2020-W01"), ("2022-12-31", "2022-W52"), ("2026-12-31", "2026-W53")],
)  # fmt: skip
def test_iso_weeks(day: str, week: str) -> None:
    assert iso_week(dt.date.fromisoformat(day)) == week


def test_plan_weeks_count_from_the_start() -> None:
    assert parse_when("week 2").on(dt.date(2026, 11, 30)) == dt.date(2026, 12, 14)


def test_incoterms_2020_are_eleven() -> None:
    """Incoterms 2020 (ICC): seven rules for any mode, four for sea and inland waterway."""
    assert len(RULES) == 11
    assert sorted(code for code, rule in RULES.items() if rule.water_only) == ["CFR", "CIF", "FAS", "FOB"]
    assert parse_incoterm("CIP Wexmouth").place == "Wexmouth"
    assert not parse_due("factory balance").known
    assert parse_exchange("100 JPY = 0.61 EUR").of == 100


@pytest.mark.parametrize("name", ["", "-x", "a b", "a/b", "a\n", "x" * 65, "é", "a\x1b"])
def test_ids_refused(name: str) -> None:
    with pytest.raises(BadValue):
        parse_id(name)


def test_text_is_harmless() -> None:
    assert visible("a\x1b[31m\u202eb\nc\ud800") == "a\\u001b[31m\\u202eb\\nc\\ud800"
    assert visible("x" * 10, 5) == "xxxx…"
    assert nearest("R-0012", ["R-0021", "C-1"]) == "R-0021"
    assert nearest("zzz", ["R-0021"]) is None
    assert nearest("EACH", ["each"]) == "each"
    assert parse_count(3) == parse_number(3)


def test_percent_fraction_is_exact() -> None:
    assert parse_percent("98.5 %").fraction == Decimal("0.985")
