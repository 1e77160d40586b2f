"""Who gives up the first part, to which alternate, how much of it; linked sets switch whole or not at all."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_buying import TOP, bought, figures, line, made_of, plan, row, source

from ferrule.compute.buy import Bought
from ferrule.model.product import Product

F = Fraction
YES = "approved = 2026-09-30"


def part(name: str, *, allocated: int | None = None, head: str = "") -> str:
    text = f"[part.{name}]\n{head}" + source(name, "[{ from = 1, each = 1.00 }]")
    return text + (f"allocated = {allocated}\n" if allocated is not None else "")


def alternates(*texts: str) -> str:
    return "[" + ", ".join(f"{{ {text} }}" for text in texts) + "]"


def ordered(result: Bought) -> dict[str, int]:
    return {each.part: int(each.ordered) for each in result.rows if each.ordered}


def lacking(result: Bought) -> dict[str, int]:
    return {each.part: int(each.lacking) for each in result.rows if each.lacking}


def switched(result: Bought) -> list[tuple[str, str, int]]:
    return [(each.run, each.alternate, int(each.units)) for each in result.switches]


def product_of(
    parts: str, lines: str, *builds: tuple[str, int, str], top: str = TOP, counts: str = ""
) -> Product:
    return made_of(
        parts, lines, builds=plan(*(builds or [("a", 1000, "2027-03-01")])), top=top, counts=counts
    )


def one_line(*texts: str, allocated: int = 600, **parts: int | None) -> Product:
    """Return a product of 1,000 P, of which 600 are to be had, with alternates as written."""
    text = part("P", allocated=allocated) + "".join(
        part(name, allocated=most) for name, most in parts.items()
    )
    return product_of(text, line(1, "P", alternates=alternates(*texts)))


# Preference and limits -------------------------------------------------------------------------------------


def test_alternates_are_taken_in_order_of_preference() -> None:
    # 400 short: Q can give 150, R the other 250.
    found = bought(one_line(f'part = "Q", {YES}', f'part = "R", {YES}', Q=150, R=None))
    assert ordered(found) == {"P": 600, "Q": 150, "R": 250}


def test_what_no_alternate_can_give_stays_with_the_first_part() -> None:
    found = bought(one_line(f'part = "Q", {YES}', Q=150))
    assert ordered(found) == {"P": 600, "Q": 150}
    assert lacking(found) == {"P": 250}


def test_nothing_is_switched_without_a_shortage() -> None:
    assert bought(one_line(f'part = "Q", {YES}', allocated=1000, Q=None)).switches == ()


def test_stock_comes_before_an_alternate() -> None:
    p = product_of(
        part("P", allocated=600) + part("Q"),
        line(1, "P", alternates=alternates(f'part = "Q", {YES}')),
        counts='[[stock]]\npart = "P"\nplace = "works"\nqty = 300\ncounted = 2026-11-20\n',
    )
    assert ordered(bought(p)) == {"P": 600, "Q": 100}


@pytest.mark.parametrize(("expires", "switched_units"), [("2027-02-01", 400), ("2027-12-31", 100)])
def test_stock_past_its_life_does_not_spare_an_alternate(expires: str, switched_units: int) -> None:
    p = product_of(
        part("P", allocated=600) + part("Q"),
        line(1, "P", alternates=alternates(f'part = "Q", {YES}')),
        counts=f'[[stock]]\npart = "P"\nplace = "works"\nqty = 300\ncounted = 2026-11-20\nexpires = {expires}\n',
    )
    assert ordered(bought(p)) == {"P": 600, "Q": switched_units}


def test_a_part_nobody_sells_is_replaced_whole() -> None:
    p = product_of("[part.P]\n" + part("Q"), line(1, "P", alternates=alternates(f'part = "Q", {YES}')))
    assert ordered(bought(p)) == {"Q": 1000}


@pytest.mark.parametrize(
    "text",
    [
        'part = "Q"',
        'part = "Q", approved = 2027-03-02',
        f'part = "Q", {YES}, effective = {{ from = 2027-03-02 }}',
        f'part = "Q", {YES}, effective = {{ to = 2026-12-31 }}',
        f'part = "Q", {YES}, effective = {{ builds = ["z"] }}',
    ],
)
def test_what_is_not_approved_or_does_not_hold_that_day_is_never_taken(text: str) -> None:
    assert bought(one_line(text, Q=None)).switches == ()


def test_set_up_losses_of_the_alternate_are_its_own() -> None:
    # P loses nothing; Q is placed by machine, loses 2 % and 25 at its strip: 400 switched need 408 + 25.
    lossy = 'class = "electrical"\nplacement = "machine"\nattrition = "2 %"\nsetup_loss = 25\n'
    parts = part("P", allocated=600) + part("Q", head=lossy)
    p = product_of(parts, line(1, "P", alternates=alternates(f'part = "Q", {YES}')))
    assert ordered(bought(p)) == {"P": 600, "Q": 433}


def test_as_few_units_as_relieve_the_part() -> None:
    # Seven P a unit: 1,000 units need 7,000; 600 are short, so 86 units (602 pieces) switch, not 85 (595).
    p = product_of(
        part("P", allocated=6400) + part("Q"), line(1, "P", 7, alternates=alternates(f'part = "Q", {YES}'))
    )
    found = bought(p)
    assert switched(found) == [("a", "Q", 86)]
    assert ordered(found) == {"P": 6398, "Q": 602}


# Which build -----------------------------------------------------------------------------------------------


def test_the_latest_build_gives_up_first_then_the_one_before() -> None:
    parts, lines = (
        part("P", allocated=500) + part("Q"),
        line(1, "P", alternates=alternates(f'part = "Q", {YES}')),
    )
    builds = (("a", 400, "2027-03-01"), ("b", 400, "2027-06-01"), ("c", 400, "2027-09-01"))
    assert switched(bought(product_of(parts, lines, *builds))) == [("c", "Q", 400), ("b", "Q", 300)]


@pytest.mark.parametrize("names", [("a", "b"), ("b", "a")])
def test_builds_of_one_day_give_up_in_the_order_in_which_netting_serves_them(names: tuple[str, str]) -> None:
    parts, lines = (
        part("P", allocated=500) + part("Q"),
        line(1, "P", alternates=alternates(f'part = "Q", {YES}')),
    )
    builds = [(name, 400, "2027-03-01") for name in names]
    assert switched(bought(product_of(parts, lines, *builds))) == [("b", "Q", 300)]


def test_an_alternate_that_ends_before_the_late_build_serves_the_early_one() -> None:
    parts = part("P", allocated=500) + part("Q")
    lines = line(1, "P", alternates=alternates(f'part = "Q", {YES}, effective = {{ to = 2027-04-30 }}'))
    builds = (("a", 400, "2027-03-01"), ("b", 400, "2027-06-01"))
    assert switched(bought(product_of(parts, lines, *builds))) == [("a", "Q", 300)]


# Linked sets -----------------------------------------------------------------------------------------------


def linked(second: str, *, steps: str = "", at: str = "", most: int | None = None) -> Product:
    parts = part("P", allocated=600) + part("Q") + part("R") + part("S", allocated=most)
    lines = line(1, "P", alternates=alternates(f'part = "Q", {YES}, set = "x"'))
    lines += line(2, "R", alternates=alternates(f'part = "S", {second}, set = "x"'))
    lines += f"step = {at}\n" if at else ""
    top = TOP.replace('factory = "works"\n', f'factory = "works"\n{steps}')
    return product_of(parts, lines, top=top)


def test_a_set_switches_whole() -> None:
    assert ordered(bought(linked(YES))) == {"P": 600, "Q": 400, "R": 600, "S": 400}


def test_a_set_with_a_member_that_does_not_hold_is_not_switched_at_all() -> None:
    found = bought(linked("approved = 2027-12-31"))
    assert found.switches == ()
    assert (ordered(found), lacking(found)) == ({"P": 600, "R": 1000}, {"P": 400})


def test_a_set_switches_no_further_than_its_scarcest_member() -> None:
    found = bought(linked(YES, most=250))
    assert ordered(found) == {"P": 600, "Q": 250, "R": 750, "S": 250}
    assert lacking(found) == {"P": 150}


def test_members_of_a_set_at_different_steps_switch_the_same_share() -> None:
    # Half is lost at "place": 2,000 P go in, and 1,000 R at "close". 1,400 P are short, 70 % of them: so are 70 % of R.
    steps = 'steps = [{ name = "place", yield = "50 %" }, { name = "close" }]\n'
    found = ordered(bought(linked(YES, steps=steps, at='"close"')))
    assert found == {"P": 600, "Q": 1400, "R": 300, "S": 700}


# Who buys --------------------------------------------------------------------------------------------------


def test_an_alternate_is_bought_by_whom_its_own_supply_mode_says() -> None:
    # The factory buys P; Q is a part that we buy and send, R comes free.
    parts = part("P", allocated=600) + part("Q", allocated=300, head='supply = "consigned"\n')
    parts += part("R", head='supply = "free-issue"\n')
    lines = line(1, "P", alternates=alternates(f'part = "Q", {YES}', f'part = "R", {YES}'))
    found = bought(product_of(parts, lines))
    assert [figures(each.part, each.buyer, each.supply, each.gross.total) for each in found.rows] == [
        ("P", "works", "turnkey", 600),
        ("Q", "we", "consigned", 300),
        ("R", None, "free-issue", 100),
    ]


def test_the_word_of_the_line_holds_for_the_alternate_too() -> None:
    parts = part("P", allocated=600) + part("Q", head='supply = "consigned"\n')
    lines = line(1, "P", supply='"turnkey"', alternates=alternates(f'part = "Q", {YES}'))
    assert row(bought(product_of(parts, lines)), "Q").buyer == "works"


def test_an_allocation_holds_for_all_who_buy() -> None:
    # 1,200 P are needed, by us and by the factory, and 1,000 are allocated: 200 of one go to the alternate.
    parts = part("P", allocated=1000) + part("Q")
    lines = line(1, "P", supply='"consigned"') + line(2, "P", alternates=alternates(f'part = "Q", {YES}'))
    found = bought(product_of(parts, lines, ("a", 600, "2027-03-01")))
    assert [figures(each.part, each.buyer, each.ordered, each.lacking) for each in found.rows] == [
        ("P", "we", 600, 0),
        ("P", "works", 400, 0),
        ("Q", "works", 200, 0),
    ]


# Laws ------------------------------------------------------------------------------------------------------


@pytest.mark.property
@given(
    st.integers(1, 5),
    st.integers(0, 4000),
    st.one_of(st.none(), st.integers(0, 2000)),
    st.lists(st.tuples(st.integers(1, 400), st.integers(0, 3)), min_size=1, max_size=3),
)
def test_units_are_moved_never_lost(
    per: int, most: int, other: int | None, builds: list[tuple[int, int]]
) -> None:
    p = product_of(
        part("P", allocated=most) + part("Q", allocated=other),
        line(1, "P", per, alternates=alternates(f'part = "Q", {YES}')),
        *((f"b{i}", qty, str(dt.date(2027, 3 + month, 1))) for i, (qty, month) in enumerate(builds)),
    )
    result = bought(p)
    found, short = ordered(result), lacking(result).get("P", 0)
    assert sum(found.values()) + short == per * sum(qty for qty, _ in builds)
    assert found.get("P", 0) <= most
    assert other is None or found.get("Q", 0) <= other
    # As much of the first part as there is, up to one unit's worth; some is lacking only where the alternate is short.
    assert found.get("P", 0) >= min(most - per + 1, sum(found.values()))
    assert other is not None or not short


def test_the_row_of_an_alternate_knows_when_it_is_needed() -> None:
    found = row(bought(one_line(f'part = "Q", {YES}', Q=None)), "Q")
    assert found.wanted[0][1].day == dt.date(2027, 2, 28)
