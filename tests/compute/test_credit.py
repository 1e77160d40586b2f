"""The price of terms, against published figures, by hand and by law.

Published figures, with what of them was seen and what is from memory or only worked out again:
terms of credit: L. J. Gitman, Principles of Managerial Finance, problem on giving up cash discounts (simple rates of
a 365-day year, seen); effective rates of 2/10 net 45 and of 2/20 net 40 paid on day 30 seen in a forum of analysts,
that of 2/10 net 30 from memory, the others worked out again only; the 360-day terms seen in a calculator's manual,
their result worked out again. Days: an example of the cash conversion cycle in a dictionary of finance (seen, millions of dollars).
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ferrule.compute.credit import (
    TOLERANCE,
    Between,
    Terms,
    alternatives,
    carrying,
    cost_of_discount,
    cost_of_stretching,
    days_tied,
    discount_worth_giving,
    premium_worth,
    yearly_cost,
)
from ferrule.model.exact import shown_amount

F = Fraction


def percent(rate: Fraction, places: int = 2) -> str:
    return shown_amount(rate * 100, places)


@pytest.mark.parametrize(
    ("discount", "within", "paid", "year", "rates"),
    [
        (2, 10, 30, 365, ("37.24", "44.59")),
        (1, 10, 30, 365, ("18.43", "20.13")),
        (2, 10, 45, 365, ("21.28", "23.45")),
        (3, 10, 45, 365, ("32.25", "37.39")),
        (1, 10, 60, 365, ("7.37", "7.61")),
        (3, 10, 30, 365, ("56.44", "74.35")),
        (4, 10, 180, 365, ("8.95", "9.16")),
        (2, 10, 30, 360, ("36.73", "43.86")),
        (2, 20, 30, 365, ("74.49", "109.05")),
    ],
)
def test_published_cost_of_discounts(
    discount: int, within: int, paid: int, year: int, rates: tuple[str, str]
) -> None:
    """Simple and effective."""
    found = cost_of_discount(F(discount, 100), F(within), F(paid), F(year))
    assert (percent(found.simple), percent(found.effective.near)) == rates


def test_two_ten_net_thirty_exactly() -> None:
    """2 / 98 x 365 / 20 = 730 / 1,960: 37.2 %."""
    assert cost_of_discount(F(2, 100), F(10), F(30)).simple == F(730, 1960)


def test_a_whole_number_of_turns_is_exact() -> None:
    """1 % a 30-day month, twelve in a year of 360: 12 % simple, 1.01 ^ 12 - 1 compounded."""
    found = yearly_cost(F(100), F(101), F(30), F(360))
    assert found.simple == F(12, 100)
    assert found.effective == Between(F(101, 100) ** 12 - 1, F(101, 100) ** 12 - 1)
    # Over two years, 21 % is 10 % a year: a root that is a fraction is exact, too.
    assert yearly_cost(F(100), F(121), F(720), F(360)).effective == Between(F(1, 10), F(1, 10))


def test_weeks_in_a_year_of_weeks() -> None:
    """A supplier asks 3 % more for 8 weeks: 3 % x 52 / 8 = 19.5 %."""
    assert yearly_cost(F(1), F(103, 100), F(8), F(52)).simple == F(195, 1000)


def test_a_receivable_sold() -> None:
    """A fee of 300 for an advance of 8,000 over 45 days: 300 / 8,000 x 365 / 45 = 30.42 %."""
    assert percent(yearly_cost(F(8000), F(8300), F(45)).simple) == "30.42"


def test_premium_worth_paying() -> None:
    """Net 60 at 15 %: 15 % x 60 / 365 = 2.47 %."""
    worth = premium_worth(F(15, 100), F(60))
    assert percent(worth) == "2.47"
    assert worth == F(9, 365)


def test_discount_worth_giving() -> None:
    """At 20 % for 36 days of a 360-day year the premium is 2 %, and the discount 2 / 102."""
    assert discount_worth_giving(F(20, 100), F(36), F(360)) == F(2, 102)


def test_carrying() -> None:
    """600 x 2.55 x 18 % x 13 / 52 = 68.85."""
    assert carrying(600 * F("2.55"), F(18, 100), F(13), F(52)) == F("68.85")


@pytest.mark.parametrize(
    ("late", "penalty", "simple"),
    [
        (0, "0", "37.24"),  # paid when due
        (30, "0", "14.90"),  # 2 / 98 x 365 / 50
        (10, "0.01", "37.24"),  # (1.01 - 0.98) / 0.98 x 365 / 30
    ],
)
def test_stretching(late: int, penalty: str, simple: str) -> None:
    found = cost_of_stretching(F(2, 100), F(10), F(30), F(late), F(penalty))
    assert percent(found.simple) == simple


def test_stretching_without_a_discount() -> None:
    """1 % for 20 days late: 18.25 %, whatever the days that were agreed."""
    assert cost_of_stretching(F(0), F(0), F(30), F(20), F(1, 100)).simple == F("0.1825")


RATES = st.fractions(F(1, 1000), 3, max_denominator=1000)
DAYS = st.integers(1, 400).map(Fraction)


@given(st.fractions(F(1, 500), F(1, 2), max_denominator=500), DAYS, st.sampled_from([F(360), F(365)]))
def test_a_discount_worth_giving_costs_its_rate(discount: Fraction, days: Fraction, year: Fraction) -> None:
    """Both formulas for one thing: the most worth giving at the rate that a discount costs is the discount."""
    rate = cost_of_discount(discount, F(0), days, year).simple
    assert discount_worth_giving(rate, days, year) == discount


@given(st.fractions(F(1, 100), 1, max_denominator=100), st.integers(1, 730).map(Fraction))
def test_effective_holds_its_power(premium: Fraction, days: Fraction) -> None:
    """(1 + effective) ^ span lies around (1 + premium) ^ year, in exact whole powers, as near as promised."""
    found = yearly_cost(F(1), 1 + premium, days).effective
    assert 0 <= found.high - found.low <= TOLERANCE
    goal = (1 + premium) ** 365
    assert (1 + found.low) ** int(days) <= goal <= (1 + found.high) ** int(days)


@pytest.mark.parametrize(
    ("now", "later", "span"),
    [(0, 1, 1), (1, 0, 1), (1, 1, 0), (1, 1, -5)],
)
def test_no_rate(now: int, later: int, span: int) -> None:
    with pytest.raises(ValueError, match="above zero"):
        yearly_cost(F(now), F(later), F(span))


def test_published_cash_cycle() -> None:
    """Stock 2,050 over 4,000, receivables 660 over 12,000, payables 1,200 over 4,000 (means of two years)."""
    stock, sales, owed = days_tied(F(2050), F(4000)), days_tied(F(660), F(12000)), days_tied(F(1200), F(4000))
    assert (percent(stock / 100, 1), percent(sales / 100, 1), percent(owed / 100, 1)) == (
        "187.1",
        "20.1",
        "109.5",
    )
    assert stock + sales - owed == F("97.6375")
    with pytest.raises(ValueError, match="yearly flow"):
        days_tied(F(1), F(0))


def test_published_stock_and_payables() -> None:
    """E. F. Brigham, J. F. Houston, test bank: at 38.00 days of stock 11,151 less, at 30.00 days owed 1,164 more."""
    stock, goal = days_tied(F(20000), F(85000)), F(38)
    assert shown_amount(F(20000) * (1 - goal / stock), 0) == "11,151"
    assert shown_amount(F(5000) * (F(30) / days_tied(F(5000), F(75000)) - 1), 0) == "1,164"


def test_they_ask_for_a_deposit() -> None:
    """10,000 net 60 becomes 30 % with the order, the rest net 60; 12 %, a year of 360. Worked by hand.

    60 days are worth 1 / 1.02. Agreed 10,000 / 1.02 = 9,803.92; asked 3,000 + 7,000 / 1.02 = 9,862.75.
    The same: 10,000 x 9,803.92 / 9,862.75 = 9,940.36; or the balance worth (1 / 1.02 - 0.3) / 0.7 = 0.694 / 0.714,
    which is after (0.714 / 0.694 - 1) x 360 / 12 % = 20 / 694 x 3,000 = 86.46 days; or no deposit.
    """
    agreed, asked = Terms.of(F(10000), F(0), F(60)), Terms.of(F(10000), F(3, 10), F(60))
    found = alternatives(agreed, asked, F(12, 100), F(360))
    assert round(found.worse, 2) == F("58.82")
    assert round(found.price, 2) == F("9940.36")
    assert found.lag == F(60000, 694)
    assert found.deposit == 0


def test_nothing_makes_up_for_it() -> None:
    """A tenth on the price cannot be won back by 30 days at 12 %, nor by any deposit; free money weighs no days."""
    agreed, asked = Terms.of(F(100), F(1, 2), F(30)), Terms.of(F(130), F(1, 2), F(30))
    found = alternatives(agreed, asked, F(12, 100), F(360))
    assert (found.lag is None, found.deposit is None, found.price < 130) == (False, True, True)
    free = alternatives(agreed, asked, F(0))
    assert free.lag is None
    assert free.deposit is None
    assert free.price == 100
    dear = alternatives(agreed, Terms.of(F(300), F(1, 2), F(30)), F(12, 100))
    assert dear.lag is None
    with pytest.raises(ValueError, match="deposit and a balance"):
        alternatives(agreed, Terms(F(1), ((F(1), F(0)),)), F(12, 100))
    with pytest.raises(ValueError, match="cost nothing"):
        alternatives(agreed, Terms.of(F(0), F(1, 2), F(30)), F(12, 100))


TERMS = st.builds(
    Terms.of,
    st.fractions(1, 1000, max_denominator=20),
    st.fractions(0, 1, max_denominator=20),
    st.integers(0, 200).map(Fraction),
)


@given(TERMS, TERMS, RATES)
def test_alternatives_are_worth_the_same(agreed: Terms, asked: Terms, rate: Fraction) -> None:
    """Put in place of what was asked, each of them costs what was agreed."""
    goal = agreed.value(rate)
    found = alternatives(agreed, asked, rate)
    (deposit, _), (_, lag) = asked.parts
    assert asked.value(rate) - found.worse == goal
    assert Terms.of(found.price, deposit, lag).value(rate) == goal
    if found.lag is not None:
        assert Terms.of(asked.price, deposit, found.lag).value(rate) == goal
    if found.deposit is not None:
        assert Terms.of(asked.price, found.deposit, lag).value(rate) == goal


@given(TERMS, RATES, DAYS)
def test_a_premium_is_the_price_of_its_days(terms: Terms, rate: Fraction, days: Fraction) -> None:
    """Paid on the order or dearer by the premium worth paying after so many days: the same."""
    now = Terms.of(terms.price, F(1), F(0))
    later = Terms.of(terms.price * (1 + premium_worth(rate, days)), F(0), days)
    assert now.value(rate) == later.value(rate)
    assume(days > 1)
    assert Terms.of(terms.price, F(0), days).value(rate) < now.value(rate)
