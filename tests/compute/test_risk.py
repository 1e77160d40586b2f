"""Exposure of a sole source and how fast plans sell, by hand and by law."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.credit import carrying
from ferrule.compute.risk import exposure
from ferrule.compute.selling_rate import SellingRate

F = Fraction
WEEKS = st.integers(0, 100).map(Fraction)


def test_exposure() -> None:
    """26 weeks to qualify, 6 of cover, 400 units a week at a contribution of 32: 20 x 400 x 32 = 256,000."""
    assert exposure(F(26), F(6), F(400), F(32)) == 256_000
    assert exposure(F(26), F(26), F(400), F(32)) == 0
    assert exposure(F(26), F(30), F(400), F(32)) == 0


@given(WEEKS, WEEKS, WEEKS)
def test_a_week_more_of_cover_is_worth_a_week_of_sales(
    qualify: Fraction, cover: Fraction, more: Fraction
) -> None:
    """Extra cover removes its weeks of sales until nothing is left, and never more."""
    before, after = (exposure(qualify, weeks, F(10), F(7)) for weeks in (cover, cover + more))
    assert before - after == min(more, max(F(0), qualify - cover)) * 70
    assert exposure(qualify, cover, F(20), F(7)) == 2 * before


def test_carrying_extra_cover() -> None:
    """600 x 2.55 at 18 % for 13 weeks of a year of 52: 68.85."""
    assert carrying(600 * F("2.55"), F(18, 100), F(13), F(52)) == F("68.85")


def test_a_rate_without_contribution_has_no_worth() -> None:
    assert SellingRate(sku="S", units=90, weeks=12, contribution=None).worth_a_week is None
    rate = SellingRate(sku="S", units=90, weeks=12, contribution=F(4))
    assert (rate.a_week, rate.worth_a_week) == (F("7.5"), F(30))
