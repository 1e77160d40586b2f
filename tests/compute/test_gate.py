"""The gate: its grammar, and each condition on both sides of its limit."""

from __future__ import annotations

from fractions import Fraction

import pytest

from builders import TODAY
from cost_builders import line, part, whole
from effect_builders import PLAN, made
from ferrule.compute.compare import compare
from ferrule.compute.conditions import parse_condition
from ferrule.compute.effects import effects_of
from ferrule.compute.figures import figures_of
from ferrule.compute.gate import CONDITIONS, Verdict, parse_gate, verdicts
from ferrule.model.bad_value import BadValue
from ferrule.model.product import Product

# --- grammar ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "name", "operator", "limit", "unit"),
    [
        ("sole-source", "sole-source", "", None, ""),
        ("cost>2%", "cost", ">", Fraction(2, 100), "%"),
        ("cost >= 0.50", "cost", ">=", Fraction(1, 2), ""),
        ("lead>7d", "lead", ">", Fraction(7), "d"),
        ("lead>2w", "lead", ">", Fraction(14), "d"),
        ("trough<-1500", "trough", "<", Fraction(-1500), ""),
        ("idle>500", "idle", ">", Fraction(500), ""),
    ],
)
def test_condition(written: str, name: str, operator: str, limit: Fraction | None, unit: str) -> None:
    found = parse_condition(written, CONDITIONS)
    assert (found.name, found.operator, found.limit, found.unit) == (name, operator, limit, unit)


def test_several_and_a_word() -> None:
    found = parse_gate(" sole-source, cost>2%,trough<floor ,")
    assert [each.written for each in found] == ["sole-source", "cost>2%", "trough<floor"]
    assert found[2].word == "floor"


@pytest.mark.parametrize(
    ("written", "message", "form"),
    [
        ("cots>2%", '"cots>2%" is no condition', "cost>2%"),
        ("sole-sauce", '"sole-sauce" is no condition', "sole-source"),
        ("cost<2%", '"cost<2%": cost is compared with > or >=', "cost>2%"),
        ("cost>2d", '"cost>2d": "2d" is no limit of cost', "cost>2%"),
        ("cost=2%", '"cost=2%": cost is compared with > or >=', "cost>2%"),
        ("trough<low", '"trough<low": "low" is no limit of trough', "trough<floor"),
        ("lead", '"lead" names no limit', "lead>7d"),
        ("safety>1", '"safety>1": safety takes no limit', "safety"),
        ("cost>1e3", '"cost>1e3": "1e3" is no limit of cost', "cost>2%"),
        (",", "no condition is named", "sole-source"),
    ],
)
def test_what_is_no_condition_is_told(written: str, message: str, form: str) -> None:
    with pytest.raises(BadValue) as told:
        parse_gate(written)
    assert (told.value.message, told.value.forms[0]) == (message, form)


@pytest.mark.parametrize("kind", CONDITIONS)
def test_every_example_is_a_condition(kind: str) -> None:
    assert parse_condition(CONDITIONS[kind].example, CONDITIONS).name == kind


# --- verdicts --------------------------------------------------------------------------------------------


def judged(gate: str, before: Product, after: Product) -> tuple[Verdict, ...]:
    figures = [figures_of(each, TODAY, {}) for each in (before, after)]
    found = compare(before, after, (TODAY, TODAY))
    return verdicts(parse_gate(gate), found, effects_of(figures[0], figures[1]))


def outcome(gate: str, before: Product, after: Product) -> str:
    (verdict,) = judged(gate, before, after)
    assert verdict.fails == (verdict.outcome != "not met")
    return verdict.outcome


def test_cost_rises_by_exactly_two_percent() -> None:
    """25.00 to 25.50."""
    sides = made(), made(price="10.25")
    assert outcome("cost>2%", *sides) == "not met"
    assert outcome("cost>=2%", *sides) == "met"
    assert outcome("cost>1.99%", *sides) == "met"
    assert outcome("cost>0.50", *sides) == "not met"
    assert outcome("cost>0.49", *sides) == "met"
    assert outcome("cost>=2%", *reversed(sides)) == "not met"


