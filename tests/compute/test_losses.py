"""Yields, demand and gross need: the trade's own small numbers, published ones, and laws."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import TODAY, product
from ferrule.compute.demand import Demand, Run, Use, demand_of
from ferrule.compute.gross import Gross, Pack, gross_of, pieces_per_length
from ferrule.compute.yields import Passage, passage, starts_for
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.records.assembly import Rework, Step
from ferrule.model.records.product import Conventions

F = Fraction


def step(first: str | None, *, share: str = "", retest: str | None = None) -> Step:
    rework = Rework(share=Percent.of(share), yield_=Percent.of(retest) if retest else None) if share else None
    return Step(name="s", yield_=Percent.of(first) if first else None, rework=rework)


def passed(*yields: str) -> Passage:
    found = passage([step(each) for each in yields])
    assert found is not None
    return found


# Yields ----------------------------------------------------------------------------------------------------


def check_rolled_yield() -> None:
    # .98 x .97 x .99 = .941094; 1,000 / .941094 = 1,062.59: 1,063 starts.
    flow = passed("98 %", "97 %", "99 %")
    assert flow.yield_ == F("0.941094")
    assert starts_for(F(1000), flow) == 1063


def check_cost_compounds() -> None:
    # Steps of 10, 5 and 1: (10 + 5 x .98 + 1 x .98 x .97) / .941094 = 15.8506 / .941094 = 16.8427..., not 16.
    flow = passed("98 %", "97 %", "99 %")
    cost = sum((F(each) * flow.entering(i) for i, each in enumerate((10, 5, 1))), F(0))
    assert cost == F("15.8506") / F("0.941094")
    assert round(cost, 2) == F("16.84")


def test_rolled_yield() -> None:
    check_rolled_yield()


def test_cost_compounds() -> None:
    check_cost_compounds()


def test_rework_hides_in_the_final_yield() -> None:
    # p + (1 - p) w q = .9 + .1 x .75 x .8 = .96; the first pass stays .9; .075 of a unit is reworked.
    flow = passage([step("90 %", share="75 %", retest="80 %")])
    assert flow is not None
    assert (flow.yield_, flow.first_time) == (F("0.96"), F("0.9"))
    assert flow.steps[0].reworked == F("0.075") / F("0.96")


def test_an_unknown_yield_is_named_and_loses_nothing() -> None:
    flow = passage([step("90 %"), step(None), step("90 %", share="50 %")])
    assert flow is not None
    assert flow.unknown == (1, 2)
    assert passage([step("0 %")]) is None


def test_published_yields() -> None:
    # Minitab support, "throughput yield (YTP) and rolled throughput yield (YRT)": .95, .84, .88 give .70224;
    # 1,425 starts for 1,000 good and 997 for 700 (recomputed only). iSixSigma, "Rolled Throughput Yield":
    # .97 and .94 give .9118.
    assert passed("95 %", "84 %", "88 %").yield_ == F("0.70224")
    assert starts_for(F(1000), passed("95 %", "84 %", "88 %")) == 1425
    assert starts_for(F(700), passed("95 %", "84 %", "88 %")) == 997
    assert passed("97 %", "94 %").yield_ == F("0.9118")


@given(st.lists(st.integers(1, 100), min_size=1, max_size=6))
def test_units_pass_from_step_to_step(yields: list[int]) -> None:
    flow = passed(*(f"{each} %" for each in yields))
    for before, after in zip(flow.steps, flow.steps[1:], strict=False):
        assert before.leaving == after.entering
    assert flow.steps[-1].leaving == 1
    assert flow.starts == 1 / F(math.prod(yields), 100 ** len(yields))


# Demand ----------------------------------------------------------------------------------------------------

PARTS = """\
[part.P]
class = "electrical"
placement = "machine"
attrition = "2 %"
setup_loss = 25
[part.Q]
[part.FW]
class = "firmware"
[part.R]
unit = "m"
"""
TOP = """\
[assembly]
id = "TOP"
factory = "works"
steps = [{ name = "place", yield = "80 %" }, { name = "close", yield = "50 %" }]
[[line]]
item = 1
part = "P"
qty = 2
[[line]]
item = 2
part = "Q"
qty = 1
step = "close"
[[line]]
item = 3
part = "SUB"
qty = 3
step = "close"
[[line]]
item = 4
part = "FW"
qty = 1
"""
SUB = """\
[assembly]
id = "SUB"
factory = "works"
steps = [{ name = "make", yield = "90 %" }]
[[line]]
item = 1
part = "P"
qty = 1
"""
FIRMS = '[firm.works]\nname = "Works"\nroles = ["factory"]\n[firm.we]\nname = "We"\nroles = ["us"]\n'


def made_of(top: str = TOP, sub: str = SUB, parts: str = PARTS) -> Product:
    files = {"parts/p.toml": parts, "assemblies/t.toml": top, "firms/f.toml": FIRMS}
    return product(files | ({"assemblies/s.toml": sub} if sub else {}))


def asked(p: Product, qty: int = 100, **named: object) -> Demand:
    return demand_of(p, Run(name="b", sku="TOP", qty=F(qty), day=TODAY, **named))  # type: ignore[arg-type]


def total(demand: Demand, part: str) -> Fraction:
    return sum((use.quantity for use in demand.uses if use.part == part), F(0))


def check_starts() -> None:
    # 100 good / (.8 x .5) = 250 starts; 200 enter "close". SUB: 600 / .9 = 666.67, so 667 start.
    demand = asked(made_of())
    assert total(demand, "Q") == 200
    assert total(demand, "P") == 2 * 250 + 667
    assert {made.assembly: made.starts for made in demand.made} == {"TOP": 250, "SUB": 667}
    assert total(demand, "FW") == 0  # content, not goods


def test_a_part_is_used_by_the_units_that_enter_its_step() -> None:
    check_starts()


def test_a_cost_is_asked_for_exact_shares() -> None:
    demand = asked(made_of(), whole=False)
    assert total(demand, "P") == 500 + F(600) / F("0.9")
    assert total(asked(made_of(), qty=300, whole=False), "P") == 3 * total(demand, "P")


def test_serials_split_a_line() -> None:
    top = TOP + '[[line]]\nitem = 5\npart = "R"\nrate = "1 m"\neffective = { to_serial = 600 }\n'
    none = top.replace(
        '{ name = "place", yield = "80 %" }, { name = "close", yield = "50 %" }', '{ name = "close" }'
    )
    demand = asked(made_of(none), qty=1200, serials=(1, 1200))
    assert total(demand, "R") == 600
    assert total(asked(made_of(none), qty=1200, serials=(601, 1800)), "R") == 0


def test_a_phantom_counts_as_its_parent_and_kitted_parts_lose_nothing() -> None:
    top = (
        TOP.replace('part = "SUB"', 'part = "KIT"')
        + '[[line]]\nitem = 9\npart = "P"\nqty = 7\nfitted = false\nkitted = true\n'
    )
    kit = '[assembly]\nid = "KIT"\nphantom = true\n[[line]]\nitem = 1\npart = "Q"\nqty = 5\n'
    demand = asked(made_of(top, kit))
    assert total(demand, "Q") == 200 + 200 * 3 * 5
    assert {made.assembly for made in demand.made} == {"TOP"}
    kitted = [use for use in demand.uses if use.each == 7]
    assert [(use.quantity, use.attrition, use.machine) for use in kitted] == [(F(250 * 7), F(0), False)]


def test_a_quoted_price_leaves_only_what_it_excludes() -> None:
    top = TOP.replace(
        'factory = "works"\n',
        'factory = "works"\nprice = { tier = [{ from = 1, each = 9 }], excludes = ["Q"] }\n',
    )
    demand = asked(made_of(top))
    assert {use.part for use in demand.uses} == {"Q"}
    assert [made.covered_by for made in demand.made] == [None, "TOP"]


def test_who_buys_follows_the_mode_of_supply() -> None:
    top = TOP.replace('part = "Q"\nqty = 1\n', 'part = "Q"\nqty = 1\nsupply = "consigned"\n')
    buyers = {use.part: use.buyer for use in asked(made_of(top)).uses}
    assert buyers == {"P": "works", "Q": "we"}
    free = top.replace('"consigned"', '"free-issue"')
    assert {use.part: use.buyer for use in asked(made_of(free)).uses}["Q"] is None


def test_an_unknown_quantity_is_named() -> None:
    demand = asked(made_of(TOP.replace('part = "Q"\nqty = 1\n', 'part = "Q"\n')))
    assert demand.unknown == ("quantity of Q in TOP/2",)


def test_a_ring_is_refused() -> None:
    ring = SUB + '[[line]]\nitem = 2\npart = "TOP"\nqty = 1\n'
    with pytest.raises(ValueError, match="ring"):
        asked(made_of(TOP, ring))


# Gross -----------------------------------------------------------------------------------------------------

ADD_ON, OF_INPUT = Conventions(), Conventions(attrition="of-input")


def use(qty: int, *, run: str = "b", loss: int | None = 25, machine: bool = True, **named: object) -> Use:
    values: dict[str, object] = {"attrition": F("0.02"), "floor": F(0)} | named
    return Use(
        part="P",
        run=run,
        assembly="A",
        parent="A",
        index=0,
        units=F(qty),
        each=F(1),
        machine=machine,
        setup_loss=None if loss is None else F(loss) if machine else F(0),
        **values,  # type: ignore[arg-type]
    )


def gross(
    *uses: Use, size: int | None = 2000, conventions: Conventions = ADD_ON, mounted: bool = True
) -> Gross:
    return gross_of(uses, "each", conventions, Pack(size=None if size is None else F(size), mounted=mounted))


def check_attrition_and_setup() -> None:
    # 4,000 x 1.02 = 4,080; reels of 2,000 give 1,975 each: 3 mounts, 75 lost: 4,155.
    found = gross(use(4000))
    assert (found.attrition, found.mounts, found.setup, found.total) == (F(80), 3, F(75), F(4155))


def test_attrition_and_setup() -> None:
    check_attrition_and_setup()


def test_the_two_conventions_differ() -> None:
    # 4,000 / .98 = 4,081.6: 4,082 without set-up. At 30 % the two give 1.30 D and 1.43 D.
    assert gross(use(4000, loss=0), conventions=OF_INPUT).total == 4082
    high = use(1000, loss=0, attrition=F("0.30"))
    assert gross(high).total == 1300
    assert gross(high, conventions=OF_INPUT).total == 1429


def test_percent_with_a_floor() -> None:
    # 10 % but at least 10, common practice: of 50 pieces 10 are lost, of 500 fifty; "sum" adds both.
    small, large = (
        use(50, loss=0, attrition=F("0.1"), floor=F(10)),
        use(500, loss=0, attrition=F("0.1"), floor=F(10)),
    )
    assert (gross(small).total, gross(large).total) == (F(60), F(550))
    both = Conventions(attrition_floor="sum")
    assert (gross(small, conventions=both).total, gross(large, conventions=both).total) == (F(65), F(560))


def test_trays_and_hands_lose_no_setup_and_a_strip_does() -> None:
    assert gross(use(4000), mounted=False).total == 4080
    assert gross(use(4000, machine=False)).total == 4080
    assert gross(use(100), size=None).total == 102 + 25  # a strip: mounted once, whatever its length


def test_two_runs_mount_at_least_twice() -> None:
    found = gross(use(500), use(500, run="c"))
    assert (found.mounts, found.total) == (2, F(1020 + 50))


def test_a_reel_that_is_all_setup_is_refused() -> None:
    with pytest.raises(ValueError, match="all lost at set-up"):
        gross(use(10), size=25)


def test_unknown_losses_are_named() -> None:
    assert gross(use(10, attrition=None), use(10, loss=None)).unknown == ("attrition", "set-up loss")


def check_cut_lengths() -> None:
    # 30 m rolls give 7 pieces of 4.2 m: 100 pieces need 15 rolls, where 420 / 30 says 14.
    assert pieces_per_length(F(30), F("4.2"), F(0)) == 7
    cut = use(100, machine=False, attrition=F(0), cut=F("4.2"))
    found = gross_of([cut], "m", ADD_ON, Pack(size=F(30)))
    assert math.ceil(found.total / 30) == 15
    assert found.total == 14 * 30 + 2 * F("4.2")


def test_cut_lengths() -> None:
    check_cut_lengths()
    assert pieces_per_length(F(30), F("4.2"), F("0.09")) == 6  # seven kerfs of 90 mm no longer fit


def test_masses_and_lengths_are_not_rounded() -> None:
    found = gross_of([use(3, machine=False, attrition=F("0.01"))], "g", ADD_ON, Pack())
    assert found.total == F("3.03")


@given(st.integers(0, 9000), st.integers(0, 2000), st.integers(0, 40), st.integers(0, 30))
def test_gross_grows_with_demand_and_attrition(qty: int, more: int, rate: int, up: int) -> None:
    low = gross(use(qty, attrition=F(rate, 100))).total
    assert gross(use(qty + more, attrition=F(rate, 100))).total >= low
    assert gross(use(qty, attrition=F(rate + up, 100))).total >= low


@given(st.lists(st.integers(1, 3000), min_size=1, max_size=5), st.integers(0, 20))
def test_pooled_need_never_exceeds_the_separate_ones(needs: list[int], rate: int) -> None:
    uses = [use(qty, run=str(i), attrition=F(rate, 100)) for i, qty in enumerate(needs)]
    assert gross(*uses).total <= sum(gross(each).total for each in uses)
