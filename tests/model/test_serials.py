"""Serial numbers: ranges read, merged, cut."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.model.bad_value import BadValue
from ferrule.model.serials import Serials, parse_serials

NUMBERS = st.sets(st.integers(0, 40), min_size=1)


def of(numbers: set[int]) -> Serials:
    return parse_serials(", ".join(map(str, numbers)))


def numbers_in(serials: Serials) -> set[int]:
    return {number for number in range(60) if number in serials}


@pytest.mark.parametrize(
    ("written", "shown", "many"),
    [
        ("1-1500", "1-1500", 1500),
        ("500-611, 1-400", "1-400, 500-611", 512),
        ("7; 1 \u2013 3 4", "1-4, 7", 5),
        ("12", "12", 1),
        ("1-5, 3-9", "1-9", 9),
    ],
)
def test_read(written: str, shown: str, many: int) -> None:
    serials = parse_serials(written)
    assert (str(serials), len(serials)) == (shown, many)
    assert parse_serials(shown) == serials


@pytest.mark.parametrize(
    ("written", "told", "forms"),
    [
        ("9-3", 'the range "9-3" does not rise', ("3-9",)),
        ("A1-A9", '"A1-A9" is no serial number and no range of them', ("1-1500", "1-400, 500-611")),
        ("", '"" is not a list of serial numbers', ("1-1500", "1-400, 500-611")),
        (12, "12 is not a list of serial numbers", ("1-1500", "1-400, 500-611")),
    ],
)
def test_refused(written: object, told: str, forms: tuple[str, ...]) -> None:
    with pytest.raises(BadValue) as caught:
        parse_serials(written)
    assert (caught.value.message, caught.value.forms) == (told, forms)


@given(NUMBERS, NUMBERS)
def test_they_are_sets(one: set[int], other: set[int]) -> None:
    assert numbers_in(of(one).joined(of(other))) == one | other
    assert numbers_in(of(one).without(of(other))) == one - other
    assert numbers_in(of(one).within(of(other))) == one & other
    assert len(of(one)) == len(one)
