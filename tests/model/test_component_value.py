"""Value codes and preferred values against published tables.

IEC 60062:2016 (codes, examples seen in makers' data sheets, some rows from memory) and IEC 60063:2015 (series; E3 and
E192 from memory); the copies in tests/compute/data name row by row which.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st

from ferrule.model.component_value import E24, E192, component_value, is_preferred

DATA = Path(__file__).parents[1] / "compute" / "data"


def codes() -> list[dict[str, str]]:
    with (DATA / "rkm_codes.csv").open(encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return [row for row in rows if row["kind"] in {"resistance", "capacitance"}]


SERIES = tomli.loads((DATA / "e_series.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("row", codes(), ids=lambda row: row["code"])
def test_published_codes(row: dict[str, str]) -> None:
    assert component_value(row["code"]) == Fraction(row["value_si"])


def test_published_series() -> None:
    assert list(E24) == SERIES["E24"]
    assert list(E192) == SERIES["E192"]
    for name in ("E48", "E96"):
        assert set(SERIES[name]) <= set(E192)
    for name in ("E3", "E6", "E12"):
        assert set(SERIES[name]) <= set(E24)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("4k7", "4.7 kohm"),
        ("4K7", "4700"),
        ("100n", "0.1uF"),
        ("100n", "100 nF"),
        ("R47", "0,47"),
        ("2u2", "2.2 \u00b5F"),
        ("10k", "10 k\u03a9"),
    ],
)
def test_two_ways_of_writing_one_value(one: str, other: str) -> None:
    assert component_value(one) == component_value(other) is not None


@pytest.mark.parametrize("written", ["", "K", "header", "4k7k", "1.2.3", "10 V", "4k7 1%"])
def test_what_is_no_value(written: str) -> None:
    assert component_value(written) is None


@pytest.mark.parametrize(
    ("written", "coarse", "fine"),
    [
        ("47k", True, True),
        ("74k", False, False),
        ("4k99", False, True),
        ("0R", True, True),
        ("50R", False, False),
        ("1M", True, True),
    ],
)
def test_preferred_values(written: str, coarse: bool, fine: bool) -> None:  # noqa: FBT001
    value = component_value(written)
    assert value is not None
    assert (is_preferred(value, fine=False), is_preferred(value, fine=True)) == (coarse, fine)


@pytest.mark.property
@given(st.sampled_from(E192), st.integers(-12, 9))
def test_a_preferred_value_is_one_in_every_decade(number: int, decade: int) -> None:
    assert is_preferred(number * Fraction(10) ** decade, fine=True)
