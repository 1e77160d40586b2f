"""Unit cost and cash along the quantities, and the cause of every step, by hand."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from cost_builders import SEA, ask, line, part, step, whole
from ferrule.compute.curve import Cause, Point, cost_curve
from ferrule.model.product import Product

F = Fraction
#: P: 1.00, from 100 on .40. Q: whole bags of 30 at .10 each. The step: 2.00, from 100 built 1.00.
PARTS = part("P", (1, "1"), (100, "0.4")) + part(
    "Q", (1, "0.1"), source='full_packs_only = true\npack = [{ form = "bag", size = 30 }]\n'
)
STEP = '{ name = "s", tier = [{ from = 1, each = 2 }, { from = 100, each = 1 }], yield = "100 %" }'


def points(made: Product, quantities: Iterable[int], **named: str) -> dict[int, Point]:
    return {point.qty: point for point in cost_curve(made, ask(1, **named), quantities)}


def curve() -> dict[int, Point]:
    return points(whole(PARTS, line(1, "P") + line(2, "Q"), STEP), range(10, 131, 10))


def test_every_step_has_its_cause() -> None:
    # P: 40 of them cost as much as 100 at .40, so 50 buy 100. Q: a new bag at 40, 70, 100 and 130.
    assert {
        qty: [cause.words for cause in point.causes] for qty, point in curve().items() if point.causes
    } == {
        40: ["Q: order of 30 to 60"],
        50: ["P at 100: 1 to 0.4 EUR each"],
        70: ["Q: order of 60 to 90"],
        100: ["TOP, s: 1 EUR each from 100 built", "Q: order of 90 to 120"],
        130: ["Q: order of 120 to 150"],
    }


def test_a_cause_has_its_effect() -> None:
    found = curve()
    # 50 at .40 instead of 1.00 are .60 less a unit; the 100 bought cost 40, as the 40 before did.
    assert found[50].causes == (Cause("price", "P at 100: 1 to 0.4 EUR each", F("-0.6"), F(0)),)
    # A bag more is 3.00 of cash and nothing in the unit.
    assert found[40].causes == (Cause("packs", "Q: order of 30 to 60", F(0), F(3)),)
    # The step costs 1.00 less for each of 100; that weighs more than the bag, so it comes first.
    assert found[100].causes[0] == Cause("steps", "TOP, s: 1 EUR each from 100 built", F(-1), F(-100))


def test_unit_and_cash_at_each_quantity() -> None:
    found = curve()
    assert {qty: (found[qty].unit, found[qty].cash) for qty in (40, 50, 90, 100)} == {
        # P 1.00 + Q .10 + step 2.00; 40 P, 60 Q.
        40: (F("3.1"), F(40 + 6 + 80)),
        # P .40: 100 P for 50 units.
        50: (F("2.5"), F(40 + 6 + 100)),
        90: (F("2.5"), F(40 + 9 + 180)),
        100: (F("1.5"), F(40 + 12 + 100)),
    }
    assert not any(point.at_least for point in found.values())


def test_more_units_may_take_less_cash() -> None:
    # 90 take 229 and 100 take 152: whoever halves the interval to find what 200 will buy misses this.
    cash = [point.cash for point in curve().values()]
    assert cash != sorted(cash)
    assert curve()[90].cash > 200 > curve()[110].cash


CARTON = '[part.BOX]\nclass = "packaging"\npacking = { role = "master carton", units = 10, outer = ["1 m", "1 m", "0.1 m"], gross = "10 kg", per_layer = 1, layers = 2 }\nsupply = "free-issue"\n'


def by_sea(lane: str) -> Product:
    return whole(CARTON, line(1, "BOX", 1, "per = 10\n"), step("s", "1"), lane=lane)


def test_a_pallet_more_raises_the_unit() -> None:
    # 10 in a carton, 2 cartons on a pallet, 12 a pallet: 20 units carry .60, 30 units on two pallets .80.
    made = by_sea(
        SEA.replace(
            "charge = [", 'charge = [{ name = "drayage", amount = 12, per = "pallet", covers = "delivery" }, '
        )
    )
    found = points(made, range(10, 51, 10), lane="sea")
    assert found[30].unit - found[20].unit == F("0.2")
    causes = {qty: point.causes for qty, point in found.items() if point.causes}
    assert causes == {
        30: (Cause("way", "pallet 2", F(12, 30), F(12)),),
        50: (Cause("way", "pallet 3", F(12, 50), F(12)),),
    }


def test_a_container_more() -> None:
    # A carton takes .1 m3 and a container .3: the fourth carton needs another one, for 90.
    made = by_sea(SEA.replace("per_m3 = 100", "per_container = 90\ncontainer_m3 = 0.3"))
    found = points(made, range(10, 61, 10), lane="sea")
    assert {qty: [cause.words for cause in point.causes] for qty, point in found.items() if point.causes} == {
        40: ["container 2"]
    }
    assert found[40].causes[0].unit == F(90, 40)


def test_pallets_nobody_charges_for_cause_nothing() -> None:
    found = points(by_sea(SEA), range(10, 51, 10), lane="sea")
    assert not any(point.causes for point in found.values())


def test_below_the_first_tier_nothing_changes() -> None:
    # Nothing is known at 10, 20 and 30; at 40 the quoted price begins.
    quoted = 'price = { tier = [{ from = 40, each = 9 }], currency = "EUR" }\n'
    found = points(whole("", "", top=quoted), range(10, 51, 10))
    assert [point.at_least for point in found.values()] == [True, True, True, False, False]
    assert {qty: [cause.words for cause in point.causes] for qty, point in found.items() if point.causes} == {
        40: ["TOP: 9 EUR each from 40 built"]
    }


def test_a_quantity_buys_for_itself() -> None:
    # 500 P in stock do not make the unit cheaper.
    stock = '[[stock]]\npart = "P"\nplace = "works"\nqty = 500\ncounted = 2026-11-20\n'
    plain = whole(PARTS, line(1, "P"), STEP)
    stocked = whole(PARTS, line(1, "P"), STEP, counts_s=stock)
    assert points(stocked, (10, 50)) == points(plain, (10, 50))
