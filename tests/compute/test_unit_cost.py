"""What one good unit costs: the trade's own small numbers, hand-worked products, and laws."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import TODAY, product
from ferrule.compute.buy import Ask, buy
from ferrule.compute.cost import CostAsk, Offer, UnitCost, landed_offers, unit_cost
from ferrule.compute.curve import cost_curve
from ferrule.compute.economics import breakeven, margins_of
from ferrule.compute.outlays import fixed_outlays, last_day, occurrences
from ferrule.compute.rates import rates_of
from ferrule.compute.runs import runs_of
from ferrule.compute.tooling import tool_costs
from ferrule.compute.weakness import weakness
from ferrule.model.incoterms import parse_incoterm
from ferrule.model.product import Product

F = Fraction

FIRMS = """\
[firm.we]
name = "We"
roles = ["us"]
[firm.works]
name = "Works"
roles = ["factory"]
[firm.works.factory]
handling = 30
markup = [{ name = "handling", rate = "10 %", base = ["turnkey material"] }, { name = "profit", rate = "20 %", base = ["labour", "test"] }]
[firm.seller]
name = "Seller"
[channel.web]
name = "Web"
kind = "direct"
currency = "EUR"
tax_included = false
returns = "0 %"
return_cost = 0
recovery = "0 %"
warranty = "0 %"
delivery = 0
[lane.sea]
name = "Sea"
mode = "sea"
destination = "EU"
incoterm = ["FCA Port"]
currency = "EUR"
per_m3 = 100
insurance = { rate = "0.4 %", of = "110 %" }
charge = [{ name = "entry", amount = 0, per = "entry", covers = "import" }]
quoted = 2026-11-01
[[duty]]
destination = "EU"
code = "1"
rate = "5 %"
basis = "freight-exclusive"
checked = 2026-11-20
"""
TOP = """\
[assembly]
id = "TOP"
factory = "works"
supply = "turnkey"
size = ["1 m", "0.1 m", "0.1 m"]
mass = "1 kg"
customs_code = [{ destination = "EU", code = "1" }]
"""
PLAIN = '[assembly.sale.web]\nlist_price = "50 EUR"\nwarranty_handling = "0 EUR"\n'


def part(name: str, price: str, more: str = "") -> str:
    return (
        f'[part.{name}]\nclass = "mechanical"\n{more}[[part.{name}.source]]\nseller = "seller"\nstatus = "approved"\n'
        f'currency = "EUR"\nmoq = 1\nprice = {price}\n'
    )


def line(item: int, name: str, qty: int = 1, more: str = "") -> str:
    return f'[[line]]\nitem = {item}\npart = "{name}"\nqty = {qty}\n{more}'


def made_of(
    parts: str, lines: str, *, steps: str = "", firms: str = FIRMS, more: str = "", **files: str
) -> Product:
    top = TOP + (f"steps = [{steps}]\n" if steps else "") + more + PLAIN + lines
    return product({"firms/f.toml": firms, "parts/p.toml": parts, "assemblies/t.toml": top} | files)


def cost(p: Product, qty: int = 1000, **named: object) -> UnitCost:
    return unit_cost(p, CostAsk(sku="TOP", qty=F(qty), name=f"{qty}", day=TODAY, **named))  # type: ignore[arg-type]


NO_MARKUP = FIRMS.replace(FIRMS[FIRMS.index("markup = ") : FIRMS.index("[firm.seller]")], "").replace(
    "handling = 30\n", ""
)


def test_yields_compound() -> None:
    # Steps of 10, 5 and 1 at .98, .97 and .99: 15.8506 / .941094 = 16.84 a good unit, not 16.00.
    steps = ", ".join(
        f'{{ name = "s{c}", cost = {c}, yield = "{y} %" }}' for c, y in ((10, 98), (5, 97), (1, 99))
    )
    p = made_of("", "", steps=steps, firms=NO_MARKUP)
    found = cost(p)
    assert found.total == F("15.8506") / F("0.941094")
    assert found.yield_cost == found.total - 16


def test_half_a_point_of_yield() -> None:
    # One step of 10 at 80 %: 12.50. At 80.5 %: 10 / .805 = 12.4224; half a point is worth the difference.
    found = cost(made_of("", "", steps='{ name = "s", cost = 10, yield = "80 %" }', firms=NO_MARKUP))
    assert [each.saved for each in found.worth] == [F("12.5") - F(10) / F("0.805")]


def test_rework_pays_the_step_again_or_the_retest() -> None:
    # 100 enter, 20 fail, 10 are reworked (2 each) and tested again (4 again), 8 pass: 88 good for 460.
    rework = 'rework = { share = "50 %", cost = 2, yield = "80 %" }'
    step = f'{{ name = "s", cost = 4, yield = "80 %", {rework} }}'
    assert cost(made_of("", "", steps=step, firms=NO_MARKUP)).total == F(100 * 4 + 10 * 2 + 10 * 4, 88)
    cheap = step.replace('yield = "80 %" } }', 'yield = "80 %", retest_cost = 1 } }')
    assert cost(made_of("", "", steps=cheap, firms=NO_MARKUP)).total == F(100 * 4 + 10 * 2 + 10 * 1, 88)


def test_what_a_step_costs_falls_on() -> None:
    # 80 % of the first step reach the second: a cost per good unit there is paid once a good unit.
    steps = '{ name = "a", yield = "80 %", cost = 0 }, { name = "b", cost = 3, per = "good", yield = "50 %" }'
    assert cost(made_of("", "", steps=steps, firms=NO_MARKUP)).total == 3
    assert cost(made_of("", "", steps=steps.replace('"good"', '"entering"'), firms=NO_MARKUP)).total == 6


def test_labour_by_the_minute_and_tiers_by_units_built() -> None:
    steps = '{ name = "a", minutes = 3, hour_rate = "20 EUR" }, { name = "b", tier = [{ from = 100, each = 2 }, { from = 1000, each = 1 }] }'
    p = made_of("", "", steps=steps, firms=NO_MARKUP)
    assert cost(p, 1000).total == 1 + 1
    assert cost(p, 999).total == 1 + 2
    below = cost(p, 99)
    assert below.is_bound
    assert below.unknown == ("price of TOP, b", "yield of step a of TOP", "yield of step b of TOP")


def test_markups_fall_on_their_base_only() -> None:
    # Turnkey 5.00 (+10 %), consigned 3.00 (none), labour 2.00 and test 1.00 (+20 %); handling 30 for the one
    # consigned line of 1,000 units: 5 + 0.5 + 3 + 3 + 0.6 + 0.03.
    steps = (
        '{ name = "a", cost = 2, yield = "100 %" }, { name = "t", cost = 1, kind = "test", yield = "100 %" }'
    )
    parts = part("P", "[{ from = 1, each = 5 }]") + part("C", "[{ from = 1, each = 3 }]")
    p = made_of(parts, line(1, "P") + line(2, "C", more='supply = "consigned"\n'), steps=steps)
    found = cost(p)
    assert found.elements == {
        "material, mechanical": 5,
        "consigned parts": 3,
        "labour": 2,
        "test": 1,
        "mark-up": F("1.1"),
        "handling of consigned parts": F("0.03"),
    }
    assert (found.factory, found.consigned) == (F("9.13"), F(3))


def test_an_assemblys_own_markup_comes_before_the_firms() -> None:
    p = made_of(
        part("P", "[{ from = 1, each = 5 }]"),
        line(1, "P"),
        more='markup = [{ name = "own", rate = "50 %", base = ["all"] }]\n',
    )
    assert cost(p).total == F("7.5")


def test_a_quoted_price_and_what_it_leaves_out() -> None:
    quoted = 'price = { tier = [{ from = 1, each = 9 }], currency = "EUR", excludes = ["C"] }\n'
    parts = part("P", "[{ from = 1, each = 5 }]") + part("C", "[{ from = 1, each = 3 }]")
    p = made_of(
        parts, line(1, "P") + line(2, "C", more='supply = "consigned"\n'), more=quoted, firms=NO_MARKUP
    )
    assert cost(p).elements == {"consigned parts": 3, "quoted factory price": 9}


def test_the_price_of_the_pooled_order() -> None:
    # Two builds of 600 share P, cheaper from 1,000: pooled 1.00, alone 2.00.
    plan = '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 60"\n' + "".join(
        f'[[build]]\nname = "{name}"\nsku = "TOP"\nqty = 600\nstart = 2027-03-01\n' for name in "ab"
    )
    p = made_of(
        part("P", "[{ from = 1, each = 2 }, { from = 1000, each = 1 }]"),
        line(1, "P"),
        firms=NO_MARKUP,
        **{"plans/p.toml": plan},
    )
    pooled = buy(p, runs_of(p, p.plans["p"]), Ask(today=TODAY), netted=False)
    ask = CostAsk(sku="TOP", qty=F(600), name="a", day=TODAY)
    assert unit_cost(p, ask, pooled).total == 1
    # Alone, 1,000 at 1.00 (1,000) cost less than 600 at 2.00 (1,200): the unit costs 1.00 and 400 are left over.
    assert unit_cost(p, ask).total == 1
    assert unit_cost(p, ask).left_value == F(400, 600)
    assert cost(p, 400).total == 2


def test_landed() -> None:
    # Goods 20.00 FCA, freight 100 x 0.01 m3 = 1.00, insurance 0.4 % of 110 % of 21 = 0.0924, consigned 1.50,
    # duty 5 % of 21.50 = 1.0750: 23.6674.
    parts = part("P", "[{ from = 1, each = 20 }]") + part("C", "[{ from = 1, each = 1.5 }]")
    p = made_of(parts, line(1, "P") + line(2, "C", more='supply = "consigned"\n'), firms=NO_MARKUP)
    found = cost(p, lane="sea")
    assert found.landed is not None
    assert (found.elements["freight"], found.elements["insurance"], found.elements["duty"]) == (
        F(1),
        F("0.0924"),
        F("1.075"),
    )
    assert found.total == F("23.6674")
    assert found.landed.duty_on_assists / found.landed.units == F("0.075")
    inclusive = landed_offers(
        p, found.ask, [Offer(term=parse_incoterm("FCA Port"), lane="sea", basis="freight-inclusive")]
    )[0]
    assert inclusive.landed.of("duty") / 1000 == F("1.12962")
    assert inclusive.other is not None
    assert inclusive.other.per_unit == F("23.6674")


def test_a_tools_share_is_in_the_customs_value_and_not_in_the_cost() -> None:
    # 10,000 over 2,000 pieces is 5.00 a unit: duty 5 % of 25.00.
    tool = (
        '[tool.T]\nname = "Mould"\nkind = "mould"\nmakes = ["P"]\namount = "10000 EUR"\namortise_over = 2000\nassist = true\n'
        'firm = "works"\nowner = "we"\ncustodian = "works"\nmark = "M"\nschedule = [{ share = "100 %", due = "order" }]\n'
    )
    p = made_of(
        part("P", "[{ from = 1, each = 20 }]"), line(1, "P"), firms=NO_MARKUP, **{"tools/t.toml": tool}
    )
    found = cost(p, lane="sea")
    assert found.elements["duty"] == F("1.25")
    assert found.total == 20 + 1 + F("0.0924") + F("1.25")
    assert found.tool_share == 5


def test_three_numbers_of_a_tool() -> None:
    # 48,000 over 12,000 = 4.00; stopped at 5,000: 9.60 true, 28,000 open.
    tool = '[tool.T]\nname = "Mould"\nkind = "mould"\nmakes = ["P"]\namount = "48000 EUR"\namortise_over = 12000\n'
    p = made_of(part("P", "[{ from = 1, each = 1 }]"), line(1, "P"), **{"tools/t.toml": tool})
    (found,) = tool_costs(p, rates_of(p), {"P": F(1)}, F(5000), F(0))
    assert (found.each, found.true_each, found.open) == (F(4), F("9.6"), F(28000))
    short = made_of(
        part("P", "[{ from = 1, each = 1 }]"),
        line(1, "P"),
        **{"tools/t.toml": tool + "life = 5000\ncavities = 2\nused = 1000\n"},
    )
    (worn,) = tool_costs(short, rates_of(short), {"P": F(1)}, F(5000), F(0))
    assert (worn.over, worn.each) == (F(8000), F(6))


def test_what_is_unknown_makes_it_at_least() -> None:
    p = made_of(
        part("P", "[{ from = 1, each = 5 }]") + part("Q", "[]"), line(1, "P") + line(2, "Q"), firms=NO_MARKUP
    )
    found = cost(p)
    assert found.is_bound
    assert (found.total, found.unknown) == (F(5), ("price of Q",))
    assert weakness(found).missing == ("Q",)


def test_how_much_rests_on_weak_prices() -> None:
    weak = part("P", "[{ from = 1, each = 3 }]").replace(
        "moq = 1\n", "moq = 1\nvalid_until = 2026-01-01\nquoted = 2025-12-01\n"
    )
    spoken = part("Q", "[{ from = 1, each = 1 }]").replace(
        "moq = 1\n", 'moq = 1\nbasis = "verbal"\nquoted = 2026-11-20\n'
    )
    p = made_of(
        weak
        + spoken
        + part("R", "[{ from = 1, each = 4 }]").replace("moq = 1\n", "moq = 1\nquoted = 2026-11-20\n"),
        line(1, "P") + line(2, "Q") + line(3, "R"),
        firms=NO_MARKUP,
    )
    assert weakness(cost(p)).shares == {"expired": F(3, 8), "verbal": F(1, 8)}


def test_the_curve_names_its_steps() -> None:
    # 1.00 below 100, 0.50 from 100: 50 of them cost as much as 100, so the price steps down at 50.
    p = made_of(
        part("P", "[{ from = 1, each = 1 }, { from = 100, each = 0.5 }]"), line(1, "P"), firms=NO_MARKUP
    )
    points = list(cost_curve(p, CostAsk(sku="TOP", qty=F(1), name="", day=TODAY), range(40, 121, 10)))
    units = {point.qty: point.unit for point in points}
    assert (units[40], units[50], units[60], units[100]) == (F(1), F(1), F("0.5"), F("0.5"))
    stepped = next(point for point in points if point.causes)
    assert stepped.qty == 60
    assert stepped.causes[0].words == "P at 100: 1 to 0.5 EUR each"


def test_cost_does_not_depend_on_the_rounding_of_starts() -> None:
    p = made_of(
        part("P", "[{ from = 1, each = 5 }]", 'unit = "m"\n'),
        line(1, "P"),
        steps='{ name = "s", cost = 7, yield = "97 %" }',
    )
    assert cost(p, 1000).total == cost(p, 1001).total == cost(p, 7).total


@pytest.mark.property
@given(st.integers(1, 500), st.integers(1, 300), st.integers(1, 400), st.integers(0, 90))
def test_cost_never_falls_when_a_price_rises(price: int, rise: int, qty: int, lost: int) -> None:
    def total(cents: int) -> Fraction:
        steps = f'{{ name = "s", cost = 7, yield = "{100 - lost} %" }}'
        return cost(
            made_of(part("P", f"[{{ from = 1, each = {cents / 100:.2f} }}]"), line(1, "P"), steps=steps),
            qty,
            lane="sea",
        ).total

    assert total(price + rise) >= total(price)


def test_elements_add_up_and_cash_is_units_and_leftover() -> None:
    p = made_of(
        part("P", "[{ from = 300, each = 5 }]"),
        line(1, "P", 2),
        steps='{ name = "s", cost = 7, yield = "97 %" }',
    )
    found = cost(p, 100, lane="sea")
    assert sum(found.elements.values()) == found.total
    assert found.cash == 100 * found.total + 100 * found.left_value


PLAN = """\
[plan]
id = "p"
start = 2026-11-30
end = "week 60"
[[build]]
name = "a"
sku = "TOP"
qty = 6000
factory = "works"
lane = "sea"
ship = "week 2"
[[sales]]
sku = "TOP"
channel = "web"
build = "a"
qty = 6000
from = "week 10"
over_weeks = 30
[[one_off]]
name = "launch"
amount = "120000 EUR"
when = "week 1"
"""


def test_breakeven() -> None:
    # Revenue 50, cost 28.50, so 21.50 a unit: 120,000 / 21.50 = 5,581.4: 5,582 units. 200 a week from week 10:
    # 5,600 by the end of the 28th week of sales, week 37.
    p = made_of(
        part("P", "[{ from = 1, each = 28.5 }]"), line(1, "P"), firms=NO_MARKUP, **{"plans/p.toml": PLAN}
    )
    found = breakeven(p, p.plans["p"], {"TOP": cost(p)})
    assert [margin.margin for margin in margins_of(p, cost(p))] == [F("21.5")]
    assert (found.fixed, found.contribution, found.quantity) == (F(120000), F("21.5"), 5582)
    assert found.week == dt.date(2026, 11, 30) + dt.timedelta(weeks=37)
    assert found.unknown == ()


def test_how_often_overhead_falls_due() -> None:
    # Weeks 0 to 60 are 61 weeks, to Sunday 30 January 2028; monthly from 31 January 2027 is 12 times and once
    # more on 28 (then 31 ...), the last on 31 December and, past it, 31 January is after the end.
    text = PLAN.replace(
        "[[one_off]]", '[[overhead]]\nname = "rent"\namount = "1 EUR"\nevery = "{}"\n{}[[one_off]]'
    )
    found = {}
    for every, more in (
        ("week", ""),
        ("month", "from = 2027-01-31\n"),
        ("quarter", 'from = "week 0"\nto = "week 40"\n'),
    ):
        p = made_of(part("P", "[]"), line(1, "P"), **{"plans/p.toml": text.format(every, more)})
        plan = p.plans["p"]
        found[every] = list(occurrences(plan.plan, plan.overhead[0]))
        assert fixed_outlays(p, rates_of(p), plan)[0].times == len(found[every])
    assert last_day(plan.plan) == dt.date(2028, 1, 30)
    assert len(found["week"]) == 61
    assert [str(day) for day in found["month"][:3]] == ["2027-01-31", "2027-02-28", "2027-03-31"]
    assert len(found["month"]) == 12
    assert [str(day) for day in found["quarter"]] == ["2026-11-30", "2027-02-28", "2027-05-30", "2027-08-30"]
