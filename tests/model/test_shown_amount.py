"""Amounts are rounded once, when they are shown, and by one rule."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.model.exact import Exact, shown_amount

# Worked by hand: 2/3 = 0.666..., 1/8 = 0.125, 999.995 is half way between 999.99 and 1,000.00.
HALF_UP: list[tuple[Exact, int, str]] = [
    (Decimal(0), 2, "0.00"),
    (Decimal("0.005"), 2, "0.01"),
    (Decimal("0.0049999999999999999999999999999999"), 2, "0.00"),
    (Decimal("1.005"), 2, "1.01"),  # a float would show 1.00: it holds 1.00499999999999989...
    (Decimal("-1.005"), 2, "-1.01"),
    (Decimal("-0.004"), 2, "0.00"),
    (Decimal("999.995"), 2, "1,000.00"),
    (Decimal("1234.5"), 2, "1,234.50"),
    (Decimal("1234567.891"), 0, "1,234,568"),
    (Decimal("0.5"), 0, "1"),
    (Decimal("-2.5"), 0, "-3"),
    (Fraction(2, 3), 2, "0.67"),
    (Fraction(1, 8), 2, "0.13"),
    (Fraction(-1, 3), 4, "-0.3333"),
    (Decimal("1E+3"), 2, "1,000.00"),
    (Decimal("12345678901234567890123456789012345678.905"), 2, "12,345,678,901,234,567,890,123,456,789,012,345,678.91"),
]  # fmt: skip


@pytest.mark.parametrize(("number", "places", "expected"), HALF_UP)
def test_half_goes_away_from_zero(number: Exact, places: int, expected: str) -> None:
    assert shown_amount(number, places) == expected


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        (Decimal("1.005"), "1.00"),
        (Decimal("1.015"), "1.02"),
        (Decimal("-1.005"), "-1.00"),
        (Decimal("1.0051"), "1.01"),
        (Fraction(1, 8), "0.12"),
    ],
)
def test_half_goes_to_the_even_digit_where_a_product_says_so(number: Exact, expected: str) -> None:
    assert shown_amount(number, 2, half_even=True) == expected


def test_machine_forms_do_without_commas() -> None:
    assert shown_amount(Decimal("1234567.5"), 2, separator=False) == "1234567.50"


exact_numbers = st.fractions(max_denominator=10**6) | st.decimals(
    allow_nan=False, allow_infinity=False, places=9, min_value=-(10**12), max_value=10**12
)


@given(exact_numbers, st.integers(0, 6), st.booleans())
def test_what_is_shown_is_never_further_than_half_a_unit(number: Exact, places: int, even: bool) -> None:  # noqa: FBT001
    shown = Fraction(shown_amount(number, places, half_even=even, separator=False))
    assert abs(shown - Fraction(number)) * 10**places <= Fraction(1, 2)


@given(exact_numbers, st.integers(0, 6))
def test_the_other_sign_shows_the_same_digits(number: Exact, places: int) -> None:
    assert shown_amount(-number, places).lstrip("-") == shown_amount(number, places).lstrip("-")
