# ruff: noqa: RUF001 - the signs people write are data
"""Single cells: what a reader would take them for, by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.exchange.cells import (
    alternates_in,
    decimal_mark,
    is_filler,
    is_not_fitted,
    looks_like_designators,
    read_amount,
    read_designators,
    read_number,
    read_price,
)
from ferrule.exchange.grid import Cell, make_cell


@pytest.mark.parametrize(
    ("written", "number", "unit"),
    [
        ("4", "4", ""), ("5.00", "5.00", ""), ("0,5", "0.5", ""), ("10cm", "10", "cm"), ("1 set", "1", "set"), ("2x", "2", "each"), ("x4", "4", ""),
        ("4 pcs", "4", "each"), ("12 Stk.", "12", "each"), ("1,5 m", "1.5", "m"), ('3"', "3", "in"), ("2 Rollen", "2", "roll"), ("4 個", "4", "each"),
        ("１０", "10", ""), ("1.000,50 m", "1000.50", "m"), ("1 200", "1200", ""), ("1'200", "1200", ""), ("Qty: 3", "3", ""),
    ],
)  # fmt: skip
def test_quantities(written: str, number: str, unit: str) -> None:
    amount = read_amount(make_cell(written))
    assert (amount.number, amount.unit) == (Decimal(number), unit)


@pytest.mark.parametrize("written", ["3-4", "1/2", "abc", "1e999999", "=1+2", "9" * 60, "1..2"])
def test_what_is_no_single_number_is_unread_and_said(written: str) -> None:
    amount = read_amount(make_cell(written))
    assert amount.number is None
    assert amount.doubt


def test_unknown_is_none_and_never_zero() -> None:
    for written in ("", "n/a", "-", "~", "tbd", "なし"):
        assert read_amount(make_cell(written)).number is None
    assert read_amount(make_cell("as needed")).as_needed
    assert read_amount(make_cell("0")).number == 0


def test_doubtful_quantities_are_said() -> None:
    assert read_amount(make_cell("1,250")).doubt
    assert not read_amount(make_cell("1,250"), ".").doubt
    assert read_amount(make_cell("1,250"), ",").number == Decimal("1.250")
    assert read_amount(make_cell("-3")).doubt
    assert read_amount(make_cell("5 (1 spare)")).doubt


def test_the_mark_before_decimals_is_told_by_the_column() -> None:
    assert decimal_mark(["1,250", "0,5", "3,25"]) == ","
    assert decimal_mark(["1,250", "12.50"]) == "."
    assert decimal_mark(["1,250", "2"]) == ""
    assert read_number("1.250", ",")[0] == 1250
    assert read_number("1.250", "")[0] == Decimal("1.250")


@pytest.mark.parametrize(
    ("written", "amount", "currency", "per"),
    [
        ("€0.45", "0.45", "EUR", 1), ("0,45 €", "0.45", "EUR", 1), ("US$ 1.20", "1.20", "USD", 1), ("1.20 USD", "1.20", "USD", 1), ("CHF 3.-", "3", "CHF", 1),
        ("12,50 €/100 Stk", "12.50", "EUR", 100), ("£3 ea", "3", "GBP", 1), ("1 250,50 Kč", "1250.50", "CZK", 1), ("£38 per pack of 100", "38", "GBP", 100),
        ("1.234,50", "1234.50", "", 1), ("250円", "250", "JPY", 1),
    ],
)  # fmt: skip
def test_prices(written: str, amount: str, currency: str, per: int) -> None:
    price = read_price(make_cell(written))
    assert (price.amount, price.currency, price.per, price.doubt) == (
        Decimal(amount),
        currency,
        Decimal(per),
        "",
    )


def test_signs_of_several_currencies_are_doubted() -> None:
    assert (read_price(make_cell("$5")).currency, bool(read_price(make_cell("$5")).doubt)) == ("USD", True)
    assert "CNY" in read_price(make_cell("¥5")).doubt


def test_a_price_from_a_quantity_on() -> None:
    price = read_price(make_cell("0.0062 @ 5k"))
    assert (price.amount, price.least, price.per) == (Decimal("0.0062"), Decimal(5000), Decimal(1))


@pytest.mark.parametrize(
    ("written", "quantity", "names"),
    [
        ("C4,C8-C9,C16\nC43", None, "C4 C8 C9 C16 C43"), ("C  2,C  3,C  1", 3, "C2 C3 C1"), ("S2-S5", 2, "S2 S5"), ("S2-S5", 4, "S2 S3 S4 S5"),
        ("QD2-QD3-QD4", 3, "QD2 QD3 QD4"), (",,,,", 23, ""), ("REF**", 1, "REF**"), ("EPROM-SOCKEL", 1, "EPROM-SOCKEL"), ("R1 R2 R3", 3, "R1 R2 R3"),
        ("R1-5, R7", 6, "R1 R2 R3 R4 R5 R7"), ("R1 to R3", 3, "R1 R2 R3"), ("R1..R3; R9", 4, "R1 R2 R3 R9"), ("R01-R03", 3, "R01 R02 R03"),
        ("C901B, CB01", 2, "C901B CB01"), ("QD1_F", 1, "QD1_F"), ("C1, C2, ", 2, "C1 C2"), ("R9-R7", 2, "R9 R7"), ("Q1 & Q2", 2, "Q1 Q2"),
    ],
)  # fmt: skip
def test_designators(written: str, quantity: int | None, names: str) -> None:
    found = read_designators(written, None if quantity is None else Decimal(quantity))
    assert " ".join(found.names) == names


@given(st.integers(0, 400), st.integers(2, 60))
def test_a_range_has_as_many_names_as_it_spans(low: int, many: int) -> None:
    found = read_designators(f"R{low}-R{low + many - 1}", Decimal(many))
    assert len(found.names) == many == len(set(found.names))


def test_designators_are_bounded() -> None:
    assert len(read_designators("R1-R999999").names) <= 1
    assert read_designators(",".join(["R1-R20000"] * 3)).doubt


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("R1", True),
        ("C1, C2", True),
        ("R1-R5", True),
        ("AK123-B5", False),
        ("10k", False),
        ("Motor", False),
        ("1N4148", False),
    ],
)
def test_what_looks_like_designators(written: str, *, expected: bool) -> None:
    assert looks_like_designators(written) is expected


def test_marks() -> None:
    assert is_not_fitted("10k DNP")
    assert is_not_fitted("nicht bestückt")
    assert is_not_fitted("未実装")
    assert not is_not_fitted("10 nF")
    assert not is_not_fitted("DNS server")
    assert is_filler("N/A")
    assert not is_filler("0")
    assert alternates_in("Alt. ESQ-120-23-T-D") == ("ESQ-120-23-T-D",)


@given(st.text(max_size=60))
def test_no_text_breaks_a_reader(text: str) -> None:
    cell = make_cell(text)
    amount, price = read_amount(cell), read_price(cell)
    assert amount.number is None or amount.number.is_finite()
    assert price.amount is None or price.per > 0
    assert all(read_designators(cell.text).names)
    looks_like_designators(cell.text)
    is_not_fitted(cell.text)


def test_cells_lose_what_is_dangerous_and_one_guard() -> None:
    assert make_cell("A\x07\x1b[31m\u202eB\u200b").text == "A[31mB"
    assert make_cell("'=1+2").text == "=1+2"
    assert make_cell("''=1+2").text == "''=1+2"
    assert make_cell('="00123"').text == "00123"
    assert make_cell("    P-1 ") == Cell("P-1", indent=4)
    assert len(make_cell("x" * 100_000).text) == 32_767
