"""What is refused, in which words, and with which forms offered instead."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from ferrule.model import (
    designators,
    due,
    duration,
    exchange,
    ids,
    incoterms,
    money,
    number,
    percent,
    quantity,
    shares,
    when,
)
from ferrule.model.bad_value import BadValue

LONG = "1" * 41
CUT = "1" * 41
NUMBERS = (12, 0.5)
UNITS = (
    "each, pair, dozen, hundred, set, kit, m, dm, cm, mm, in, ft, yd, m2, dm2, cm2, mm2, m3, cm3, mm3, l, dl, cl, "
    "ml, t, kg, g, mg, lb, oz, s, min, h"
)

Parser = Callable[[Any], Any]
REFUSED: list[tuple[Parser, Any, str, tuple[object, ...]]] = [
    (number.parse_number, "12", '"12" is text, not a number', (Decimal(12),)),
    (number.parse_number, "twelve", '"twelve" is text, not a number', NUMBERS),
    (number.parse_number, True, "true is not a number", NUMBERS),
    (number.parse_number, dt.date(2026, 1, 2), "2026-01-02 is not a number", NUMBERS),
    (number.parse_number, [1], "[1] is not a number", NUMBERS),
    (number.parse_number, Decimal("NaN"), "NaN is not a number one can count with", NUMBERS),
    (number.parse_number, Decimal("-Infinity"), "-Infinity is not a number one can count with", NUMBERS),
    (number.parse_number, int(LONG), f"{CUT} is not a number one can count with", NUMBERS),
    (
        number.parse_number,
        Decimal("1E+400"),
        "1E+400 has more than 40 digits or an exponent over 30",
        NUMBERS,
    ),
    (
        number.parse_number,
        Decimal("1E-31"),
        "1E-31 has more than 40 digits or an exponent over 30",
        NUMBERS,
    ),
    (
        number.parse_number,
        Decimal(f"0.{LONG}"),
        f"0.{CUT} has more than 40 digits or an exponent over 30",
        NUMBERS,
    ),
    (number.parse_count, -3, "-3 is negative", (5000,)),
    (quantity.parse_quantity, "14", '"14" is not a quantity', (Decimal(14), "0.35 m", "400 mg")),
    (quantity.parse_quantity, "-14", '"-14" is not a quantity', quantity.EXAMPLES),
    (quantity.parse_quantity, Decimal("-0.5"), "-0.5 is negative", (5000,)),
    (quantity.parse_quantity, "some", '"some" is not a quantity', quantity.EXAMPLES),
    (quantity.parse_quantity, "", '"" is not a quantity', quantity.EXAMPLES),
    (quantity.parse_quantity, "2,5 m", '"2,5 m" is not a quantity', ("2.5 m",)),
    (quantity.parse_quantity, "1,250 m", '"1,250 m" is not a quantity', ("1250 m", "1.250 m")),
    (quantity.parse_quantity, "1 250 m", '"1 250 m" is not a quantity', ("1250 m",)),
    (quantity.parse_quantity, "5 mL", f'"mL" is no unit; known are {UNITS}', ("5 ml",)),
    (quantity.parse_quantity, "5 Kg", f'"Kg" is no unit; known are {UNITS}', ("5 kg",)),
    (quantity.parse_quantity, "12 pcs", f'"pcs" is no unit; known are {UNITS}', ("12 each",)),
    (quantity.parse_quantity, "2 Metres", f'"Metres" is no unit; known are {UNITS}', ("2 m",)),
    (quantity.parse_quantity, "2 kgs", f'"kgs" is no unit; known are {UNITS}', ("2 kg",)),
    (quantity.parse_quantity, "3 roll", f'"roll" is no unit; known are {UNITS}', quantity.EXAMPLES),
    (quantity.parse_quantity, "3 sheet", f'"sheet" is no unit; known are {UNITS}', quantity.EXAMPLES),
    (quantity.parse_quantity, f"{LONG} m", f'"{CUT}" has more than 40 digits', quantity.EXAMPLES),
    (money.parse_price, "48,000 USD", '"48,000 USD" has a thousands separator', ("48000 USD",)),
    (money.parse_price, "48 000 USD", '"48 000 USD" has a thousands separator', ("48000 USD",)),
    (money.parse_price, "1,234,567 USD", '"1,234,567 USD" has a thousands separator', ("1234567 USD",)),
    (money.parse_price, "48'000 CHF", '"48\'000 CHF" has a thousands separator', ("48000 CHF",)),
    (money.parse_price, "48,000", '"48,000" has a thousands separator', (Decimal(48000),)),
    (money.parse_price, "3,10 EUR", '"3,10 EUR" is not an amount of money', ("3.10 EUR",)),
    (money.parse_price, "3.10", '"3.10" is not an amount of money', (Decimal("3.10"),)),
    (money.parse_price, "usd 48000", '"usd 48000" is not an amount of money', ("48000 USD",)),
    (money.parse_price, "free", '"free" is not an amount of money', money.EXAMPLES),
    (money.parse_price, "-1", '"-1" is not an amount of money', money.EXAMPLES),
    (money.parse_signed_money, "-1", '"-1" is not an amount of money', (Decimal(-1),)),
    (money.parse_price, "-1 USD", '"-1 USD" is negative', money.EXAMPLES),
    (money.parse_price, "5 XXX", "XXX is no currency of ISO 4217 that one can pay with", money.EXAMPLES),
    (money.parse_price, "5 XTS", "XTS is no currency of ISO 4217 that one can pay with", money.EXAMPLES),
    (money.parse_price, "5 XAU", "XAU is no currency of ISO 4217 that one can pay with", money.EXAMPLES),
    (money.parse_price, "5 DEM", "DEM is no currency of ISO 4217 that one can pay with", money.EXAMPLES),
    (money.parse_signed_money, f"{LONG} EUR", f'"{CUT}" has more than 40 digits', money.EXAMPLES),
    (percent.parse_percent, 98, "98 is not a percentage in quotes", ("98 %",)),
    (percent.parse_percent, Decimal("0.985"), "0.985 is not a percentage in quotes", ("98.5 %", "0.985 %")),
    (percent.parse_percent, Decimal("1E+2"), "1E+2 is not a percentage in quotes", ("100 %",)),
    (percent.parse_percent, -5, "-5 is not a percentage in quotes", percent.EXAMPLES),
    (percent.parse_percent, False, "false is not a percentage in quotes", percent.EXAMPLES),
    (percent.parse_percent, Decimal("NaN"), "NaN is not a percentage in quotes", percent.EXAMPLES),
    (percent.parse_percent, "98.5", '"98.5" is not a percentage', ("98.5 %",)),
    (percent.parse_percent, "98,5 %", '"98,5 %" is not a percentage', ("98.5 %",)),
    (percent.parse_percent, "-2 %", '"-2 %" is not a percentage', percent.EXAMPLES),
    (percent.parse_percent, "1000.1 %", '"1000.1 %" is over 1000 %', percent.EXAMPLES),
    (percent.parse_percent, "most", '"most" is not a percentage', percent.EXAMPLES),
    (percent.parse_percent, f"0.{LONG} %", f'"0.{CUT}" has more than 40 digits', percent.EXAMPLES),
    (duration.parse_duration, 12, "12 is not a length of time", duration.EXAMPLES),
    (duration.parse_duration, "12", '"12" is not a length of time', duration.EXAMPLES),
    (duration.parse_duration, "-3 days", '"-3 days" is not a length of time', duration.EXAMPLES),
    (duration.parse_duration, "1,5 weeks", '"1,5 weeks" is not a length of time', ("1.5 weeks",)),
    (duration.parse_duration, "12 wekes", '"wekes" is no unit of time here', ("12 weeks",)),
    (duration.parse_duration, "3 workdays", '"workdays" is no unit of time here', ("3 working days",)),
    (duration.parse_duration, "90 minutes", '"minutes" is no unit of time here', duration.EXAMPLES),
    (duration.parse_duration, "8 hours", '"hours" is no unit of time here', duration.EXAMPLES),
    (duration.parse_duration, "1.5 days", '"1.5 days" is not a whole number of days', duration.EXAMPLES),
    (
        duration.parse_duration,
        "0.5 working days",
        '"0.5 working days" is not a whole number of days',
        duration.EXAMPLES,
    ),
    (duration.parse_duration, "100001 days", '"100001 days" is longer than any plan', duration.EXAMPLES),
    (
        duration.parse_duration,
        f"{'9' * 32} days",
        f'"{"9" * 32} days" is longer than any plan',
        duration.EXAMPLES,
    ),
    (due.parse_due, 30, "30 names no event", due.EXAMPLES),
    (due.parse_due, "", '"" names no event', due.EXAMPLES),
    (due.parse_due, "30 days", '"30 days" is not an event with a lag', due.EXAMPLES),
    (due.parse_due, "Shipment", '"Shipment" is not an event with a lag', due.EXAMPLES),
    (
        due.parse_due,
        "shipment - end of month",
        '"shipment - end of month" is not an event with a lag',
        due.EXAMPLES,
    ),
    (
        due.parse_due,
        "order + 2 days + 3 days",
        '"order + 2 days + 3 days" is not an event with a lag',
        due.EXAMPLES,
    ),
    (
        due.parse_due,
        "shipment + 30 dayz",
        'in "shipment + 30 dayz": "dayz" is no unit of time here',
        ("shipment + 30 days",),
    ),
    (
        due.parse_due,
        "shipment + 4",
        'in "shipment + 4": "4" is not a length of time',
        ("shipment + 12 weeks", "shipment + 30 days", "shipment + 15 working days"),
    ),
    (shares.parse_share, "half", '"half" is not a share of an amount', shares.EXAMPLES),
    (shares.parse_share, 30, "30 is not a share of an amount", ("30 %",)),
    (
        shares.parse_share,
        "2,40 USD per unit",
        '"2,40 USD per unit" is not a share of an amount',
        ("2.40 USD per unit",),
    ),
    (
        shares.parse_share,
        "2.40 per unit",
        '"2.40 per unit" is not a share of an amount',
        shares.EXAMPLES,
    ),
    (when.parse_when, 12, "12 is neither a day nor a plan week", when.EXAMPLES),
    (when.parse_when, "week -1", '"week -1" is neither a day nor a plan week', when.EXAMPLES),
    (when.parse_when, "2027-02-30", '"2027-02-30" is neither a day nor a plan week', when.EXAMPLES),
    (
        when.parse_when,
        dt.datetime(2027, 1, 31, 8, tzinfo=dt.UTC),
        "2027-01-31 08:00:00+00:00 is neither a day nor a plan week",
        when.EXAMPLES,
    ),
    (when.monday, "2025-W53", '"2025-W53" is no week of ISO 8601', ("2026-W53",)),
    (when.monday, "2026-53", '"2026-53" is no week of ISO 8601', ("2026-W53",)),
    (designators.parse_designators, 5, "5 is not a list of designators", designators.EXAMPLES),
    (designators.parse_designators, " , ", "the list of designators is empty", designators.EXAMPLES),
    (
        designators.parse_designators,
        "C1, TP",
        '"TP" is not a designator: letters, a number, perhaps one letter more',
        designators.EXAMPLES,
    ),
    (
        designators.parse_designators,
        "1R5",
        '"1R5" is not a designator: letters, a number, perhaps one letter more',
        designators.EXAMPLES,
    ),
    (
        designators.parse_designators,
        "R1234567890",
        '"R1234567890" is not a designator: letters, a number, perhaps one letter more',
        designators.EXAMPLES,
    ),
    (
        designators.parse_designators,
        "C1-R9",
        'the range "C1-R9" changes its letters',
        designators.EXAMPLES,
    ),
    (
        designators.parse_designators,
        "C9-C1",
        'the range "C9-C1" does not rise',
        ("C1-C9",),
    ),
    (designators.parse_designators, "C5-C5", 'the range "C5-C5" does not rise', ("C5",)),
    (
        designators.parse_designators,
        "C1-C09",
        'the range "C1-C09" changes its leading zeros',
        designators.EXAMPLES,
    ),
    (
        designators.parse_designators,
        "C1-C20001",
        'the range "C1-C20001" has more than 20000 places',
        designators.EXAMPLES,
    ),
    (
        designators.parse_designators,
        "C1-C20000, R1",
        "more than 20000 designators",
        designators.EXAMPLES,
    ),
    (incoterms.parse_incoterm, 3, "3 is not a delivery term", incoterms.EXAMPLES),
    (incoterms.parse_incoterm, "FCA ", '"FCA " is not a delivery term', incoterms.EXAMPLES),
    (
        incoterms.parse_incoterm,
        "FCA Port\nHalden",
        '"FCA Port\\nHalden" is not a delivery term',
        incoterms.EXAMPLES,
    ),
    (
        incoterms.parse_incoterm,
        "fob Port Halden",
        '"fob" is no rule of Incoterms 2020',
        ("FOB Port Halden",),
    ),
    (incoterms.parse_incoterm, "XYZ", '"XYZ" is no rule of Incoterms 2020', incoterms.EXAMPLES),
    (ids.parse_id, 3, "3 is not an identifier", ids.EXAMPLES),
    (ids.parse_id, "", '"" is not an identifier', ids.EXAMPLES),
    (ids.parse_id, "R 1", '"R 1" is not an identifier', ids.EXAMPLES),
    (ids.parse_id, "-R1", '"-R1" is not an identifier', ids.EXAMPLES),
    (ids.parse_id, "R1\n", '"R1\\n" is not an identifier', ids.EXAMPLES),
    (ids.parse_id, "R" * 65, f'"{"R" * 65}" is not an identifier', ids.EXAMPLES),
    (exchange.parse_exchange, "1.08", '"1.08" is not an exchange rate with its direction', exchange.EXAMPLES),
    (exchange.parse_exchange, "1 EUR = 0 USD", "a rate of zero is no rate", exchange.EXAMPLES),
    (exchange.parse_exchange, "1 EUR = 1 EUR", "a rate needs two different currencies", exchange.EXAMPLES),
    (exchange.parse_exchange, "1 EUR = 2 DEM", "DEM is no currency of ISO 4217", exchange.EXAMPLES),
    (
        exchange.parse_exchange,
        f"1 EUR = {LONG} USD",
        f'"{CUT}" has more than 40 digits',
        exchange.EXAMPLES,
    ),
]


@pytest.mark.parametrize(("parse", "written", "message", "forms"), REFUSED)
def test_refused(parse: Parser, written: Any, message: str, forms: tuple[object, ...]) -> None:
    with pytest.raises(BadValue) as refused:
        parse(written)
    assert refused.value.message == message
    assert refused.value.forms == forms


@pytest.mark.parametrize(("parse", "forms"), [(row[0], row[3]) for row in REFUSED])
def test_what_is_offered_is_read(parse: Parser, forms: tuple[object, ...]) -> None:
    for form in forms:
        parse(form if isinstance(form, str) else Decimal(str(form)))


ODD: tuple[Any, ...] = (16**5000, -(16**5000), "1" * 5000, f"C{'1' * 5000}-C2", None, {}, float("nan"))


@pytest.mark.parametrize("parse", list(dict.fromkeys(row[0] for row in REFUSED if row[0] is not when.monday)))
@pytest.mark.parametrize("written", ODD, ids=range(len(ODD)))
def test_nothing_odd_is_more_than_a_bad_value(parse: Parser, written: Any) -> None:
    with pytest.raises(BadValue) as refused:
        parse(written)
    assert len(refused.value.message) < 300


def test_a_message_shows_control_characters_as_text() -> None:
    with pytest.raises(BadValue) as refused:
        percent.parse_percent("5 \x1b[31m%\u202e")
    assert refused.value.message == r'"5 \u001b[31m%\u202e" is not a percentage'
