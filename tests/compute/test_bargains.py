"""Offers of money for time: by hand, by what has been published of discounts, and by law."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ferrule.compute.bargains import Bargain, Price, by_price, price_bargain, verdict
from ferrule.compute.credit import Terms
from ferrule.compute.money_time import equal_terms, return_of, tie_up
from ferrule.model.exact import shown_amount

F = Fraction
FIFTEEN = Price(words="money costs", rate=F(15, 100))


def percent(rate: Fraction, places: int = 2) -> str:
    return shown_amount(rate * 100, places)


def two_ten_net_thirty() -> Bargain:
    return Bargain.of_discount("discount", F(10000), F(2, 100), F(20))


def test_take_or_leave() -> None:
    """10,000 at 2/10 net 30: 200 saved; 9,800 tied up 20 days cost 80.55 at 15 %, and 268.49 at 50 %."""
    bargain = two_ten_net_thirty()
    cheap, dear = (
        verdict(bargain, FIFTEEN),
        verdict(bargain, Price(words="cash binds", rate=F(1, 2), binds=True)),
    )
    assert (percent(bargain.yearly.simple), percent(bargain.yearly.effective.near)) == ("37.24", "44.59")
    assert (bargain.money, bargain.cost) == (F(9800), F(200))
    assert (cheap.answer, shown_amount(cheap.carrying, 2), shown_amount(cheap.gain, 2)) == (
        "take",
        "80.55",
        "119.45",
    )
    assert (dear.answer, shown_amount(dear.gain, 2), percent(dear.limit)) == ("leave", "-68.49", "2.67")
    at_its_own = verdict(bargain, Price(words="", rate=bargain.yearly.simple))
    assert (at_its_own.answer, at_its_own.gain, at_its_own.limit) == ("either", F(0), F(2, 100))


def test_a_premium_and_the_highest_worth_paying() -> None:
    """3 % for 8 weeks is 19.5 % a year; at 15 % the weeks are worth 15 % x 8 / 52 = 2.31 %."""
    found = verdict(Bargain.of_premium(F(5000), F(3, 100), F(8), F(52)), FIFTEEN)
    assert (percent(found.limit), found.answer) == ("2.31", "leave")
    assert found.gain == 5000 * (F(15, 100) * 8 / 52 - F(3, 100))
    net_sixty = Bargain.of_premium(F(1), F(2, 100), F(60))
    assert percent(net_sixty.limit(F(15, 100))) == "2.47"
    assert net_sixty.gain(F(15, 100)) > 0


def test_a_customer_who_pays_early() -> None:
    """2 % of 24,000 for 46 days costs 480 and brings 23,520, worth 444.62 at 15 %."""
    found = verdict(Bargain.of_discount("early payment", F(24000), F(2, 100), F(46)), FIFTEEN)
    assert (shown_amount(found.carrying, 2), shown_amount(found.gain, 2), found.answer) == (
        "444.62",
        "-35.38",
        "leave",
    )
    assert percent(found.limit) == "1.86"


@pytest.mark.parametrize(
    ("fee_first", "money", "simple"),
    [(False, 8000, "30.42"), (True, 7700, "31.60")],  # 300 / 8,000 x 365 / 45; 300 / 7,700 x 365 / 45
)
def test_an_invoice_sold(money: int, simple: str, *, fee_first: bool) -> None:
    sold = Bargain.of_receivable(F(10000), F(80, 100), F(3, 100), F(45), fee_first=fee_first)
    assert (sold.money, sold.cost, percent(sold.yearly.simple)) == (F(money), F(300), simple)
    assert verdict(sold, FIFTEEN).answer == "leave"
    assert verdict(sold, Price(words="", rate=F(40, 100))).answer == "take"


def test_a_lever_has_the_rate_of_its_time() -> None:
    """8.09 for a thousand, had for 20 days, is 14.76 % a year; over 40 days half of it."""
    lever = Price(words="lever", per_thousand=F("8.09"), binds=True)
    assert percent(lever.a_year(F(20), F(365))) == "14.76"
    assert lever.a_year(F(40), F(365)) * 2 == lever.a_year(F(20), F(365))
    with pytest.raises(ValueError, match="no time"):
        lever.a_year(F(0), F(365))
    dearer = verdict(two_ten_net_thirty(), Price(words="", per_thousand=F(21), binds=True))
    assert (dearer.answer, dearer.gain) == ("leave", 200 - 9800 * F(21, 1000))


def test_prices_of_plenty_come_before_those_that_bind() -> None:
    binding = [
        Price(words=name, rate=F(rate, 100), binds=True) for name, rate in (("b", 9), ("a", 9), ("c", 2))
    ]
    ordered = by_price([*binding, FIFTEEN], F(20), F(365))
    assert [price.words for price in ordered] == ["money costs", "c", "a", "b"]
    assert [each.price.words for each in price_bargain(two_ten_net_thirty(), binding).verdicts] == [
        "c",
        "a",
        "b",
    ]
    assert price_bargain(two_ten_net_thirty(), ()).verdicts == ()


SHARES = st.fractions(F(1, 500), F(1, 2), max_denominator=500)
SPANS = st.integers(1, 400).map(Fraction)
RATES = st.fractions(F(0), F(3), max_denominator=400)


@given(SHARES, SPANS, RATES, st.sampled_from([F(360), F(365), F(52)]))
def test_at_its_limit_a_bargain_is_worth_nothing(
    share: Fraction, span: Fraction, rate: Fraction, year: Fraction
) -> None:
    """Stated anew at the limit of a rate, what is offered gains nothing at that rate, and a little beside it does."""
    stated: list[Callable[[Fraction], Bargain]] = [
        lambda s: Bargain.of_discount("discount", F(100), s, span, year),
        lambda s: Bargain.of_discount("early payment", F(100), s, span, year),
        lambda s: Bargain.of_premium(F(100), s, span, year),
        lambda s: Bargain.of_receivable(F(100), F(80, 100), s, span, year),
    ]
    for made in stated:
        limit = made(share).limit(rate)
        assert made(limit).gain(rate) == 0
        better = made(limit + F(1, 1000)) if made(share).gives_up else made(max(F(0), limit - F(1, 1000)))
        assert better.gain(rate) > 0 or limit == 0


@given(SHARES, SPANS, RATES)
def test_what_we_take_is_what_they_give(share: Fraction, span: Fraction, rate: Fraction) -> None:
    """One discount seen from both sides: at one rate, what the payer gains the paid loses."""
    ours = Bargain.of_discount("discount", F(1000), share, span)
    theirs = Bargain.of_discount("early payment", F(1000), share, span)
    assert ours.gain(rate) == -theirs.gain(rate)
    assert (ours.gain(rate) > 0) == (rate < ours.yearly.simple)


def test_money_tied_up() -> None:
    """600 x 2.55 = 1,530 at 18 % for 13 weeks: 68.85; with 2 % off it is carried on 1,499.40."""
    stock = Price(words="", rate=F(18, 100))
    ((_, rate, cost),) = tie_up(600 * F("2.55"), F(13), F(52), [stock]).costs
    assert (rate, cost) == (F(18, 100), F("68.85"))
    ((_, _, less),) = tie_up(F(1530) * F(98, 100), F(13), F(52), [stock]).costs
    assert less == F("67.473")


def test_terms_in_return_leave_out_prices_without_a_rate() -> None:
    agreed, asked = Terms.of(F(10000), F(0), F(60)), Terms.of(F(10000), F(3, 10), F(60))
    prices = [Price(words="x", rate=F(12, 100)), Price(words="lever", per_thousand=F(5), binds=True)]
    ((price, rate, found),) = equal_terms(agreed, asked, F(360), prices).answers
    assert (price.words, rate, shown_amount(found.worse, 2)) == ("x", F(12, 100), "58.82")


def test_money_back_by_the_month() -> None:
    """1,000 for 110 in each of 12 months: back after 9.09; at 12 % a year, 1 % a month, worth 238.06; it earns 4.5532 % a month."""
    found = return_of((F(-1000), *[F(110)] * 12), "month", [Price(words="", rate=F(12, 100))])
    assert found.after == F(1000, 110)
    ((_, _, value),) = found.worth
    assert shown_amount(value, 2) == "238.06"
    (rate,) = found.rates
    assert found.periods == 12
    assert percent(rate.near, 4) == "4.5532"