def test_lead_by_days_and_weeks() -> None:
    sides = made(), made(lead='lead_time = "11 weeks"\n')
    assert (outcome("lead>6d", *sides), outcome("lead>7d", *sides), outcome("lead>=1w", *sides)) == (
        "met",
        "not met",
        "met",
    )
    assert outcome("late-order", *sides) == "not met"
    assert outcome("late-order", made(), made(lead='lead_time = "32 weeks"\n')) == "met"


def with_floor(floor: str, price: str = "10") -> Product:
    return made(price=price, plan=PLAN.replace('"1000 EUR"', f'"{floor} EUR"'))


def test_trough_is_met_where_the_change_brings_it_there_or_makes_it_worse() -> None:
    low = figures_of(made(), TODAY, {}).plans["p"].cash.ledger.trough.balance
    floor = str(int(low) - 100)
    assert outcome("trough<floor", with_floor(floor), with_floor(floor, "12")) == "met"
    assert outcome("trough<floor", with_floor(floor), with_floor(floor, "10.01")) == "not met"
    high = str(int(low) + 5000)
    assert outcome("trough<floor", with_floor(high, "12"), with_floor(high)) == "not met"
    assert outcome("trough<floor", with_floor(high), with_floor(high, "12")) == "met"
    assert outcome("trough<floor", with_floor(floor), with_floor(high)) == "met"


def test_without_a_floor_the_trough_cannot_be_decided() -> None:
    bare = PLAN.replace('floor = "1000 EUR"\n', "")
    assert outcome("trough<floor", made(plan=bare), made(plan=bare, price="11")) == "cannot be decided"


def test_an_unknown_price_does_not_pass_for_a_cheap_one() -> None:
    after = whole(
        part("P", (1, "10")) + "[part.NEW]\n", line(10, "P", 2) + line(20, "NEW"), lane="", plans=PLAN
    )
    before = whole(part("P", (1, "10")) + "[part.NEW]\n", line(10, "P", 2), lane="", plans=PLAN)
    (verdict,) = judged("cost>2%", before, after)
    assert (verdict.outcome, verdict.fails) == ("cannot be decided", True)
    assert "price of NEW" in verdict.because[0]
    assert outcome("cost>2%", after, after) == "not met"


SOLE = """\
[part.S]
[[part.S.source]]
maker = "seller"
seller = "seller"
status = "approved"
"""


def test_a_new_sole_source_part_fails_and_one_that_only_moves_does_not() -> None:
    def with_sole(file: str, lines: str) -> Product:
        return whole(part("P", (1, "10")), lines, lane="", plans=PLAN, **{file: SOLE})

    none = whole(part("P", (1, "10")), line(10, "P", 2), lane="", plans=PLAN)
    one = with_sole("parts_a", line(10, "P", 2) + line(20, "S"))
    moved = with_sole("parts_z", line(20, "S") + line(10, "P", 2))
    assert judged("sole-source", none, one) == (Verdict("sole-source", "met", ("S",)),)
    assert judged("sole-source", one, moved) == (Verdict("sole-source", "not met"),)
    assert outcome("sole-source", one, none) == "not met"


def test_an_item_used_again_for_another_part() -> None:
    parts = part("P", (1, "10")) + part("Q", (1, "10"))
    before, after = (whole(parts, line(10, number), lane="", plans=PLAN) for number in ("P", "Q"))
    assert judged("item-reused", before, after)[0].because == ("TOP item 10",)
    assert outcome("item-reused", before, before) == "not met"


def test_idle_stock_in_money() -> None:
    stock = '[[stock]]\npart = "P"\nplace = "works"\nqty = 50\ncounted = 2026-11-20\nvalue = "4 EUR"\n'
    parts = part("P", (1, "10")) + part("Q", (1, "10"))
    before, after = (whole(parts, line(10, n), lane="", plans=PLAN, counts=stock) for n in ("P", "Q"))
    assert (outcome("idle>199", before, after), outcome("idle>200", before, after)) == ("met", "not met")
