"""Conversions by hand, which rate counts, and the laws of chains."""

from __future__ import annotations

import datetime as dt
import itertools
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import product
from ferrule.compute.rates import Rates, counting, rates_of
from ferrule.load.build import load_product
from ferrule.model.exchange import Exchange
from ferrule.model.money import Money
from ferrule.model.records.firms import Rate

CENTRAL = """\
[[rate]]
rate = "1 EUR = 1.08 USD"
date = 2026-11-20
[[rate]]
rate = "1 EUR = 163.50 JPY"
date = 2026-11-20
"""


def rates(text: str) -> Rates:
    return rates_of(product({"firms/rates.toml": text}))


def test_the_rate_its_inverse_and_a_chain_by_hand() -> None:
    """One euro buys 1.08 dollars and 163.50 yen.

    21.60 USD / 1.08 = 20 EUR. 100 JPY / 163.50 = 200/327 EUR.
    1 USD = 1/1.08 EUR = 163.50/1.08 JPY = 16350/108 = 2725/18 JPY (151.39).
    """
    held = rates(CENTRAL)
    assert held.convert(Fraction(20), "EUR", "USD") == Fraction("21.6")
    assert held.convert(Fraction("21.6"), "USD", "EUR") == 20
    assert held.convert(Fraction(100), "JPY", "EUR") == Fraction(200, 327)
    assert held.convert(Fraction(1), "USD", "JPY") == Fraction(2725, 18)
    assert held.convert(Fraction(2725, 18), "JPY", "USD") == 1


def test_a_rate_for_many_units_of_a_small_currency() -> None:
    """100 JPY = 0.61 EUR: 5,000 JPY are 30.50 EUR, and 1 EUR is 100/0.61 = 10000/61 JPY."""
    held = rates('[[rate]]\nrate = "100 JPY = 0.61 EUR"\n')
    assert held.convert(Fraction(5000), "JPY", "EUR") == Fraction("30.5")
    assert held.convert(Fraction(1), "EUR", "JPY") == Fraction(10000, 61)


def test_an_amount_without_a_currency_takes_that_of_its_record() -> None:
    held = rates(CENTRAL)
    assert held.money(Money(Decimal("10.80")), "USD", "EUR") == 10
    assert held.money(Money(Decimal("10.80"), "EUR"), "USD", "EUR") == Fraction("10.8")
    assert held.money(Money(Decimal("10.80")), "", "EUR") is None


def test_a_conversion_says_which_rates_it_used() -> None:
    held = rates(CENTRAL)
    assert held.chain("EUR", "EUR") == ()
    assert held.chain("USD", "EUR") == (0,)
    assert held.chain("USD", "JPY") == (0, 1)
    assert held.chain("JPY", "USD") == (1, 0)


def test_without_a_chain_there_is_no_answer() -> None:
    held = rates(CENTRAL + '[[rate]]\nrate = "1 GBP = 1.27 CHF"\n')
    assert held.convert(Fraction(1), "EUR", "GBP") is None
    assert held.chain("GBP", "EUR") is None
    assert held.convert(Fraction(1), "CHF", "SEK") is None
    assert held.convert(Fraction(7), "SEK", "SEK") == 7


def test_the_latest_rate_counts_and_one_without_a_day_comes_last() -> None:
    undated, old, new = "", "date = 2026-01-05\n", "date = 2026-11-20\n"
    for days in itertools.permutations((undated, old, new)):
        written = {undated: "1 EUR = 1.30 USD", old: "1 USD = 0.50 EUR", new: "1 EUR = 1.08 USD"}
        held = rates("".join(f'[[rate]]\nrate = "{written[day]}"\n{day}' for day in days))
        assert held.chain("EUR", "USD") == (days.index(new),)
        assert held.convert(Fraction(1), "EUR", "USD") == Fraction("1.08")


def test_a_pegged_rate_does_not_age() -> None:
    held = rates(
        '[[rate]]\nrate = "1 EUR = 7.50 DKK"\ndate = 2026-11-20\n'
        '[[rate]]\nrate = "1 EUR = 7.46 DKK"\npegged = true\n'
    )
    assert held.chain("DKK", "EUR") == (1,)


def test_of_equals_the_first_counts() -> None:
    held = rates('[[rate]]\nrate = "1 EUR = 1.1 USD"\n[[rate]]\nrate = "1 EUR = 1.2 USD"\n')
    assert held.chain("EUR", "USD") == (0,)


