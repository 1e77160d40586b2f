"""Three numbers of a tool: its share in a unit, its cash, and what is open if we stop."""

from __future__ import annotations

from fractions import Fraction

import pytest

from cost_builders import line, part, tool, whole
from ferrule.compute.rates import rates_of
from ferrule.compute.tooling import ToolCost, tool_costs

F = Fraction


def costs(text: str, pieces: dict[str, int], units: int, planned: int = 0) -> ToolCost:
    made = whole(part("P", (1, "1")), line(1, "P"), tools_t=text)
    each = {number: F(count) for number, count in pieces.items()}
    (found,) = tool_costs(made, rates_of(made), each, F(units), F(planned))
    return found


def test_share_cash_and_what_is_open() -> None:
    # 48,000 over 12,000 = 4.00; stopped at 5,000: 9.60 true, 48,000 - 5,000 x 4.00 = 28,000 open.
    found = costs(tool("T", "P", "48000 EUR", 12000), {"P": 1}, 5000)
    assert (found.cash, found.each, found.true_each, found.open) == (F(48000), F(4), F("9.6"), F(28000))
    assert (found.over, found.made) == (F(12000), F(5000))


@pytest.mark.parametrize(("units", "left"), [(0, 48000), (12000, 0), (15000, 0)])
def test_no_more_is_recovered_than_was_paid(units: int, left: int) -> None:
    found = costs(tool("T", "P", "48000 EUR", 12000), {"P": 1}, units)
    assert found.open == left
    assert found.true_each == (None if not units else F(48000, units))


@pytest.mark.parametrize(
    ("more", "over"),
    [
        ("life = 8000\n", 8000),
        ("life = 20000\n", 12000),
        # One shot gives a piece for each cavity: 3,000 shots of 2 are 6,000 pieces.
        ("life = 3000\ncavities = 2\n", 6000),
        ("life = 8000\ncavities = 2\n", 12000),
        ("life = 8000\nused = 2000\n", 6000),
        # Past its life: its successor has a whole one.
        ("life = 8000\nused = 8000\n", 8000),
        ("life = 8000\nused = 9000\ncavities = 2\n", 12000),
    ],
)
def test_a_life_that_ends_before_the_plan_is_what_counts(more: str, over: int) -> None:
    found = costs(tool("T", "P", "48000 EUR", 12000, more), {"P": 1}, 5000)
    assert (found.over, found.each) == (F(over), F(48000, over))
    assert found.open == max(0, 48000 - F(48000, over) * 5000)


def test_several_pieces_in_a_unit() -> None:
    # Two in a unit: 48,000 over 24,000 pieces is 2.00 each and 4.00 a unit; 5,000 units are 10,000 pieces.
    found = costs(tool("T", "P", "48000 EUR", 24000), {"P": 2}, 5000)
    assert (found.made, found.each, found.true_each, found.open) == (F(10000), F(4), F("9.6"), F(28000))


def test_a_tool_for_several_parts_goes_by_the_one_needed_most() -> None:
    # One P and three Q in a unit: a shot gives one of each, so three shots a unit.
    family = tool("T", "P", "48000 EUR", 12000).replace('["P"]', '["P", "Q"]')
    assert costs(family, {"P": 1, "Q": 3}, 1000).each == 12
    assert costs(family, {"P": 3}, 1000).each == 12


def test_a_tool_for_nothing_in_the_product_is_left_out() -> None:
    made = whole(part("P", (1, "1")), line(1, "P"), tools_t=tool("T", "P", "48000 EUR", 12000))
    assert tool_costs(made, rates_of(made), {"Q": F(1)}, F(1), F(1)) == ()


def test_over_nothing_spreads_nothing() -> None:
    # Nothing in a unit, all of it open however many are made.
    found = costs(tool("T", "P", "48000 EUR", 0), {"P": 1}, 5000)
    assert (found.each, found.over, found.open, found.true_each) == (F(0), F(0), F(48000), F("9.6"))


def test_scrap_value_is_never_open() -> None:
    # A tenth comes back at the end: 48,000 x .9 - 20,000.
    found = costs(tool("T", "P", "48000 EUR", 12000, 'scrap_value = "10 %"\n'), {"P": 1}, 5000)
    assert found.open == 23200


@pytest.mark.parametrize(
    ("over", "more", "value"),
    [
        (12000, "assist = true\n", F(4)),
        (12000, "assist = false\n", F(0)),
        (12000, "", F(0)),
        # Not spread over units, but the value of goods has its share all the same: over the units planned.
        (0, "assist = true\n", F(48000, 16000)),
        (0, "", F(0)),
    ],
)
def test_an_assist_enters_the_customs_value(over: int, more: str, value: Fraction) -> None:
    found = costs(tool("T", "P", "48000 EUR", over, more), {"P": 1}, 5000, planned=16000)
    assert found.in_customs_value == value


def test_an_assist_spread_over_nothing_and_no_plan_is_unknown() -> None:
    assert costs(tool("T", "P", "48000 EUR", 0, "assist = true\n"), {"P": 1}, 5000).in_customs_value is None


def test_an_amount_that_is_not_known_stays_unknown() -> None:
    for text in (
        tool("T", "P", "48000 USD", 12000),
        tool("T", "P", "1 EUR", 12000).replace('amount = "1 EUR"\n', ""),
    ):
        found = costs(text, {"P": 1}, 5000)
        assert (found.cash, found.each, found.true_each, found.open) == (None, None, None, None)


def test_the_makers_currency_counts_where_the_amount_names_none() -> None:
    # 54,000 at 1.08 USD a euro are 50,000.
    text = tool("T", "P", "54000", 12500, 'firm = "shop"\n').replace('"54000"', "54000")
    firm = '[firm.shop]\nname = "Shop"\ncurrency = "USD"\n[[rate]]\nrate = "1 EUR = 1.08 USD"\ndate = 2026-11-20\n'
    made = whole(part("P", (1, "1")), line(1, "P"), tools_t=text, firms_more=firm)
    (found,) = tool_costs(made, rates_of(made), {"P": F(1)}, F(1), F(0))
    assert (found.cash, found.each) == (F(50000), F(4))
