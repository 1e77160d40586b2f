"""Further rows of published tables, beside those of test_tables."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.incoterms import RULES
from ferrule.model.units import MEANT, UNITS


# UN/ECE Recommendation 20, revision 17 (2021): code and conversion to the coherent SI unit or to one.
@pytest.mark.parametrize(
    ("unit", "code", "factor"),
    [
        ("hundred", "CEN", "100"),
        ("dm", "DMT", "0.1"),
        ("dm2", "DMK", "0.01"),
        ("cl", "CLT", "0.00001"),
        ("dl", "DLT", "0.0001"),
        ("mm3", "MMQ", "0.000000001"),
        ("set", "SET", "1"),
        ("kit", "KT", "1"),
    ],
)
def test_units(unit: str, code: str, factor: str) -> None:
    assert (UNITS[unit].code, UNITS[unit].factor) == (code, Decimal(factor))


def test_sets_and_kits_are_counted_apart() -> None:
    assert [UNITS[unit].dimension for unit in ("each", "set", "kit")] == ["count", "sets", "kits"]


@pytest.mark.parametrize("word", "pack box reel roll sheet tube bag rod".split())
def test_packages_are_no_units(word: str) -> None:
    # Deleted from Recommendation 20; they live in Recommendation 21.
    assert word not in UNITS
    assert word not in MEANT


def test_words_for_units_lead_to_units() -> None:
    assert set(MEANT.values()) <= set(UNITS)
    assert not set(MEANT) & set(UNITS)


@pytest.mark.parametrize(
    "code", "XAG XAU XBA XBB XBC XBD XDR XPD XPT XSU XTS XUA XXX BGN HRK ANG CUC DEM SLL ZWL".split()
)
def test_no_money_one_can_pay_with(code: str) -> None:
    # ISO 4217 list one, 2026-01-01: the 13 without a minor unit, then some no longer on it.
    assert code not in MINOR_UNITS


def test_incoterms() -> None:
    # International Chamber of Commerce, Incoterms 2020: names and groups of its wall chart.
    assert {code: rule.name for code, rule in RULES.items()} == {
        "EXW": "Ex Works",
        "FCA": "Free Carrier",
        "CPT": "Carriage Paid To",
        "CIP": "Carriage and Insurance Paid To",
        "DAP": "Delivered at Place",
        "DPU": "Delivered at Place Unloaded",
        "DDP": "Delivered Duty Paid",
        "FAS": "Free Alongside Ship",
        "FOB": "Free on Board",
        "CFR": "Cost and Freight",
        "CIF": "Cost, Insurance and Freight",
    }
    assert {code for code, rule in RULES.items() if rule.place == "port of shipment"} == {"FAS", "FOB"}
    assert {code for code, rule in RULES.items() if rule.place == "port of destination"} == {"CFR", "CIF"}
    assert {code for code, rule in RULES.items() if rule.place == "place of delivery"} == {"EXW", "FCA"}
