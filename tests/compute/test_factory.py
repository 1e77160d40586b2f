"""What the factory asks for a good unit, step by step and part by part, worked by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from builders import TODAY
from cost_builders import FIRMS, assembly, line, part, step, whole
from ferrule.compute.buy import Ask, Bought, buy
from ferrule.compute.demand import Run, demand_of, us
from ferrule.compute.factory import Contribution, factory_costs, prices_of, rounded_up
from ferrule.compute.rates import rates_of
from ferrule.compute.runs import PlanRuns
from ferrule.model.product import Product

F = Fraction
P = part("P", (1, "5"))
C = part("C", (1, "3"))
CONSIGNED = 'supply = "consigned"\n'


def run_of(qty: int) -> Run:
    return Run(name="r", sku="TOP", qty=F(qty), day=TODAY, whole=False)


def bought(made: Product, qty: int = 1000) -> Bought:
    runs = PlanRuns(plan="", title="", runs=(run_of(qty),))
    return buy(made, runs, Ask(today=TODAY), netted=False)


def factory(made: Product, qty: int = 1000) -> tuple[Contribution, ...]:
    prices = prices_of(bought(made, qty).rows, made.conventions)
    return factory_costs(made, rates_of(made), demand_of(made, run_of(qty)), prices, us(made))


def amounts(made: Product, qty: int = 1000) -> dict[tuple[str, str], Fraction | None]:
    return {(each.element, each.name): each.amount for each in factory(made, qty)}


def total(made: Product, qty: int = 1000) -> Fraction:
    return sum((each.amount or F(0) for each in factory(made, qty)), F(0))


def only(made: Product, qty: int = 1000) -> Contribution:
    (found,) = factory(made, qty)
    return found


def test_yields_divide_and_compound() -> None:
    # 10, 5 and 1 at .98, .97 and .99: 10 + 5 x .98 + 1 x .98 x .97 = 15.8506 a start, .941094 good: 16.84, not 16.00.
    made = whole("", "", step("a", "10", "98 %"), step("b", "5", "97 %"), step("c", "1", "99 %"))
    good = F("0.941094")
    assert list(amounts(made).values()) == [10 / good, F("4.9") / good, F("0.9506") / good]
    assert round(total(made), 2) == F("16.84")


@pytest.mark.parametrize(
    ("more", "paid"),
    [
        # 100 enter, 20 fail, 10 are reworked and 8 of them pass: 88 good. 100 steps, 10 reworks, 10 steps again.
        ("", 100 * 4 + 10 * 2 + 10 * 4),
        (", retest_cost = 1", 100 * 4 + 10 * 2 + 10 * 1),
        (", retest_cost = 0", 100 * 4 + 10 * 2),
    ],
)
def test_rework_pays_the_rework_and_the_retest(more: str, paid: int) -> None:
    rework = f', rework = {{ share = "50 %", cost = 2, yield = "80 %"{more} }}'
    assert only(whole("", "", step("s", "4", "80 %", rework))).amount == F(paid, 88)


@pytest.mark.parametrize(
    ("more", "again"),
    [
        ("", "rework 2 EUR each + the step again 4 EUR each"),
        (", retest_cost = 1", "rework 2 EUR each + retest 1 EUR each"),
        (', per = "good"', "rework 2 EUR each"),
    ],
)
def test_the_working_of_a_step_has_its_units(more: str, again: str) -> None:
    """88 of 100 are good: 100 / 88 = 1.136364 enter and 10 / 88 = 0.113636 are reworked for each good one."""
    paid = "1 unit passing" if "good" in more else "1.136364 units entering"
    inside = "" if "good" in more else more
    after = more if "good" in more else ""
    text = f', rework = {{ share = "50 %", cost = 2, yield = "80 %"{inside} }}{after}'
    words = f"{paid} x 4 EUR each + 0.113636 units reworked x ({again})"
    assert only(whole("", "", step("s", "4", "80 %", text))).words == words


def test_the_working_of_a_part_has_its_units() -> None:
    """A third of a metre at .30 a metre, 10 % of it lost, 6.00 an order of 333.33 m for 1,000 units."""
    charge = 'charge = [{ name = "c", amount = 6, per = "order" }]\n'
    rope = part("R", (1, "0.3"), more='unit = "m"\nattrition = "10 %"\n', source=charge)
    found = factory(whole(rope, line(1, "R", "1", "per = 3\n")))
    assert [(each.words, each.amount) for each in found] == [
        ("0.333333 m x 0.3 EUR per m", F("0.1")),
        ("0.033333 m lost x 0.3 EUR per m", F("0.01")),
        ("0.333333 m x 0.018 EUR per m, charges of the order", F("0.006")),
    ]


def test_rework_of_a_step_paid_by_the_good_unit() -> None:
    # 88 leave and are paid, the 10 reworked cost 2 each; the step itself is not paid for them again.
    rework = ', per = "good", rework = { share = "50 %", cost = 2, yield = "80 %" }'
    assert only(whole("", "", step("s", "4", "80 %", rework))).amount == F(88 * 4 + 10 * 2, 88)


def test_rework_at_no_stated_cost_is_unknown() -> None:
    rework = ', rework = { share = "50 %", yield = "80 %" }'
    found = only(whole("", "", step("s", "4", "80 %", rework)))
    assert (found.amount, found.weak) == (None, ("missing",))
    never = whole("", "", step("s", "4", "100 %", rework))
    assert only(never).amount == 4


@pytest.mark.parametrize(("per", "paid"), [("entering", 2), ("test", 2), ("good", 1)])
def test_what_a_cost_falls_on(per: str, paid: int) -> None:
    # Half the units that enter the second step leave it: 2 enter for each good one.
    made = whole("", "", step("a"), step("b", "3", "50 %", f', per = "{per}"'))
    assert amounts(made)["labour", "TOP, b"] == 3 * paid


def test_minutes_at_an_hourly_rate() -> None:
    # 4.5 minutes at 18 USD an hour are 1.35 USD, at 1.20 USD a euro 1.125 EUR.
    timed = '{ name = "a", minutes = 4.5, hour_rate = "18 USD", yield = "100 %" }'
    made = whole("", "", timed, firms=FIRMS + '[[rate]]\nrate = "1 EUR = 1.20 USD"\ndate = 2026-11-20\n')
    assert only(made).amount == F("1.125")
    assert only(whole("", "", timed)).amount is None


TIERS = "tier = [{ from = 100, each = 2 }, { from = 1000, each = 1 }]"


@pytest.mark.parametrize(("qty", "each"), [(99, None), (100, 2), (999, 2), (1000, 1)])
def test_tiers_go_by_units_built(qty: int, each: int | None) -> None:
    made = whole("", "", f'{{ name = "a", {TIERS}, yield = "100 %" }}')
    assert only(made, qty).amount == each


def test_a_tier_not_reached_says_where_tiers_start() -> None:
    found = only(whole("", "", f'{{ name = "a", {TIERS}, yield = "100 %" }}'), 99)
    assert found.words == "1 unit entering, no price for 99 built, tiers start at 100 built"


def test_tiers_of_an_assembly_inside_go_by_what_is_made_of_it() -> None:
    # 400 good TOP at 80 % start 500 and take two SUB each: 1,000 SUB are built, at 1.00; 2.5 for each good TOP.
    sub = assembly("SUB", "", f'{{ name = "a", {TIERS}, yield = "100 %" }}')
    made = whole("", line(1, "SUB", 2), step("s", good="80 %"), assemblies_sub=sub)
    assert amounts(made, 400)["labour", "SUB, a"] == F(2, 1) / F("0.8")
    assert amounts(made, 399)["labour", "SUB, a"] == 2 * F(2, 1) / F("0.8")


def test_each_levels_yield_multiplies_all_below() -> None:
    # Two SUB at 50 % in a TOP at 80 %: 5 SUB start for each good TOP; each has two P of 5.00 and a step of 3.00.
    sub = assembly("SUB", line(1, "P", 2), step("a", "3", "50 %"))
    made = whole(P, line(1, "SUB", 2), step("s", "1", "80 %"), assemblies_sub=sub)
    assert amounts(made) == {
        ("material, mechanical", "P"): 5 * 2 * 5,
        ("labour", "SUB, a"): 5 * 3,
        ("labour", "TOP, s"): F(1) / F("0.8"),
    }


def test_a_part_counts_for_what_enters_its_step() -> None:
    # Half fall out at the first step, a fifth at the second: P, fitted at the second, is not lost with the half.
    made = whole(P, line(1, "P", 1, 'step = "b"\n'), step("a", good="50 %"), step("b", good="80 %"))
    assert amounts(made)["material, mechanical", "P"] == 5 / F("0.8")
    first = whole(P, line(1, "P"), step("a", good="50 %"), step("b", good="80 %"))
    assert amounts(first)["material, mechanical", "P"] == 5 / F("0.4")


def markups(made: Product) -> dict[str, Fraction | None]:
    return {each.name: each.amount for each in factory(made) if each.element == "mark-up"}


@pytest.mark.parametrize(
    ("base", "marked"),
    [
        (["turnkey material"], 5 + 2),
        (["consigned material"], 3),
        (["labour"], 10 + 40),
        (["test"], 20),
        (["labour", "test"], 10 + 20 + 40),
        (["packaging"], 2),
        (["turnkey material", "packaging"], 5 + 2),
        (["all"], 5 + 2 + 3 + 10 + 20 + 40),
    ],
)
def test_a_markup_falls_on_its_declared_base(base: list[str], marked: int) -> None:
    # Turnkey P 5 and label L 2, consigned C 3, labour 10, test 20, packing work 40; what is in two bases counts once.
    steps = step("a", "10"), step("t", "20", more=', kind = "test"'), step("p", "40", more=', kind = "pack"')
    lines = line(1, "P") + line(2, "L") + line(3, "C", more=CONSIGNED)
    written = ", ".join(f'"{each}"' for each in base)
    works = f'markup = [{{ name = "m", rate = "10 %", base = [{written}] }}]\n'
    made = whole(P + C + part("L", (1, "2"), kind="label"), lines, *steps, works=works)
    assert markups(made) == {"TOP, m": F(marked, 10)}


def test_an_assemblys_own_markup_stands_before_the_firms() -> None:
    # SUB: 50 % of its P only. TOP: the firm's 10 % of its own Q; what SUB costs is in no base of TOP.
    sub = assembly("SUB", line(1, "P"), more='markup = [{ name = "own", rate = "50 %", base = ["all"] }]\n')
    works = 'markup = [{ name = "firm", rate = "10 %", base = ["all"] }]\n'
    made = whole(P + part("Q", (1, "7")), line(1, "SUB") + line(2, "Q"), works=works, assemblies_sub=sub)
    assert markups(made) == {"SUB, own": F("2.5"), "TOP, firm": F("0.7")}


def test_losses_are_marked_up_with_their_material() -> None:
    # 1,000 need 1,100: the 0.50 lost a unit is turnkey material as well.
    works = 'markup = [{ name = "m", rate = "10 %", base = ["turnkey material"] }]\n'
    made = whole(P, line(1, "P", more='attrition = "10 %"\n'), works=works)
    assert amounts(made)["losses in placing", "P"] == F("0.5")
    assert markups(made) == {"TOP, m": F("0.55")}


def test_the_run_says_who_builds_the_sku_and_an_assembly_who_builds_it() -> None:
    """The run goes to "other": its 20 % and its fee hold for TOP, those of "works" (50 %, 90) for SUB, which names it.

    TOP: 10 of work, 2 of mark-up; SUB: 4 of work, 2 of mark-up. One consigned line each, 30 and 90 over 10 units.
    """
    asked = '[firm.other]\nname = "Other"\n[firm.other.factory]\nhandling = "30 EUR"\n'
    asked += 'markup = [{ name = "m", rate = "20 %", base = ["labour"] }]\n'
    made = whole(
        C,
        line(1, "C", more=CONSIGNED) + line(2, "SUB"),
        step("a", "10"),
        works='handling = "90 EUR"\nmarkup = [{ name = "m", rate = "50 %", base = ["labour"] }]\n',
        firms=FIRMS + asked,
        assemblies_sub=assembly("SUB", line(1, "C", more=CONSIGNED), step("b", "4")),
    )
    run = replace(run_of(10), factory="other")
    prices = prices_of(bought(made, 10).rows, made.conventions)
    found = factory_costs(made, rates_of(made), demand_of(made, run), prices, us(made))
    assert {
        (each.element, each.name): each.amount for each in found if each.element[:6] in {"mark-u", "handli"}
    } == {
        ("mark-up", "TOP, m"): 2,
        ("mark-up", "SUB, m"): 2,
        ("handling of consigned parts", "other"): 3,
        ("handling of consigned parts", "works"): 9,
    }


def test_handling_is_asked_once_a_run_for_each_consigned_line() -> None:
    # Two lines of C and one of P: 2 x 30 over the run, however many pieces.
    lines = line(1, "C", 4, CONSIGNED) + line(2, "C", 1, CONSIGNED) + line(3, "P")
    made = whole(P + C, lines, works="handling = 30\n")
    assert amounts(made, 1000)["handling of consigned parts", "works"] == F(60, 1000)
    assert amounts(made, 10)["handling of consigned parts", "works"] == F(60, 10)
    turnkey = whole(P, line(1, "P"), works="handling = 30\n")
    assert [each.element for each in factory(turnkey)] == ["material, mechanical"]


QUOTED = (
    'price = {{ tier = [{{ from = 500, each = 9 }}, {{ from = 2000, each = 8 }}], currency = "EUR"{} }}\n'
)


@pytest.mark.parametrize(("qty", "each"), [(499, None), (500, 9), (1999, 9), (2000, 8)])
def test_a_quoted_price_stands_for_all_inside(qty: int, each: int | None) -> None:
    # Neither TOP's own step and mark-up nor anything of SUB is asked beside it.
    works = 'markup = [{ name = "firm", rate = "10 %", base = ["all"] }]\n'
    sub = assembly("SUB", line(1, "P"), step("a", "3", "50 %"))
    made = whole(P, line(1, "SUB"), step("s", "1"), top=QUOTED.format(""), works=works, assemblies_sub=sub)
    assert amounts(made, qty) == {("quoted factory price", "TOP"): each}


def test_what_a_quoted_price_leaves_out_is_bought_apart() -> None:
    # C sits in SUB, whose half is lost: two C of 3.00 for each good unit.
    sub = assembly("SUB", line(1, "P") + line(2, "C", more=CONSIGNED), step("a", "3", "50 %"))
    made = whole(P + C, line(1, "SUB"), top=QUOTED.format(', excludes = ["C"]'), assemblies_sub=sub)
    assert amounts(made) == {("consigned parts", "C"): 6, ("quoted factory price", "TOP"): 9}


def test_a_quoted_assembly_inside_is_paid_for_each_that_is_lost_above() -> None:
    # Two SUB at 9.00 in a TOP at 80 %; 2,500 are built for 1,000 TOP, so the lower tier holds: 2.5 x 8.
    sub = assembly("SUB", line(1, "P"), more=QUOTED.format(""))
    made = whole(P, line(1, "SUB", 2), step("s", good="80 %"), assemblies_sub=sub)
    assert amounts(made)["quoted factory price", "SUB"] == 20


@pytest.mark.parametrize(
    ("dates", "weak"),
    [
        (", quoted = 2026-11-20, valid_until = 2026-11-25", ()),
        (", quoted = 2026-11-20, valid_until = 2026-11-24", ("expired",)),
        (", quoted = 2026-11-20", ()),
        (", quoted = 2026-01-20", ("old",)),
        ("", ("undated",)),
    ],
)
def test_a_quoted_price_ages_as_a_sellers_does(dates: str, weak: tuple[str, ...]) -> None:
    assert only(whole("", "", top=QUOTED.format(dates))).weak == weak


def test_a_price_with_attrition_and_set_up_loss() -> None:
    # 4,000 placed at 2 % from reels of 2,000 that lose 25 each: 4,080 placed, 3 mounts, 4,155 at hand.
    reel = 'pack = [{ form = "reel", size = 2000, price = [{ from = 1, each = 0.1 }] }]\n'
    source = f'[[part.R.source]]\nseller = "seller"\nstatus = "approved"\ncurrency = "EUR"\nmoq = 1\n{reel}'
    placed = '[part.R]\nclass = "electrical"\nplacement = "machine"\nattrition = "2 %"\nsetup_loss = 25\n'
    made = whole(placed + source, line(1, "R", 4))
    (row,) = bought(made).rows
    priced = prices_of([row], made.conventions)["R", "works"]
    assert row.gross.total == 4155
    assert (priced.ratio, priced.setup) == (F(4080, 4000), F(75, 4000))
    assert amounts(made)["losses in placing", "R"] == F(155, 1000) * F("0.1")


@pytest.mark.parametrize(
    ("good", "attrition", "rounded"),
    [
        # 1,000 / .97 = 1,030.93 P: 1,031 are needed. With 10 % attrition 1,134.02: 1,135. At 80 %, 1,250 as it is.
        ("97 %", "0 %", 1031 - F(1000) / F("0.97")),
        ("97 %", "10 %", 1135 - F(1100) / F("0.97")),
        ("80 %", "0 %", F(0)),
    ],
)
def test_what_rounding_up_adds_is_no_loss(good: str, attrition: str, rounded: Fraction) -> None:
    made = whole(P, line(1, "P", more=f'attrition = "{attrition}"\n'), step("s", good=good))
    (row,) = bought(made).rows
    assert rounded_up(row, made.conventions) == rounded
    lost = F(attrition[:-2]) / 100
    assert prices_of([row], made.conventions)["P", "works"].ratio == 1 + lost


def test_charges_of_an_order_are_spread_over_the_run() -> None:
    source = 'charge = [{ name = "small order", amount = 50, per = "order" }]\n'
    made = whole(part("P", (1, "5"), source=source), line(1, "P"))
    assert amounts(made)["order charges", "P"] == F(50, 1000)


def test_an_order_split_between_sources_has_a_mean_price() -> None:
    # 700 at 1.00 and 300 at 2.00: 1.30.
    other = (
        '[[part.P.source]]\nseller = "we"\nstatus = "approved"\ncurrency = "EUR"\nmoq = 1\nshare = "30 %"\n'
    )
    split = part("P", (1, "1"), source='share = "70 %"\n') + other + "price = [{ from = 1, each = 2 }]\n"
    assert only(whole(split, line(1, "P"))).amount == F("1.3")


def test_what_is_supplied_free_costs_nothing_and_what_has_no_price_is_unknown() -> None:
    free = whole(P, line(1, "P", more='supply = "free-issue"\n'))
    assert only(free).amount == 0
    missing = only(whole(part("Q"), line(1, "Q")))
    assert (missing.amount, missing.weak, missing.words) == (None, ("missing",), "no price is known")


@pytest.mark.property
@given(
    st.lists(st.tuples(st.integers(0, 50), st.integers(1, 100)), min_size=1, max_size=5), st.integers(1, 3000)
)
def test_steps_cost_what_entered_them(steps: list[tuple[int, int]], qty: int) -> None:
    # Backwards: to get one good unit out of a step, 1 / yield have to enter it and be paid for there.
    wanted, paid = F(1), F(0)
    for price, good in reversed(steps):
        wanted /= F(good, 100)
        paid += wanted * price
    written = [step(f"s{number}", str(price), f"{good} %") for number, (price, good) in enumerate(steps)]
    assert total(whole("", "", *written), qty) == paid