def test_a_direct_rate_goes_before_a_chain_even_where_they_disagree() -> None:
    """Over the yen 1 EUR would be 163.50/150 = 1.09 USD; the rate that is stated says 1.08."""
    held = rates(CENTRAL + '[[rate]]\nrate = "1 USD = 150 JPY"\n')
    assert held.convert(Fraction(1), "EUR", "USD") == Fraction("1.08")


def test_of_two_equally_short_chains_it_is_the_same_one_in_both_directions() -> None:
    """AUD-CHF-SEK-NOK and AUD-DKK-CAD-NOK: from AUD the first is the lesser, from NOK the second would be."""
    names = ["AUD CHF", "CHF SEK", "SEK NOK", "AUD DKK", "DKK CAD", "CAD NOK"]
    written = [f'[[rate]]\nrate = "1 {a} = 2 {b}"\n' for a, b in (name.split() for name in names)]
    held = rates("".join(written))
    assert held.chain("AUD", "NOK") == (0, 1, 2)
    assert held.chain("NOK", "AUD") == (2, 1, 0)
    backward = rates("".join(reversed(written)))  # the order of the files does not choose
    assert backward.chain("AUD", "NOK") == (5, 4, 3)


def test_the_example_product_reads_its_own_two_rates(checkout: Path) -> None:
    folder = checkout / "example-product"
    files = ((str(path.relative_to(folder)), path.read_bytes()) for path in sorted(folder.rglob("*.toml")))
    held = rates_of(load_product(files).product)
    assert held.convert(Fraction(108), "USD", "EUR") == 100
    assert held.convert(Fraction(327), "JPY", "EUR") == 2


CODES = ["CHF", "EUR", "GBP", "JPY", "SEK", "USD"]
numbers = st.decimals("0.01", "5000", places=2)
pairs = st.sampled_from(list(itertools.permutations(CODES, 2)))
days = st.none() | st.dates(dt.date(2026, 1, 1), dt.date(2026, 1, 5))
stated = st.builds(
    lambda of, pair, buys, day: Rate(rate=Exchange(of, pair[0], buys, pair[1]), date=day),
    numbers,
    pairs,
    numbers,
    days,
)
lists = st.lists(stated, max_size=9)
amounts = st.fractions(max_denominator=1000)
codes = st.sampled_from(CODES)


def held_by(records: list[Rate]) -> Rates:
    made = product({})
    return rates_of(type(made)(head=made.head, rates=tuple(records)))


@pytest.mark.property
@given(lists, amounts, codes, codes)
def test_there_and_back_is_the_same_amount(records: list[Rate], amount: Fraction, one: str, two: str) -> None:
    held = held_by(records)
    there = held.convert(amount, one, two)
    assert (there is None) == (held.chain(two, one) is None)
    if there is not None:
        assert held.convert(there, two, one) == amount


@pytest.mark.property
@given(lists, codes, codes)
def test_chains_are_as_short_as_those_of_networkx_and_join_their_ends(
    records: list[Rate], one: str, two: str
) -> None:
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(CODES)
    graph.add_edges_from((record.rate.base, record.rate.quote) for record in records)
    chain = held_by(records).chain(one, two)
    if chain is None:
        assert not nx.has_path(graph, one, two)
        return
    assert len(chain) == nx.shortest_path_length(graph, one, two)
    ends: set[str] = set()
    for index in chain:
        ends ^= {records[index].rate.base, records[index].rate.quote}
    assert ends == {one} ^ {two}


@pytest.mark.property
@given(lists)
def test_no_rate_for_the_same_two_currencies_is_later_than_the_one_that_counts(records: list[Rate]) -> None:
    for pair, index in counting(records).items():
        rivals = [r for r in records if {r.rate.base, r.rate.quote} == set(pair)]
        assert records[index].date == max((r.date for r in rivals if r.date), default=None)


@pytest.mark.property
@given(lists, amounts, amounts, codes, codes)
def test_a_sum_converts_like_its_parts(
    records: list[Rate], a: Fraction, b: Fraction, one: str, two: str
) -> None:
    held = held_by(records)
    whole, first, second = (held.convert(amount, one, two) for amount in (a + b, a, b))
    if whole is not None and first is not None and second is not None:
        assert whole == first + second
