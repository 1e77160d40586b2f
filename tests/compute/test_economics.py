"""When a plan has paid for what it spends once: whole small products with the trade's own numbers."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest

from cost_builders import CHANNEL, SEA, cost, line, part, tool, whole
from ferrule.compute.economics import Breakeven, breakeven, margins_of, penalties
from ferrule.compute.margin import breakeven_quantity
from ferrule.model.product import Product

F = Fraction
START = dt.date(2026, 11, 30)
PLAN = """\
[plan]
id = "p"
start = 2026-11-30
end = "week 60"
[[build]]
name = "a"
sku = "TOP"
qty = 8000
factory = "works"
lane = "sea"
ship = "week 2"
[[one_off]]
name = "launch"
amount = "120000 EUR"
when = "week 1"
"""


def sales(channel: str = "web", qty: int = 8000, weeks: int = 40, first: int = 10) -> str:
    return (
        f'[[sales]]\nsku = "TOP"\nchannel = "{channel}"\nbuild = "a"\nqty = {qty}\n'
        f'from = "week {first}"\nover_weeks = {weeks}\n'
    )


def sold(price: str, rows: str, **named: str) -> Product:
    return whole(part("P", (1, price)), line(1, "P"), plans_p=PLAN + rows, **named)


def found(made: Product) -> Breakeven:
    return breakeven(made, made.plans["p"], {"TOP": cost(made)})


def week(number: int) -> dt.date:
    return START + dt.timedelta(weeks=number)


def test_breakeven() -> None:
    # Sold at 50 and made at 28.50, each leaves 21.50: 120,000 / 21.50 = 5,581.4, so 5,582. At 200 a week from week 10
    # on 5,600 are sold by the end of the 28th week, week 37.
    result = found(sold("28.5", sales()))
    assert (result.fixed, result.contribution, result.quantity) == (F(120000), F("21.5"), 5582)
    assert (result.week, result.units, result.unknown) == (week(37), 8000, ())
    assert breakeven_quantity(F(120000), F("21.5")) == 5582


#: List 80, 45 % for the shop, 2 % allowance, 9 % returns at 3.00 with 20 % recovered, 2 % warranty, delivery 1.50.
SHOP = """\
[channel.shop]
name = "Shop"
kind = "retail"
currency = "EUR"
tax_included = false
margin = "45 %"
allowance = [{ name = "damage", rate = "2 %" }]
returns = "9 %"
return_cost = 3
recovery = "20 %"
warranty = "2 %"
delivery = 1.5
"""
SHELF = '[assembly.sale.shop]\nlist_price = "80 EUR"\nwarranty_handling = "0 EUR"\n'


def test_the_naive_breakeven_beside_it() -> None:
    # Revenue 43.12; 43.12 x .91 - 22 - 1.50 - .09 x (3 - 4.40) - .02 x 23.50 = 15.3952. The spreadsheet has 21.12.
    # 120,000 / 15.3952 = 7,794.6 and / 21.12 = 5,681.8. At 200 a week: 39 weeks and 29 weeks from week 10.
    result = found(sold("22", sales("shop"), channel=SHOP, sale=SHELF))
    assert (result.contribution, result.naive) == (F("15.3952"), F("21.12"))
    assert (result.quantity, result.naive_quantity) == (7795, 5682)
    assert (result.week, result.naive_week) == (week(48), week(38))


def test_channels_are_blended_by_what_they_sell() -> None:
    # 2,000 in the web shop at 50 - 22 = 28.00, 6,000 in shops at 15.3952: 18.5464 on the mean.
    both = SHELF + '[assembly.sale.web]\nlist_price = "50 EUR"\nwarranty_handling = "0 EUR"\n'
    made = sold("22", sales("web", 2000) + sales("shop", 6000), channel=SHOP + CHANNEL, sale=both)
    result = found(made)
    assert result.contribution == (2000 * 28 + 6000 * F("15.3952")) / 8000 == F("18.5464")
    assert {each.channel: each.margin for each in margins_of(made, cost(made))} == {
        "shop": F("15.3952"),
        "web": F(28),
    }


def test_a_plan_that_sells_too_few_never_gets_there() -> None:
    # 5,582 are needed and 5,581 sold; the last unit more is sold in the last week.
    few, enough = (found(sold("28.5", sales(qty=qty, weeks=40))) for qty in (5581, 5582))
    assert (few.quantity, few.week) == (5582, None)
    assert enough.week == week(49)


def test_units_that_leave_nothing_never_pay() -> None:
    result = found(sold("50", sales()))
    assert (result.contribution, result.quantity, result.week) == (F(0), None, None)


def test_fixed_costs_are_overhead_one_off_costs_and_tools() -> None:
    # 61 weeks at 100, 120,000 and a tool of 2,900; its share is in no unit cost, so nothing is counted twice.
    rows = '[[overhead]]\nname = "rent"\namount = "100 EUR"\nevery = "week"\n' + sales()
    made = sold("28.5", rows, tools_t=tool("T", "P", "2900 EUR", 1000))
    result = found(made)
    assert result.fixed == 6100 + 120000 + 2900 == 129000
    assert (result.contribution, result.quantity) == (F("21.5"), 6000)


def test_landed_cost_counts_where_the_plan_ships() -> None:
    # 20.00 and a consigned 1.50 land at 23.6674: each leaves 26.3326.
    lines = line(1, "P") + line(2, "C", more='supply = "consigned"\n')
    made = whole(part("P", (1, "20")) + part("C", (1, "1.5")), lines, plans_p=PLAN + sales())
    result = breakeven(made, made.plans["p"], {"TOP": cost(made, lane="sea")})
    assert (result.contribution, result.quantity) == (F("26.3326"), 4558)


def test_what_is_not_known_is_said() -> None:
    rows = '[[one_off]]\nname = "yen"\namount = "1 JPY"\nwhen = "week 1"\n' + sales()
    made = sold("28.5", rows + sales("fair", 10))
    result = found(made)
    assert result.fixed == 120000
    assert result.unknown[:2] == ("amount of yen", "margin of TOP in fair")
    # Ten of the units sold leave nobody knows what: the mean is not known, and no other one is put in its place.
    assert (result.contribution, result.quantity, result.naive) == (None, None, None)


def test_a_sum_that_is_not_known_makes_the_quantity_a_lower_bound() -> None:
    """120,000 and some yen over 21.50: at least 5,582; the contribution itself is known."""
    rows = '[[one_off]]\nname = "yen"\namount = "1 JPY"\nwhen = "week 1"\n' + sales()
    result = found(sold("28.5", rows))
    assert (result.quantity, result.at_least, result.naive_at_least) == (5582, True, True)
    assert (result.fixed_at_least, result.contribution_at_most) == (True, False)


def test_a_cost_that_is_a_lower_bound_makes_the_margin_an_upper_one() -> None:
    """P at 28.50 and Q at a price nobody stated: at most 21.50 a unit, so at least 5,582 units."""
    made = whole(part("P", (1, "28.5")) + part("Q"), line(1, "P") + line(2, "Q"), plans_p=PLAN + sales())
    (margin,) = margins_of(made, cost(made))
    assert (margin.margin, margin.at_most, margin.unknown) == (F("21.5"), True, ("part of the landed cost",))
    result = found(made)
    assert (result.contribution, result.contribution_at_most, result.naive_at_most) == (F("21.5"), True, True)
    assert (result.quantity, result.at_least, result.fixed_at_least) == (5582, True, False)
    assert result.unknown == ("part of the landed cost (TOP in web)",)


def test_a_cost_of_which_nothing_is_known_leaves_no_naive_figure() -> None:
    """50.00 less nobody knows what: at most 50.00, and revenue less landed cost cannot be said."""
    made = whole(part("Q"), line(1, "Q"), plans_p=PLAN + sales())
    result = found(made)
    assert (result.contribution, result.contribution_at_most, result.quantity) == (F(50), True, 2400)
    assert (result.naive, result.naive_quantity) == (None, None)


def test_a_known_cost_leaves_known_figures() -> None:
    result = found(sold("28.5", sales()))
    assert not any(
        (result.at_least, result.naive_at_least, result.contribution_at_most, result.fixed_at_least)
    )


#: 24 in a carton; a carton that is not full costs 18.00.
CARTON = '[part.BOX]\nclass = "packaging"\nsupply = "free-issue"\npacking = { role = "master carton", units = 24, outer = ["0.4 m", "0.3 m", "0.2 m"], gross = "9 kg" }\n'
FINED = CHANNEL + 'chargeback = [{ name = "part-full carton", amount = 18, per = "carton" }]\n'


def boxed(channel: str, carton: str = CARTON) -> Product:
    return whole(
        part("P", (1, "28.5")) + carton, line(1, "P") + line(2, "BOX", more="per = 24\n"), channel=channel
    )


@pytest.mark.parametrize(
    ("qty", "each"),
    [
        (1008, F(0)),  # 42 full cartons
        (1000, F(18, 1000)),  # 41 and one with 16 in it
        (1, F(18)),
    ],
)
def test_a_part_full_carton_costs_each_unit_its_share(qty: int, each: Fraction) -> None:
    made = boxed(FINED)
    unit = cost(made, qty)
    assert penalties(made, unit, "web") == each
    assert [margin.margin for margin in margins_of(made, unit)] == [F("21.5") - each]


def test_a_channel_that_fines_nothing_costs_nothing() -> None:
    made = boxed(CHANNEL)
    assert penalties(made, cost(made), "web") == 0


@pytest.mark.parametrize(
    "channel",
    [FINED.replace('per = "carton"', 'per = "pallet"'), FINED.replace("amount = 18", 'amount = "18 USD"')],
)
def test_a_fine_that_cannot_be_counted_is_unknown(channel: str) -> None:
    made = boxed(channel)
    assert penalties(made, cost(made), "web") is None
    (margin,) = margins_of(made, cost(made))
    assert margin.unknown == ("the channel's chargebacks on one unit",)


def test_a_fine_by_the_carton_without_a_carton_is_unknown() -> None:
    made = whole(part("P", (1, "28.5")), line(1, "P"), channel=FINED, lane=SEA)
    assert penalties(made, cost(made), "web") is None
