"""What a run calls for where structures get awkward: two levels, rings raised, cuts, cartons, who makes what."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_losses import FIRMS, asked, total

from builders import TODAY, product
from ferrule.compute.demand import Demand, Run, demand_of
from ferrule.model.product import Product

F = Fraction
PARTS = """\
[part.P]
[part.Q]
[part.W]
unit = "m"
kerf = "10 mm"
[part.FW]
class = "firmware"
[part.DOC]
class = "document"
"""


def line(item: int, part: str, **more: str) -> str:
    extra = "".join(f"{key} = {value}\n" for key, value in ({"qty": "1"} | more).items() if value)
    return f'[[line]]\nitem = {item}\npart = "{part}"\n{extra}'


def made_of(**assemblies: str) -> Product:
    """Return a product of assemblies: the text of each is what follows its id."""
    files = {
        "parts/p.toml": PARTS,
        "firms/f.toml": FIRMS + '[firm.south]\nname = "South"\nroles = ["factory"]\n',
    }
    for name, text in assemblies.items():
        files[f"assemblies/{name}.toml"] = f'[assembly]\nid = "{name}"\n{text}'
    return product(files)


def starts(demand: Demand) -> dict[str, Fraction]:
    return {made.assembly: made.starts for made in demand.made}


def totals(demand: Demand, *parts: str) -> list[Fraction]:
    return [total(demand, part) for part in parts]


# Quantities ------------------------------------------------------------------------------------------------


def test_a_part_on_two_levels_is_counted_on_both() -> None:
    # Three straight, and two in each of the four SUB: 11 a unit.
    p = made_of(TOP=line(1, "P", qty="3") + line(2, "SUB", qty="4"), SUB=line(1, "P", qty="2"))
    assert total(asked(p, qty=10), "P") == 110


def test_an_assembly_on_two_levels_starts_once_for_all() -> None:
    # CLAMP: one in TOP and one in BASE; yield 90 %. 10 + 10 = 20 good, 20 / .9 = 22.2: 23 start, not 12 + 12.
    p = made_of(
        TOP=line(1, "CLAMP") + line(2, "BASE"),
        BASE=line(1, "CLAMP"),
        CLAMP='steps = [{ name = "make", yield = "90 %" }]\n' + line(1, "P"),
    )
    demand = asked(p, qty=10)
    assert starts(demand)["CLAMP"] == 23
    assert total(demand, "P") == 23


def test_one_carton_for_many_stays_a_fraction() -> None:
    p = made_of(TOP=line(1, "P", per="24"))
    assert total(asked(p, qty=100), "P") == F(100, 24)


def test_cut_lengths_are_pieces_of_a_length() -> None:
    # Three pieces of 420 mm: 30 pieces, 12.6 m for ten units.
    p = made_of(TOP=line(1, "W", qty="3", cut='"420 mm"'))
    use = asked(p, qty=10).uses[0]
    assert (use.pieces, use.cut, use.quantity) == (F(30), F("0.42"), F("12.6"))


def test_a_rate_is_used_as_it_is() -> None:
    p = made_of(TOP=line(1, "W", qty="", rate='"35 cm"'))
    assert total(asked(p, qty=10), "W") == F("3.5")


def test_content_is_no_goods_and_its_quantity_is_not_missed() -> None:
    p = made_of(TOP=line(1, "P") + line(2, "FW", qty="") + line(3, "DOC", qty=""))
    demand = asked(p)
    assert ({use.part for use in demand.uses}, demand.unknown) == ({"P"}, ())


def test_alternates_of_a_line_add_nothing() -> None:
    p = made_of(TOP=line(1, "P", alternates='[{ part = "Q", approved = 2026-09-30 }]'))
    assert totals(asked(p), "P", "Q") == [100, 0]


def test_a_place_left_empty_takes_nothing() -> None:
    p = made_of(TOP=line(1, "P", fitted="false") + line(2, "Q", fitted="false", kitted="true"))
    assert totals(asked(p), "P", "Q") == [0, 100]


def test_an_assembly_left_out_of_a_quoted_price_is_made_from_its_lines_unless_somebody_sells_it() -> None:
    # The price of TOP leaves the board out: nobody sells it, so its two P a board are bought apart, and all that
    # the price covers is not. Where mirefen sells the board it is bought as it is.
    top = (
        'price = { tier = [{ from = 1, each = 9 }], excludes = ["BOARD"] }\n'
        + line(1, "BOARD")
        + line(2, "Q")
    )
    board = line(1, "P", qty="2")
    made = asked(made_of(TOP=top, BOARD=board))
    assert [(use.part, use.quantity, use.assembly) for use in made.uses] == [("P", F(200), "BOARD")]
    assert [(each.assembly, each.covered_by) for each in made.made] == [("TOP", None), ("BOARD", None)]
    sold = asked(
        made_of(TOP=top, BOARD='[[assembly.source]]\nseller = "mirefen"\nstatus = "approved"\n' + board)
    )
    assert [(use.part, use.quantity) for use in sold.uses] == [("BOARD", F(100))]


# Steps and phantoms ----------------------------------------------------------------------------------------


def test_lines_of_a_phantom_count_at_the_step_of_the_phantom() -> None:
    # 100 good / (.5 x .8) = 250 starts, 125 enter "close". KIT is fitted there, whatever its lines say.
    p = made_of(
        TOP='steps = [{ name = "place", yield = "50 %" }, { name = "close", yield = "80 %" }]\n'
        + line(1, "KIT", qty="2", step='"close"'),
        KIT="phantom = true\n" + line(1, "P", qty="3"),
    )
    use = asked(p).uses[0]
    assert (use.units, use.each, use.parent, use.assembly) == (F(250), F(3), "KIT", "TOP")


def test_phantoms_in_phantoms_multiply() -> None:
    p = made_of(
        TOP=line(1, "OUTER", qty="2"),
        OUTER="phantom = true\n" + line(1, "INNER", qty="3"),
        INNER="phantom = true\n" + line(1, "P", qty="5") + line(2, "SUB"),
        SUB=line(1, "Q"),
    )
    demand = asked(p, qty=10)
    assert totals(demand, "P", "Q") == [300, 60]
    assert set(starts(demand)) == {"TOP", "SUB"}


@pytest.mark.parametrize("phantom", ["", "phantom = true\n"])
def test_rings_are_refused(phantom: str) -> None:
    p = made_of(TOP=line(1, "SUB"), SUB=phantom + line(1, "LOW"), LOW=phantom + line(1, "SUB"))
    with pytest.raises(ValueError, match="ring"):
        asked(p)


# Effectivity -----------------------------------------------------------------------------------------------


def test_serials_split_between_an_old_and_a_new_part() -> None:
    # 1 to 600 take P, 601 on take Q: a run of 1 to 1,200 takes 600 of each, one of 501 to 700 takes 100.
    p = made_of(
        TOP=line(1, "P", effective="{ to_serial = 600 }") + line(2, "Q", effective="{ from_serial = 601 }")
    )
    for qty, serials, halves in ((1200, (1, 1200), 600), (200, (501, 700), 100)):
        demand = asked(p, qty=qty, serials=serials)
        assert totals(demand, "P", "Q") == [halves, halves]


@given(st.integers(1, 2000), st.integers(0, 2000), st.integers(1, 2000))
def test_serial_limits_without_a_gap_lose_no_unit(first: int, more: int, border: int) -> None:
    p = made_of(
        TOP=line(1, "P", effective=f"{{ to_serial = {border} }}")
        + line(2, "Q", effective=f"{{ from_serial = {border + 1} }}")
    )
    demand = asked(p, qty=more + 1, serials=(first, first + more))
    assert total(demand, "P") + total(demand, "Q") == more + 1


def test_days_and_builds_decide_too() -> None:
    p = made_of(
        TOP=line(1, "P", effective="{ from = 2026-11-26 }") + line(2, "Q", effective='{ builds = ["b"] }')
    )
    assert totals(asked(p), "P", "Q") == [0, 100]
    later = demand_of(p, Run(name="c", sku="TOP", qty=F(1), day=TODAY + dt.timedelta(days=1)))
    assert totals(later, "P", "Q") == [1, 0]


# Quoted prices, makers and buyers --------------------------------------------------------------------------


def test_what_a_quoted_price_covers_leaves_only_what_it_excludes() -> None:
    # The price of BOARD holds its SUB as well; P is left out of it on both levels, Q in none.
    p = made_of(
        TOP=line(1, "BOARD") + line(2, "Q"),
        BOARD='price = { tier = [{ from = 1, each = 9 }], excludes = ["P"] }\n'
        + line(1, "P", qty="2")
        + line(2, "SUB")
        + line(3, "Q"),
        SUB=line(1, "P") + line(2, "Q"),
    )
    demand = asked(p)
    assert totals(demand, "P", "Q") == [300, 100]
    assert {made.assembly: made.covered_by for made in demand.made} == {
        "TOP": None,
        "BOARD": None,
        "SUB": "BOARD",
    }


def test_an_assembly_inside_and_outside_a_quoted_price_is_made_twice() -> None:
    p = made_of(
        TOP=line(1, "BOARD") + line(2, "SUB"),
        BOARD="price = { tier = [{ from = 1, each = 9 }] }\n" + line(1, "SUB"),
        SUB=line(1, "Q"),
    )
    demand = asked(p)
    assert total(demand, "Q") == 100  # those in BOARD are in its price
    assert sorted(str(made.covered_by) for made in demand.made if made.assembly == "SUB") == ["BOARD", "None"]


def test_the_build_says_who_makes_the_sku_and_the_record_who_makes_the_rest() -> None:
    p = made_of(
        TOP='factory = "works"\n' + line(1, "P") + line(2, "BOARD") + line(3, "LOOSE"),
        BOARD='factory = "works"\n' + line(1, "P"),
        LOOSE=line(1, "P"),
    )
    moved = {use.assembly: use.buyer for use in asked(p, factory="south").uses}
    assert moved == {"TOP": "south", "BOARD": "works", "LOOSE": "south"}
    assert {use.assembly: use.buyer for use in asked(p).uses} == {
        "TOP": "works",
        "BOARD": "works",
        "LOOSE": "we",
    }


def test_without_a_factory_we_buy() -> None:
    use = asked(made_of(TOP=line(1, "P"))).uses[0]
    assert (use.supply, use.buyer) == ("consigned", "we")
    stated = asked(made_of(TOP=line(1, "P", supply='"turnkey"'))).uses[0]
    assert (stated.supply, stated.buyer) == ("turnkey", "we")


# Laws ------------------------------------------------------------------------------------------------------

yields = st.integers(50, 100)


@st.composite
def stacks(draw: st.DrawFn) -> Product:
    """Draw three levels with yields on each and parts on each."""

    def steps() -> str:
        return f'steps = [{{ name = "a", yield = "{draw(yields)} %" }}, {{ name = "b", yield = "{draw(yields)} %" }}]\n'

    qty = st.integers(1, 4).map(str)
    at = st.sampled_from(['"a"', '"b"'])
    lines = [line(1, "P", qty=draw(qty), step=draw(at)) for _ in range(3)]
    return made_of(
        TOP=steps() + lines[0] + line(2, "MID", qty=draw(qty), step=draw(at)) + line(3, "LOW", qty=draw(qty)),
        MID=steps() + lines[1] + line(2, "LOW", qty=draw(qty), step=draw(at)),
        LOW=steps() + lines[2],
    )


@pytest.mark.property
@given(stacks(), st.integers(1, 50), st.integers(1, 6))
def test_many_builds_are_many_times_one_before_rounding(p: Product, qty: int, times: int) -> None:
    one, many = (asked(p, qty=count, whole=False) for count in (qty, qty * times))
    assert total(many, "P") == times * total(one, "P")


@pytest.mark.property
@given(stacks(), st.integers(1, 50))
def test_whole_starts_never_need_less_and_never_a_unit_more_than_rounding_up(p: Product, qty: int) -> None:
    exact, whole = asked(p, qty=qty, whole=False), asked(p, qty=qty)
    assert total(whole, "P") >= total(exact, "P")
    for made in whole.made:
        assert made.starts.denominator == 1
        assert 0 <= made.starts - made.good * made.flow.starts < 1
