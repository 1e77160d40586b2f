"""Netting by date: plans printed in textbooks, stock that expires on the way, and whose stock serves whom.

Printed plans, each item netted week by week at its low-level code, planned lots left over carried on:

- C. Ptak, C. Smith, Orlicky's Material Requirements Planning, 3rd edition (2011), chapter 7: net requirements
  (page 121) and the explosion through three levels (page 129).
- J. Heizer, B. Render, Operations Management, chapter "Material Requirements Planning": speaker kit A (Examples
  1 to 3; structure, lead times and stock seen in a text copy, the net plan from memory and recomputed) and
  subassembly S (problems 14.5 to 14.7; inputs seen, the net plan recomputed only).
- F. R. Jacobs, R. B. Chase, Operations and Supply Chain Management, chapter "Material Requirements Planning",
  end-of-chapter problem with a minimum of 50 and multiples of 100 and 50 (inputs and releases seen; what is left
  over recomputed only).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_buying import NEED, bought, line, made_of, order, plan, row, source, stock, supplies
from test_purchase import form

from builders import CONTEXT, product, structure_files
from ferrule.compute.buy import Bought
from ferrule.compute.explode import levels
from ferrule.compute.netting import Stores, Wanted, counted, net_after, net_of
from ferrule.compute.quotes import Form
from ferrule.compute.structure import structure_of

F = Fraction
Weeks = Mapping[int, int]
FIRST = dt.date(2027, 1, 4)
LOT_FOR_LOT = form((1, "1"))


def monday(week: int) -> dt.date:
    return FIRST + dt.timedelta(weeks=week)


# Printed plans ---------------------------------------------------------------------------------------------


class Planned:
    """A printed exercise worked with our own netting, low-level codes and order rule."""

    def __init__(  # noqa: PLR0913  an exercise has as many givens
        self,
        bom: Mapping[str, Mapping[str, int]],
        gross: Weeks,
        *,
        held: Mapping[str, int],
        lead: Mapping[str, int],
        due: Mapping[str, Weeks] | None = None,
        rules: Mapping[str, Form] | None = None,
    ) -> None:
        self.needs: dict[str, dict[int, int]] = {next(iter(bom)): dict(gross)}
        self.nets: dict[str, dict[int, int]] = {}
        self.releases: dict[str, dict[int, int]] = {}
        self.left: dict[str, int] = {}
        depth = levels(structure_of(product(structure_files(bom)), CONTEXT))
        for item in sorted(depth, key=lambda item: depth[item]):
            self._item(
                item, held.get(item, 0), (due or {}).get(item, {}), (rules or {}).get(item, LOT_FOR_LOT)
            )
            for week, qty in self.nets[item].items():
                made = int((rules or {}).get(item, LOT_FOR_LOT).rounded(F(qty)))
                start = week - lead.get(item, 0)
                self.releases[item][start] = self.releases[item].get(start, 0) + made
                for child, per in bom.get(item, {}).items():
                    needs = self.needs.setdefault(child, {})
                    needs[start] = needs.get(start, 0) + per * made

    def _item(self, item: str, held: int, due: Weeks, rule: Form) -> None:
        self.nets[item], self.releases[item] = {}, {}
        for week in sorted({*self.needs[item], *due}):
            receipts = [order(due[week], str(monday(week)))] if week in due else []
            wanted = Wanted(monday(week), F(self.needs[item].get(week, 0)))
            found = net_of([wanted], supplies(stock(held), *receipts))
            if found.net:
                self.nets[item][week] = int(found.net)
            held = int(found.over + rule.rounded(found.net) - found.net)
        self.left[item] = held


def test_printed_net_requirements() -> None:
    # Ptak and Smith, page 121: 23 on hand, 30 due in week 3; needs 20, 25, 15, 12: net 7 in week 6, 12 in week 7.
    needs = {2: 20, 4: 25, 6: 15, 7: 12}
    wanted = [Wanted(monday(week), F(qty)) for week, qty in needs.items()]
    found = net_of(wanted, supplies(stock(23), order(30, str(monday(3)))))
    assert (found.nets, found.net) == ((F(0), F(0), F(7), F(12)), F(19))


def test_printed_explosion() -> None:
    found = Planned(
        {"A": {"B": 1}, "B": {"C": 1}},
        {1: 10, 3: 15, 4: 10, 5: 20, 6: 5, 8: 10, 9: 15},
        held={"A": 12, "B": 28, "C": 8},
        due={"A": {3: 14}},
        lead={"A": 1, "B": 3},
    )
    assert found.releases["A"] == {3: 9, 4: 20, 5: 5, 7: 10, 8: 15}
    assert found.releases["B"] == {1: 1, 2: 5, 4: 10, 5: 15}
    assert found.nets["C"] == {4: 8, 5: 15}


def test_printed_speaker_kit() -> None:
    found = Planned(
        {"A": {"B": 2, "C": 3}, "B": {"D": 2, "E": 2}, "C": {"E": 2, "F": 2}, "F": {"D": 2, "G": 1}},
        {8: 50},
        held={"A": 10, "B": 15, "C": 20, "D": 10, "E": 10, "F": 5},
        lead={"A": 1, "B": 2, "C": 1, "D": 1, "E": 2, "F": 3, "G": 2},
    )
    assert found.needs["D"] == {3: 390, 5: 130}  # on two levels: from B and from F
    assert found.nets == {
        "A": {8: 40},
        "B": {7: 65},
        "C": {7: 100},
        "E": {5: 120, 6: 200},
        "F": {6: 195},
        "D": {3: 380, 5: 130},
        "G": {3: 195},
    }
    assert found.releases["D"] == {2: 380, 4: 130}


def test_printed_subassembly() -> None:
    found = Planned(
        {"S": {"T": 1, "U": 2}, "T": {"V": 1, "W": 2, "X": 1}, "U": {"Y": 2, "Z": 3}},
        {7: 100},
        held={"S": 20, "T": 20, "U": 40, "V": 30, "W": 30, "X": 25, "Y": 240, "Z": 40},
        lead={"S": 2, "T": 1, "U": 2, "V": 2, "W": 3, "X": 1, "Y": 2, "Z": 1},
    )
    assert found.releases == {
        "S": {5: 80},
        "T": {4: 60},
        "U": {3: 120},
        "V": {2: 30},
        "W": {1: 90},
        "X": {3: 35},
        "Y": {},
        "Z": {2: 320},
    }


def test_printed_minimum_and_multiples() -> None:
    found = Planned(
        {"A": {"B": 1, "C": 2, "D": 1}, "C": {"D": 2, "E": 3}},
        {2: 30, 5: 30, 8: 40},
        held={"A": 20, "C": 10, "D": 20, "E": 10},
        due={"B": {1: 10}, "C": {1: 50}},
        lead={"A": 1, "B": 1, "C": 1, "D": 2, "E": 2},
        rules={
            "C": form((1, "1"), moq=50),
            "D": form((1, "1"), step=100),
            "E": form((1, "1"), step=50),
        },
    )
    assert found.releases == {
        "A": {1: 10, 4: 30, 7: 40},
        "B": {3: 30, 6: 40},
        "C": {3: 50, 6: 50},
        "D": {1: 100, 2: 100, 4: 100},
        "E": {1: 150, 4: 150},
    }
    assert found.left == {"A": 0, "B": 0, "C": 0, "D": 40, "E": 10}


# Stock that expires ----------------------------------------------------------------------------------------


def test_what_expires_between_two_needs_does_not_serve_the_second() -> None:
    # 100 good until May: the first build takes 30, the other 70 are past their life in June, when 50 are needed.
    wants = [Wanted(NEED, F(30)), Wanted(dt.date(2027, 6, 1), F(50))]
    found = net_of(wants, supplies(stock(100, expires=dt.date(2027, 5, 31))))
    assert (found.nets, found.over) == ((F(0), F(50)), F(0))
    assert (found.usable, dict(found.unusable)) == (F(30), {"expired": F(70)})


def test_what_expires_first_is_used_first() -> None:
    # Of 40 and 40 the first need takes the 40 that end in May: 40 + 20 serve both needs, nothing is lost.
    wants = [Wanted(NEED, F(40)), Wanted(dt.date(2027, 6, 1), F(20))]
    rows = (stock(40), stock(40, expires=dt.date(2027, 5, 31)))
    found = net_of(wants, supplies(*rows))
    assert (found.net, found.over, found.unusable) == (F(0), F(20), ())


def test_the_last_day_of_life_still_counts() -> None:
    found = net_of([Wanted(NEED, F(10)), Wanted(NEED, F(10))], supplies(stock(20, expires=NEED)))
    assert found.net == 0


def test_safety_stock_that_expires_is_bought_anew() -> None:
    # 80 held back of 100 until May; by June they are gone: 50 for the build and 80 to hold back again.
    wants = [Wanted(NEED, F(20)), Wanted(dt.date(2027, 6, 1), F(50))]
    found = net_of(wants, supplies(stock(100, expires=dt.date(2027, 5, 31)), safety=80))
    assert (found.nets, found.over) == ((F(0), F(130)), F(80))


def test_what_can_be_used_at_all() -> None:
    rows = (
        stock(1),
        stock(2, "quarantined"),
        stock(3, expires=dt.date(2027, 2, 28)),
        stock(4, expires=NEED),
        order(5, "2027-03-01"),
        order(6, "2027-03-02"),
        order(7, None),
    )
    kept = counted(supplies(*rows), [Wanted(NEED, F(1))])
    assert [int(each.qty) for _, each in kept.stock] == [1, 4]
    assert [int(each.qty) for _, each in kept.orders] == [5]
    undated = counted(supplies(*rows), [Wanted(None, F(1))])
    assert [int(each.qty) for _, each in undated.stock] == [1, 3, 4]
    assert [int(each.qty) for _, each in undated.orders] == [5, 6]


lots = st.lists(st.tuples(st.integers(0, 90), st.integers(-1, 12)), max_size=4)


@pytest.mark.property
@given(lots, lots, st.lists(st.integers(0, 120), min_size=1, max_size=6), st.integers(0, 60))
def test_nothing_is_lost_when_stock_expires(
    held: list[tuple[int, int]], due: list[tuple[int, int]], needs: list[int], safety: int
) -> None:
    rows = [stock(qty, expires=monday(week)) for qty, week in held]
    receipts = [order(qty, str(monday(week))) for qty, week in due]
    wants = [Wanted(monday(2 * i), F(need)) for i, need in enumerate(needs)]
    found = net_of(wants, supplies(*rows, *receipts, safety=safety))
    assert found.usable + sum(qty for _, qty in found.unusable) == sum(qty for qty, _ in held)
    assert found.in_time + found.late == sum(qty for qty, _ in due)
    assert found.usable + found.in_time + found.net == sum(needs) + found.over
    assert found.over >= safety


@pytest.mark.property
@given(lots, st.lists(st.integers(0, 120), min_size=1, max_size=6))
def test_a_longer_life_never_costs_more(held: list[tuple[int, int]], needs: list[int]) -> None:
    wants = [Wanted(monday(2 * i), F(need)) for i, need in enumerate(needs)]
    short, long = (
        net_of(wants, supplies(*(stock(qty, expires=monday(week + more)) for qty, week in held))).net
        for more in (0, 3)
    )
    assert long <= short


def test_needs_served_before_take_no_less_than_nothing() -> None:
    # Nothing in stock, 50 to be held back: what the earlier build buys elsewhere takes nothing of the supply.
    found, taken = net_after([Wanted(NEED, F(100))], [Wanted(NEED, F(10))], supplies(safety=50))
    assert (found.net, taken) == (F(10), F(0))


# Whose stock -----------------------------------------------------------------------------------------------


def shelf(place: str, qty: int, **more: str) -> str:
    extra = "".join(f"{key} = {value}\n" for key, value in more.items())
    return f'[[stock]]\npart = "P"\nplace = "{place}"\nqty = {qty}\ncounted = 2026-11-20\n{extra}'


def nets(counts: str, lines: str, parts: str = "[part.P]\n") -> dict[str | None, Fraction]:
    """Return the net need of P by buyer: the works buys for line 1, we buy for a consigned line 2."""
    p = made_of(parts + source("P", "[{ from = 1, each = 1 }]"), lines, counts=counts)
    return {each.buyer: each.netted.net for each in bought(p).rows}


TURNKEY, CONSIGNED = line(1, "P"), line(2, "P", supply='"consigned"')


def test_stock_at_a_buyers_place_serves_that_buyer() -> None:
    both = TURNKEY + CONSIGNED
    assert nets(shelf("works", 400), both) == {"works": F(600), "we": F(1000)}
    assert nets(shelf("we", 400), both) == {"works": F(1000), "we": F(600)}


def test_our_stock_elsewhere_serves_us_first() -> None:
    assert nets(shelf("mirefen", 400), TURNKEY + CONSIGNED) == {"works": F(1000), "we": F(600)}
    # Nobody but the works needs the part: what we have is sent there.
    assert nets(shelf("mirefen", 400), TURNKEY) == {"works": F(600)}
    assert nets(shelf("we", 400), TURNKEY) == {"works": F(600)}
    # What we hold at the works serves us where the works does not buy the part.
    assert nets(shelf("works", 400), CONSIGNED) == {"we": F(600)}


def test_what_others_own_serves_only_them() -> None:
    assert nets(shelf("works", 400, ours="false"), CONSIGNED) == {"we": F(1000)}
    assert nets(shelf("works", 400, ours="false"), TURNKEY) == {"works": F(600)}


def test_safety_stock_is_held_once_however_many_buy() -> None:
    found = nets("", TURNKEY + CONSIGNED, "[part.P]\nsafety_stock = 80\n")
    assert found == {"works": F(1000), "we": F(1080)}
    assert nets("", TURNKEY, "[part.P]\nsafety_stock = 80\n") == {"works": F(1080)}


def test_stores_find_each_part_by_itself() -> None:
    text = shelf("works", 5) + shelf("works", 7).replace('"P"', '"Q"')
    p = made_of("[part.P]\n[part.Q]\n", line(1, "P") + line(2, "Q"), counts=text)
    kept = Stores(p).supplies("Q", "works", "we", ["works"])
    assert [(index, int(each.qty)) for index, each in kept.stock] == [(1, 7)]


# Which builds ----------------------------------------------------------------------------------------------


def of_two_builds(day: str, *asked: str) -> Bought:
    p = made_of(
        "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]"),
        line(1, "P"),
        builds=plan(("a", 300, "2027-03-01"), ("b", 300, day)),
        counts=shelf("works", 400),
    )
    return bought(p, builds=asked)


def test_builds_of_one_day_share_the_stock_once() -> None:
    # 600 needed, 400 in stock: whichever way one asks, the two builds never count a piece twice.
    assert row(of_two_builds("2027-03-01"), "P").netted.nets == (F(0), F(200))
    one, other = (row(of_two_builds("2027-03-01", name), "P") for name in ("a", "b"))
    assert (one.netted.net, one.earlier) == (F(0), F(0))
    assert (other.netted.net, other.earlier) == (F(200), F(300))


def test_the_earlier_build_of_two_takes_the_stock() -> None:
    assert row(of_two_builds("2027-06-01", "a"), "P").netted.net == 0
    assert row(of_two_builds("2027-06-01", "b"), "P").netted.net == 200
    assert row(of_two_builds("2027-06-01", "b"), "P").earlier == 300
