"""What payments are worth, against published figures, a judge from outside, by hand and by law.

Published figures: L. J. Gitman, Principles of Managerial Finance, problem P10-21 (flows and payback seen, value and
rate from memory, worked out again); two exercises seen with their results; the examples in the docstrings of the
package numpy-financial 1.0.0 (npv, irr). The judge is scipy's search for a root of the value.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
import scipy.optimize
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.credit import TOLERANCE, Between
from ferrule.compute.discounting import internal_rates, net_present_value, payback, present_value

F = Fraction


def flows(*numbers: float | str) -> list[Fraction]:
    return [F(str(number)) for number in numbers]


GITMAN = flows(-95000, 20000, 25000, 30000, 35000, 40000)


@pytest.mark.parametrize(
    ("rate", "given_flows", "value"),
    [
        ("0.12", GITMAN, "9080.60"),
        ("0.06", flows(-500, 300, 200, 150), "86.96"),
        ("0.25", flows(-19000, 5000, 10000, 15000, 20000), "7272.00"),
        ("0.08", flows(-40000, 5000, 8000, 12000, 30000), "3065.22"),
    ],
)
def test_published_net_present_value(rate: str, given_flows: list[Fraction], value: str) -> None:
    assert round(net_present_value(F(rate), given_flows), 2) == F(value)


@pytest.mark.parametrize(
    ("given_flows", "rate", "places"),
    [
        (GITMAN, "0.15362", 5),
        (flows(-500, 300, 200, 150), "0.1646", 4),
        (flows(-100, 39, 59, 55, 20), "0.28095", 5),
        (flows(-100, 0, 0, 74), "-0.0955", 4),
        (flows(-100, 100, 0, -7), "-0.0833", 4),
        (flows(-100, 100, 0, 7), "0.06206", 5),
        (flows(-5, "10.5", 1, -8, 1), "0.0886", 4),
    ],
)
def test_published_internal_rate(given_flows: list[Fraction], rate: str, places: int) -> None:
    """Where there are several, the published one is that nearest to zero."""
    found = internal_rates(given_flows)
    nearest = min(found, key=lambda each: abs(each.near))
    assert round(nearest.near, places) == F(rate)
    for each in found:
        assert net_present_value(each.low, given_flows) * net_present_value(each.high, given_flows) <= 0


@pytest.mark.parametrize(
    "given_flows",
    [
        GITMAN,
        flows(-100, 39, 59, 55, 20),
        flows(-4000, *[300] * 20),
        flows(-1000, 10, 10, 10, 1010),
        flows("-2500.50", 0, 0, "1200.25", 1600),
    ],
)
def test_judged_by_a_search_for_the_root(given_flows: list[Fraction]) -> None:
    """Money out, then in, has one rate; a search in floating point comes to the same."""
    numbers = [float(flow) for flow in given_flows]
    judged = scipy.optimize.brentq(
        lambda rate: sum(flow / (1 + rate) ** period for period, flow in enumerate(numbers)),
        -0.9,
        10.0,
        xtol=1e-13,
    )
    (found,) = internal_rates(given_flows)
    assert abs(float(found.near) - judged) < 2e-9


def test_published_payback() -> None:
    """20,000 + 25,000 + 30,000 leave 20,000 of 95,000; 20,000 / 35,000 of the fourth year: 3.571."""
    assert payback(GITMAN) == 3 + F(20, 35)
    assert payback(flows(-500, 300, 200, 150)) == 2


def test_payback_at_the_edges() -> None:
    assert payback(flows(-10, 4, 5)) is None
    assert payback(flows(3, -10)) == 0
    assert payback(flows(-10, 0, 10)) == 2
    assert payback(flows(-10, 20, -30)) == F(1, 2)  # the first time counts
    assert payback([]) is None


@pytest.mark.parametrize(
    ("given_flows", "rates"),
    [
        (flows(-100, 110), ["0.1"]),
        (flows(-400, 0, 441), ["0.05"]),  # 1.05 ^ 2 = 1.1025
        (flows(0, 0, -100, 0, 121, 0), ["0.1"]),  # waiting before and after moves no rate
        (flows(-100, 50), ["-0.5"]),
        (flows(-1000, 2300, "-1320"), ["0.1", "0.2"]),  # (1.1 - y)(1.2 - y) x -1000
        (flows(100, -220, 121), ["0.1"]),  # both roots are one
        (flows(-100, 200, -150), []),  # 4 x 150 x 100 > 200 ^ 2: no rate at all
        (flows(5, 6), []),
        (flows(0, 0), []),
        (flows(-7), []),
        ([], []),
    ],
)
def test_exact_rates(given_flows: list[Fraction], rates: list[str]) -> None:
    assert internal_rates(given_flows) == tuple(Between(F(rate), F(rate)) for rate in rates)


@given(
    st.lists(st.fractions(F(-9, 10), 4, max_denominator=60), min_size=1, max_size=4),
    st.sampled_from([F(-3), F(1, 7)]),
)
def test_all_rates_are_found(rates: list[Fraction], scale: Fraction) -> None:
    """Flows made to have these rates and no others have exactly them, however often each."""
    made = [scale]
    for rate in rates:
        made = [a - (1 + rate) * b for a, b in zip([*made, F(0)], [F(0), *made], strict=True)]
    assert internal_rates(made) == tuple(Between(rate, rate) for rate in sorted(set(rates)))


@given(
    st.integers(1, 1000).map(lambda number: F(-number)),
    st.lists(st.integers(0, 1000).map(Fraction), min_size=1, max_size=8).filter(any),
)
def test_money_out_then_in_has_one_rate(first: Fraction, later: list[Fraction]) -> None:
    """And it pays at any lower rate and does not at any higher one."""
    made = [first, *later]
    (found,) = internal_rates(made)
    assert found.high - found.low <= TOLERANCE
    assert net_present_value(found.low, made) >= 0 >= net_present_value(found.high, made)
    assert (found.low > 0) == (sum(made) > 0) or abs(found.near) < TOLERANCE


def test_a_year_of_weeks_has_its_rate() -> None:
    """Sixty-one weeks with money out again in between: three changes of sign, one rate."""
    made = [F(-4000), *[F(-50)] * 20, *[F(300)] * 20, F(-2500), *[F(120)] * 19]
    (found,) = internal_rates(made)
    assert net_present_value(found.low, made) * net_present_value(found.high, made) <= 0


def test_present_value() -> None:
    """121 after two periods at 10 % are worth 100; at -50 % what comes later is worth more."""
    assert present_value(F(121), F(1, 10), 2) == 100
    assert present_value(F(5), F(-1, 2), 1) == 10
    with pytest.raises(ValueError, match="-100 %"):
        present_value(F(1), F(-1), 1)
    with pytest.raises(ValueError, match="tolerance"):
        internal_rates(flows(-1, 1), tolerance=F(0))
