"""Orders of a whole product: what is asked once, what is rationed, what later builds use, lots that agree with `buy`."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_buying import CHANNEL, FIRMS, TOP, bought, figures, line, plan, row, source
from test_netting import shelf

from builders import HEAD, product
from ferrule.compute.buy import Bought
from ferrule.compute.covers import covers_of
from ferrule.compute.lot_orders import Lotted, lots_of
from ferrule.compute.order_totals import by_seller, by_strategy
from ferrule.compute.purchase import STRATEGIES, Later
from ferrule.model.product import Product

F = Fraction
ONE_OFF = '[{ name = "set-up", amount = 90, per = "one-off" }]'
BOTH = line(1, "P", supply='"consigned"') + line(2, "P")


def made(
    parts: str, lines: str, *builds: tuple[str, int, str], policy: str = "", counts: str = "", more: str = ""
) -> Product:
    files = {
        "product.toml": HEAD + (f"[policy]\n{policy}" if policy else ""),
        "firms/f.toml": FIRMS + CHANNEL,
        "parts/p.toml": parts,
        "assemblies/t.toml": TOP + lines,
        "plans/p.toml": plan(*(builds or [("a", 600, "2027-03-01")])) + more,
    }
    return product(files | ({"counts/c.toml": counts} if counts else {}))


def receipt(qty: int, due: str) -> str:
    return f'[[order]]\nid = "PO-{qty}"\npart = "P"\nseller = "norholt"\nqty = {qty}\nplace = "works"\ndue = {due}\n'


# Once ------------------------------------------------------------------------------------------------------


def test_a_one_off_charge_is_asked_once_however_many_buy() -> None:
    # We and the works need 600 each at 1.00; 90 once for the source, not once for each of us.
    p = made("[part.P]\n" + source("P", "[{ from = 1, each = 1.00 }]", charge=ONE_OFF), BOTH)
    result = bought(p)
    sellers = by_seller(p, result.rows, "least cash now")
    assert [figures(each.buyer, each.one_off, each.total) for each in sellers] == [
        ("we", 90, 690),
        ("works", 0, 600),
    ]
    for total in by_strategy(p, result):
        assert figures(total.spend, total.one_off, total.total, total.expected) == (1200, 90, 1290, 1290)


def test_every_source_asks_its_own_one_off_charge() -> None:
    parts = "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]", charge=ONE_OFF, share='"50 %"')
    p = made(parts + source("P", "[{ from = 1, each = 1 }]", charge=ONE_OFF, share='"50 %"'), BOTH)
    assert sum(each.one_off for each in by_seller(p, bought(p).rows, "least cash now")) == 180


def test_an_allocation_is_sold_once() -> None:
    # 1,000 allocated: 600 for us, and 400 of the 600 that the works needs; 200 nobody can be asked for.
    p = made("[part.P]\n" + source("P", "[{ from = 1, each = 1 }]", allocated="1000"), BOTH)
    first, second = bought(p).rows
    assert figures(first.buyer, first.ordered, first.lacking) == ("we", 600, 0)
    assert figures(second.buyer, second.ordered, second.lacking, second.left) == ("works", 400, 200, 0)
    assert "more is needed than its sources have allocated" in second.unknown
    assert not second.is_short
    # Stock lowers what is lacking.
    held = made(
        "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]", allocated="1000"),
        BOTH,
        counts=shelf("works", 150),
    )
    assert [figures(each.ordered, each.lacking) for each in bought(held).rows] == [(600, 0), (400, 50)]


def test_the_next_approved_source_takes_what_is_not_allocated() -> None:
    parts = "[part.P]\n" + source("P", "[{ from = 1, each = 1.00 }]", allocated="400", rank="1")
    parts += source("P", "[{ from = 1, each = 1.50 }]", rank="2", seller='"mirefen"')
    found = row(bought(made(parts, line(1, "P"))), "P")
    assert [figures(order.quote.source.seller, order.qty) for order in found.orders] == [
        ("norholt", 400),
        ("mirefen", 200),
    ]
    assert figures(found.spend, found.lacking, found.plain) == (700, 0, 700)


# Made in house ---------------------------------------------------------------------------------------------


def test_what_is_made_in_house_is_never_short() -> None:
    p = made("[part.P]\nin_house = true\n[part.Q]\n", line(1, "P") + line(2, "Q"))
    result = bought(p)
    own, foreign = row(result, "P"), row(result, "Q")
    assert figures(own.is_short, own.lacking, own.orders, own.left, own.left_value, own.unknown) == (
        False,
        0,
        (),
        0,
        0,
        (),
    )
    assert figures(foreign.is_short, foreign.lacking) == (True, 600)


# What later builds use -------------------------------------------------------------------------------------


def later_of(counts: str, *, firm: str = "true") -> Later:
    """Return what b of June can use when a of March is asked alone; both need 600."""
    p = made(
        "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]"),
        line(1, "P"),
        ("a", 600, "2027-03-01"),
        ("b", 600, "2027-06-01"),
        policy='carrying_rate = "26 %"\n',
        counts=counts,
        more=f"firm = {firm}\n",
    )
    return row(bought(p, builds=["a"]), "P").later


def test_a_later_build_uses_what_receipts_do_not_bring_it() -> None:
    # a needs its parts the day before it starts; from 28 February to 1 June are 93 days.
    carrying = F(26, 100) * F(93, 7) / 52
    assert later_of("") == Later(F(600), carrying)
    assert later_of("", firm="false") == Later()
    # 250 come in May, too late for a: b lacks 350. What comes after b starts serves nobody.
    assert later_of(receipt(250, "2027-05-10")) == Later(F(350), carrying)
    assert later_of(receipt(250, "2027-06-10")) == Later(F(600), carrying)
    assert later_of(receipt(700, "2027-05-10")) == Later()
    # Of 900 in stock a leaves 300.
    assert later_of(shelf("works", 900)) == Later(F(300), carrying)


def test_nothing_is_bought_up_for_a_build_that_receipts_serve() -> None:
    # 600 at 1.00 = 600, or 1,000 at 0.65 = 650, of which 400 are worth 260 to b (carrying is not counted): 390 in the end.
    parts = "[part.P]\n" + source("P", "[{ from = 1, each = 1.00 }, { from = 1000, each = 0.65 }]")
    spends = []
    for counts in ("", receipt(600, "2027-05-10")):
        p = made(
            parts,
            line(1, "P"),
            ("a", 600, "2027-03-01"),
            ("b", 600, "2027-06-01"),
            counts=counts,
            more="firm = true\n",
        )
        order = row(bought(p, builds=["a"], strategy="least expected total"), "P").orders[0]
        spends.append((order.qty, order.purchase.expected["least expected total"]))
    assert spends == [(F(1000), F(390)), (F(600), F(600))]


# Ages ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("age", "quoted", "old"),
    [
        ("2 months", "2026-12-15", False),
        ("2 months", "2026-12-14", True),
        ("62 days", "2026-12-15", False),
        ("62 days", "2026-12-14", True),
        ("1 year", "2026-02-15", False),
        ("1 year", "2026-02-14", True),
        ("10 working days", "2027-02-01", False),
        ("10 working days", "2027-01-31", True),
    ],
)
def test_a_quote_ages_by_the_calendar(age: str, quoted: str, old: bool) -> None:  # noqa: FBT001  a case
    # Two weeks before 28 February with the day of order counted out: ordered by Monday 15 February 2027.
    parts = "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]", lead_time='"2 weeks"', quoted=quoted)
    order = row(bought(made(parts, line(1, "P"), policy=f'quote_max_age = "{age}"\n')), "P").orders[0]
    assert order.order_day == dt.date(2027, 2, 15)
    assert [doubt.kind for doubt in order.doubts] == ["old"] * old


# Lots ------------------------------------------------------------------------------------------------------


def lotted(p: Product, **named: object) -> list[Lotted]:
    return [each for found in bought(p, **named).rows for each in lots_of(found, p.policy.carrying_rate)]


REELS = '[{ form = "reel", size = 3000, price = [{ from = 3000, each = 0.20 }] }, { form = "cut tape", price = [{ from = 1, each = 0.30 }] }]'
TWO = ("a", 3000, "2027-03-01"), ("b", 150, "2027-06-07")


def test_lots_use_every_form_as_buy_does() -> None:
    # 3,150: a reel of 3,000 for 600 and 150 on a strip for 45: 645, not two reels for 1,200.
    # From 28 February to 6 June are 14 weeks: 26 % a year of 645 / 3,150 are 7 % of it: 150 carried cost 2.15.
    # A strip when b comes costs 45 as well and carries nothing: 645 in two lots.
    p = made(
        "[part.P]\n" + source("P", "[]", pack=REELS, full_packs_only="true"),
        line(1, "P"),
        *TWO,
        policy='carrying_rate = "26 %"\n',
    )
    assert row(bought(p), "P").spend == 645
    (found,) = lotted(p)
    assert figures(found.once.ordering, found.once.holding) == (645, F("2.15"))
    assert found.best.total == 645
    assert [figures(lot.period, lot.quantity) for lot in found.best.lots] == [(0, 3000), (1, 150)]
    assert found.each_build is not None
    assert found.each_build.total == 645


def test_lots_go_to_the_source_that_is_cheapest_for_each() -> None:
    # 3,000 at 0.20 there (from 3,000 on), 150 at 0.30 here: 645. All in one order there: 3,150 x 0.20 = 630.
    parts = "[part.P]\n" + source("P", "[{ from = 1, each = 0.30 }]")
    parts += source("P", "[{ from = 3000, each = 0.20 }]", seller='"mirefen"', moq="3000")
    p = made(parts, line(1, "P"), *TWO, policy='carrying_rate = "260 %"\n')
    assert row(bought(p, choice="cheapest"), "P").spend == 630
    (found,) = lotted(p, choice="cheapest")
    # Carrying 150 for 14 weeks at 0.20 and 260 % a year: 21; two orders cost 15 more.
    assert figures(found.once.ordering, found.once.total, found.best.total) == (630, 651, 645)
    assert [found.sellers[lot.ladder] for lot in found.best.lots] == ["mirefen", "norholt"]
    # The preferred source alone where nobody asked for the cheapest.
    assert [each.best.total for each in lotted(p)] == [945]


def test_lots_of_shares_are_planned_source_by_source() -> None:
    parts = "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]", share='"70 %"')
    parts += source("P", "[{ from = 1, each = 2 }]", share='"30 %"', seller='"mirefen"')
    p = made(parts, line(1, "P"), ("a", 101, "2027-03-01"), ("b", 100, "2027-06-07"))
    found = lotted(p)
    assert [(each.sellers, each.demand) for each in found] == [
        (("norholt",), (F(71), F(70))),
        (("mirefen",), (F(30), F(30))),
    ]
    assert sum(each.once.ordering for each in found) == row(bought(p), "P").spend == 141 + 120


def test_lots_stay_within_what_is_allocated() -> None:
    # 500 and 450 are needed and 960 allocated: 960 at 0.50 cost 480, 500 as much as 500 alone; 1,000 at 0.10 are not to be had.
    parts = "[part.P]\n" + source(
        "P",
        "[{ from = 1, each = 1 }, { from = 960, each = 0.5 }, { from = 1000, each = 0.1 }]",
        allocated="960",
    )
    p = made(parts, line(1, "P"), ("a", 500, "2027-03-01"), ("b", 450, "2027-06-07"))
    (found,) = lotted(p)
    assert [figures(lot.quantity, lot.cost) for lot in found.best.lots] == [(960, 480)]
    # A lot for a alone is cheapest with 960 as well, and then b needs none.
    assert found.each_build == found.best


@st.composite
def products(draw: st.DrawFn) -> tuple[Product, str]:
    parts = '[part.P]\nclass = "electrical"\nplacement = "machine"\nattrition = "1 %"\n'
    parts += f"setup_loss = {draw(st.sampled_from([0, 20]))}\n"
    shares = draw(st.booleans())
    for seller in ("norholt", "mirefen")[: draw(st.integers(2 if shares else 1, 2))]:
        size = draw(st.sampled_from([100, 250, 1000]))
        fall = draw(st.integers(0, 9))
        reel = f'{{ form = "reel", size = {size}, price = [{{ from = {size}, each = 0.{20 - fall} }}] }}'
        strip = f'{{ form = "cut tape", price = [{{ from = 1, each = 0.30 }}, {{ from = 400, each = 0.{29 - fall} }}] }}'
        more = {"share": f'"{draw(st.integers(1, 9))}0 %"'} if shares else {}
        if draw(st.booleans()):
            more["charge"] = (
                '[{ name = "handling", amount = 7, per = "order" }, { name = "set-up", amount = 9, per = "one-off" }]'
            )
        if draw(st.booleans()):
            more["allocated"] = str(draw(st.integers(0, 1500)))
        parts += source(
            "P", "[]", seller=f'"{seller}"', pack=f"[{reel}, {strip}]", full_packs_only="true", **more
        )
    builds = [
        ("a", draw(st.integers(1, 900)), "2027-03-01"),
        ("b", draw(st.integers(1, 900)), "2027-06-07"),
    ]
    lines = draw(st.sampled_from([line(1, "P"), BOTH]))
    counts = shelf("works", draw(st.integers(0, 800)))
    return made(parts, lines, *builds, policy='carrying_rate = "20 %"\n', counts=counts), draw(
        st.sampled_from(["preferred", "cheapest", "fastest"])
    )


def check_totals(p: Product, result: Bought) -> None:
    for total in by_strategy(p, result):
        assert total.total == sum(each.total for each in by_seller(p, result.rows, total.strategy))


@pytest.mark.property
@settings(max_examples=60, deadline=None)
@given(products(), st.sampled_from(STRATEGIES))
def test_sellers_add_up_to_the_strategy_and_one_lot_to_what_buy_pays(
    case: tuple[Product, str], strategy: str
) -> None:
    p, choice = case
    check_totals(p, bought(p, choice=choice, strategy=strategy))
    result = bought(p, choice=choice)
    for found in result.rows:
        lots = lots_of(found, p.policy.carrying_rate)
        assert sum(each.once.ordering for each in lots) == (found.spend if found.orders else 0)
        for each in lots:
            assert each.best.total <= each.once.total
            assert each.each_build is None or each.best.total <= each.each_build.total


# Covers ----------------------------------------------------------------------------------------------------


def test_what_earlier_builds_take_covers_nothing_later() -> None:
    # 600 in stock serve a; b of June has only the receipt of May.
    p = made(
        "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]"),
        line(1, "P"),
        ("a", 600, "2027-03-01"),
        ("b", 600, "2027-06-01"),
        counts=shelf("works", 600) + receipt(600, "2027-05-10"),
    )
    both = covers_of(p, bought(p))
    alone = covers_of(p, bought(p, builds=["b"]))
    assert both["a"]["P"].due is None
    assert both["b"]["P"].due == alone["b"]["P"].due == dt.date(2027, 5, 10)
    short = made(
        "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]"),
        line(1, "P"),
        ("a", 600, "2027-03-01"),
        ("b", 600, "2027-06-01"),
        counts=shelf("works", 600),
    )
    assert covers_of(short, bought(short, builds=["b"])) == {"b": {}}
