"""Purchase lists where forms, packs, stock and orders mix; every figure of a product with two builds by hand."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from test_buying import CHANNEL, FIRMS, SPRING, TOP, bought, line, made_of, plan, row, source
from test_netting import shelf

from builders import product
from ferrule.compute.buy import Bought, BuyRow
from ferrule.compute.order_totals import by_seller
from ferrule.model.number import Count
from ferrule.model.product import Product

F = Fraction


def receipt(qty: int, due: str | None, each: str = "0.30 EUR") -> str:
    text = f'[[order]]\nid = "PO-{qty}"\npart = "P"\nseller = "norholt"\nqty = {qty}\nplace = "works"\neach = "{each}"\n'
    return text + (f"due = {due}\n" if due else "")


def check_identity(found: BuyRow) -> None:
    """What comes in goes out: stock, receipts and orders are used up, taken by others or left."""
    supply = found.netted.usable + found.netted.in_time + found.ordered - found.earlier
    assert supply == found.gross.total + found.left
    assert found.left >= 0


# Two builds by hand ----------------------------------------------------------------------------------------


def two_builds() -> tuple[Product, Bought]:
    parts = (
        '[part.P]\nclass = "electrical"\nplacement = "machine"\nattrition = "2 %"\nsetup_loss = 20\nsafety_stock = 100\n'
        + source(
            "P",
            "[{ from = 1, each = 0.10 }, { from = 2500, each = 0.08 }]",
            currency='"USD"',
            moq="700",
            multiple="500",
            pack='[{ form = "reel", size = 2500 }]',
            lead_time='"4 weeks"',
            charge='[{ name = "handling", amount = 25, per = "order" }, { name = "set-up", amount = "90 EUR", per = "one-off" }]',
        )
        + "[part.Q]\n"
        + source("Q", "[{ from = 1, each = 2.00 }]", seller='"mirefen"')
    )
    p = made_of(
        parts,
        line(1, "P", 3) + line(2, "Q"),
        builds=plan(("a", 400, "2027-03-01"), ("b", 600, "2027-06-01")),
        counts=shelf("works", 900, value='"0.05 EUR"')
        + receipt(500, "2027-05-10")
        + receipt(800, "2027-09-01")
        + shelf("works", 50, status='"allocated"'),
    )
    return p, bought(p)


def test_every_figure_of_two_builds() -> None:
    # Three P a unit: 1,200 for a and 1,800 for b. With 2 %: 1,224 and 3,060 together; reels of 2,500 less 20: a alone
    # mounts one, both two (two runs, and 3,060 / 2,480): 1,244, then 3,100, so b adds 1,856.
    # At hand 900 - 100 kept back = 800: a lacks 444. The 500 of May serve b, which lacks 1,356. Net 1,800.
    # MOQ 700 in steps of 500 is 1,000; 1,800 become 2,000 at 0.10 USD = 200 USD; 2,500 at 0.08 = 200 USD too: the
    # smaller. In EUR at 1.25: 160, and 20 for handling; 90 for set-up once.
    # Left: 900 + 500 + 2,000 - 3,100 = 300, the hundred kept back in it, all fresh, at 0.08 EUR: 24 EUR.
    p, result = two_builds()
    found = row(result, "P")
    assert (found.gross.demand, found.gross.attrition, found.gross.mounts) == (F(3000), F(60), 2)
    assert [(name, each.gross) for name, each in found.wanted] == [("a", F(1244)), ("b", F(1856))]
    assert (found.netted.usable, found.netted.in_time, found.netted.late) == (F(900), F(500), F(800))
    assert dict(found.netted.unusable) == {"allocated": 50}
    assert (found.netted.nets, found.netted.net) == ((F(444), F(1356)), F(1800))
    assert (found.ordered, found.spend) == (F(2000), F(180))
    assert (found.left, found.left_value, found.plain) == (F(300), F(24), F(240))
    check_identity(found)
    # 2,500 at 0.08 cost as much as 2,000 at 0.10: from there on buying up costs no more.
    assert found.orders[0].purchase.pays_from == (F(2000), F(2500))
    # Needed on 1 March, usable on 28 February; four weeks of 28 days begin on 1 February.
    assert found.orders[0].order_by == dt.date(2027, 2, 1)
    totals = {each.seller: each for each in by_seller(p, result.rows, "least cash now")}
    # Norholt asks 28 EUR below 200 EUR of goods: 160 + 20 + 90 + 28.
    assert totals["norholt"].total == 298
    assert (totals["norholt"].charges, totals["norholt"].one_off, totals["norholt"].fee) == (
        F(20),
        F(90),
        F(28),
    )
    assert (totals["mirefen"].goods, totals["mirefen"].total) == (F(2000), F(2000))
    assert result.good == 1000


# Leftovers -------------------------------------------------------------------------------------------------

PRICED = "[part.P]\n" + source("P", "[{ from = 1, each = 1.00 }]")
TWO = plan(("a", 100, "2027-03-01"), ("b", 100, "2027-06-01"))


def test_leftovers_are_fresh_pieces_first_then_stock_at_its_own_value() -> None:
    # a lacks 100 and buys them at 1.00; 500 at 0.30 come for b, which needs 100. Left are 400: 100 at 1.00, 300 at 0.30.
    found = row(bought(made_of(PRICED, line(1, "P"), builds=TWO, counts=receipt(500, "2027-04-01"))), "P")
    assert (found.ordered, found.left, found.left_value) == (F(100), F(400), F(190))
    check_identity(found)


def test_what_comes_too_late_or_is_spoilt_does_not_value_the_leftover() -> None:
    # 300 good pieces at 0.20; late and expired ones at 9.00 are not among those left.
    counts = shelf("works", 300, value='"0.20 EUR"') + receipt(500, "2027-09-01", "9.00 EUR")
    counts += receipt(600, None, "9.00 EUR") + shelf("works", 700, value='"9.00 EUR"', expires="2026-12-31")
    found = row(bought(made_of(PRICED, line(1, "P"), builds=TWO, counts=counts)), "P")
    assert (found.ordered, found.left, found.left_value) == (F(0), F(100), F(20))


def test_stock_without_a_value_is_worth_the_price_paid_and_unknown_where_nothing_is_bought() -> None:
    p = made_of(PRICED, line(1, "P"), builds=TWO, counts=shelf("works", 300))
    assert (row(bought(p), "P").left, row(bought(p), "P").left_value) == (F(100), None)
    # Steps of 150: a lacks 70 and buys 150; the receipt of 400 leaves 410 of 30 + 150 + 400 - 170... all at 1.00.
    stepped = "[part.P]\n" + source("P", "[{ from = 1, each = 1.00 }]", multiple="150")
    mixed = made_of(
        stepped, line(1, "P"), builds=TWO, counts=shelf("works", 30) + receipt(400, "2027-04-01", "1.00 EUR")
    )
    found = row(bought(mixed), "P")
    assert (found.ordered, found.left, found.left_value) == (F(150), F(380), F(380))


# Forms -----------------------------------------------------------------------------------------------------

LOSSY = '[part.P]\nclass = "electrical"\nplacement = "machine"\nattrition = "2 %"\nsetup_loss = 25\n'


def forms(reel: str, tape: str, size: int = 2000) -> Product:
    """Return 4,000 P a build from a reel and from cut tape: 4,155 from reels of 2,000, 4,105 from one strip."""
    packs = f'[{{ form = "reel", size = {size} }}' + (
        f', {{ form = "cut tape", price = {tape} }}]' if tape else "]"
    )
    return made_of(LOSSY + source("P", reel, pack=packs), line(1, "P", 4))


def test_each_form_is_asked_for_its_own_need() -> None:
    # A strip at 0.99 mounts once: 4,105 x 0.99. Three reels at 1.00 are 6,000.
    found = row(bought(forms("[{ from = 1, each = 1.00 }]", "[{ from = 1, each = 0.99 }]")), "P")
    assert (found.gross.total, found.gross.mounts, found.left) == (F(4105), 1, F(0))
    assert found.spend == 4105 * F("0.99")
    full = row(
        bought(forms("[{ from = 1, each = 1.00 }]", "[{ from = 1, each = 0.99 }]"), strategy="full packs"),
        "P",
    )
    assert (full.gross.total, full.ordered, full.left) == (F(4155), F(6000), F(1845))


def test_reels_with_a_strip_cover_the_need_from_reels() -> None:
    # Two reels at 0.50 and a strip of 155 at 0.90: 2,139.50; a strip alone 3,694.50, three reels 3,000.
    found = row(bought(forms("[{ from = 1, each = 0.50 }]", "[{ from = 1, each = 0.90 }]")), "P")
    assert [(lot.form.label, lot.qty) for lot in found.orders[0].basket.lots] == [  # type: ignore[union-attr]
        ("reel of 2,000", F(4000)),
        ("cut tape", F(155)),
    ]
    assert (found.spend, found.gross.total, found.left) == (F("2139.5"), F(4155), F(0))


def test_a_form_without_a_price_leaves_the_other() -> None:
    found = row(bought(forms("[]", "[{ from = 1, each = 0.99 }]")), "P")
    assert {name: basket.qty for name, basket in found.orders[0].purchase.baskets.items()} == dict.fromkeys(
        ("full packs", "mixed packs", "least cash now", "least expected total"), F(4105)
    )
    assert (found.gross.total, found.left) == (F(4105), F(0))


def test_a_reel_that_is_all_set_up_is_named_and_the_strip_serves() -> None:
    found = row(bought(forms("[{ from = 1, each = 0.50 }]", "[{ from = 1, each = 0.90 }]", size=20)), "P")
    assert (found.ordered, found.gross.total) == (F(4105), F(4105))
    assert "a pack of 20 is all lost at set-up" in found.unknown


@pytest.mark.parametrize("reel", ["[{ from = 1, each = 0.50 }]", "[]"])
def test_where_no_pack_can_serve_nothing_is_bought_and_it_is_said(reel: str) -> None:
    found = row(bought(forms(reel, "", size=20)), "P")
    assert found.orders == ()
    assert "a pack of 20 is all lost at set-up" in found.unknown


def test_packs_that_cannot_serve_a_later_build_do_not_stop_this_one() -> None:
    packs = '[{ form = "reel", size = 20 }, { form = "cut tape", price = [{ from = 1, each = 1 }] }]'
    p = made_of(
        LOSSY + source("P", "[{ from = 1, each = 1.00 }]", pack=packs),
        line(1, "P"),
        builds=plan(("a", 100, "2027-03-01"), ("b", 100, "2027-06-01")),
    )
    found = row(bought(p, builds=["a"]), "P")
    assert (found.ordered, found.later.qty) == (F(127), F(100))
    assert row(bought(p, builds=["b"]), "P").ordered == 127


# Charges ---------------------------------------------------------------------------------------------------


def charged(text: str, head: str = "") -> BuyRow:
    return row(
        bought(
            made_of(
                f"[part.P]\n{head}" + source("P", "[{ from = 1, each = 1.00 }]", charge=text), line(1, "P")
            )
        ),
        "P",
    )


def test_charges_by_the_piece_and_by_weight() -> None:
    assert charged('[{ name = "packing", amount = 0.05, per = "unit" }]').spend == 1050
    assert charged('[{ name = "air", amount = 4, per = "kg" }]', 'mass = "20 g"\n').spend == 1080
    assert (
        "mass of one, which a charge goes by" in charged('[{ name = "air", amount = 4, per = "kg" }]').unknown
    )


def test_the_least_amount_of_a_charge() -> None:
    # Once an order: 60 is asked where 45 is the rate. By weight it binds the whole charge: named, not taken for each.
    assert charged('[{ name = "inbound", amount = 45, minimum = 60, per = "order" }]').spend == 1060
    found = charged('[{ name = "air", amount = 4, minimum = 60, per = "kg" }]', 'mass = "20 g"\n')
    assert (found.spend, "least amount of charge air" in found.unknown) == (F(1080), True)


def test_a_charge_by_volume_is_named() -> None:
    found = charged('[{ name = "sea", amount = 32, per = "m3" }]')
    assert (found.spend, found.unknown) == (F(1000), ("lead time", "charge sea, which goes by volume"))


# Shares, days, places --------------------------------------------------------------------------------------


def test_a_share_too_small_for_a_piece_is_no_order() -> None:
    parts = "[part.P]\n" + source("P", "[{ from = 1, each = 1 }]", share='"70 %"')
    parts += source("P", "[{ from = 1, each = 1 }]", share='"30 %"')
    found = row(bought(made_of(parts, line(1, "P"), builds=plan(("a", 1, "2027-03-01")))), "P")
    assert [(each.quote.index, each.qty) for each in found.orders] == [(0, F(1))]


def test_shares_of_reels_and_trays_leave_no_hole() -> None:
    parts = LOSSY + source(
        "P", "[{ from = 1, each = 1 }]", share='"70 %"', pack='[{ form = "reel", size = 2000 }]', multiple="1"
    )
    parts += source(
        "P", "[{ from = 1, each = 1 }]", share='"30 %"', pack='[{ form = "tray", size = 100 }]', multiple="1"
    )
    found = row(bought(made_of(parts, line(1, "P", 4))), "P")
    assert [each.qty for each in found.orders] == [2909, 1246]
    check_identity(found)


def test_the_working_is_of_the_pack_that_loses_most() -> None:
    # As before, the tray first: what is needed is what reels need, not what trays would.
    parts = LOSSY + source(
        "P", "[{ from = 1, each = 1 }]", share='"30 %"', pack='[{ form = "tray", size = 100 }]', multiple="1"
    )
    parts += source(
        "P", "[{ from = 1, each = 1 }]", share='"70 %"', pack='[{ form = "reel", size = 2000 }]', multiple="1"
    )
    found = row(bought(made_of(parts, line(1, "P", 4))), "P")
    assert [each.qty for each in found.orders] == [1247, 2908]
    assert (found.gross.mounts, found.gross.total, found.left) == (3, F(4155), F(0))


def test_an_assembly_that_holds_only_later_has_its_day_too() -> None:
    # NEW comes in from January on: the plan starts in November, the build in March.
    top = (
        TOP
        + line(1, "NEW", effective="{ from = 2027-01-01 }")
        + line(2, "P", effective="{ to = 2026-12-31 }")
    )
    new = '[assembly]\nid = "NEW"\nfactory = "works"\nlead_time = "10 days"\n' + line(1, "Q")
    p = product(
        {
            "firms/f.toml": FIRMS + CHANNEL,
            "parts/p.toml": PRICED
            + "[part.Q]\n"
            + source("Q", "[{ from = 1, each = 1 }]", lead_time='"2 weeks"'),
            "assemblies/t.toml": top,
            "assemblies/n.toml": new,
            "plans/p.toml": plan(SPRING),
        }
    )
    found = row(bought(p), "Q")
    assert found.wanted[0][1].day is not None
    assert found.orders[0].order_by is not None


# Laws ------------------------------------------------------------------------------------------------------


@st.composite
def markets(draw: st.DrawFn, *, sources: int = 2, strips: bool = True) -> Product:
    """Draw a part with losses, sources of reels and strips, stock and receipts, and up to three builds."""
    count = st.integers(1, 900)
    text = (
        f'[part.P]\nclass = "electrical"\nplacement = "machine"\nattrition = "{draw(st.integers(0, 20))} %"\n'
    )
    text += f"setup_loss = {draw(st.integers(0, 30))}\nsafety_stock = {draw(st.sampled_from([0, 0, 70]))}\n"
    share = draw(st.sampled_from(["", '"60 %"']))
    for _ in range(draw(st.integers(1, sources))):
        prices = [f"[{{ from = {draw(st.integers(1, 300))}, each = {draw(count)} }}]" for _ in range(2)]
        size = draw(st.sampled_from([25, 40, 200, 1000]))
        tape = f', {{ form = "cut tape", price = {prices[1]} }}' if strips else ""
        packs = f'[{{ form = "reel", size = {size} }}{tape}]'
        more = {"share": share} if share else {}
        text += source("P", prices[0], pack=packs, multiple=str(draw(st.sampled_from([1, 7, size]))), **more)
    counts = shelf(
        "works", draw(count), expires=draw(st.sampled_from(["2027-01-01", "2027-04-01", "2028-01-01"]))
    )
    counts += receipt(draw(count), draw(st.sampled_from(["2027-01-15", "2027-05-01", "2027-10-01"])))
    days = st.sampled_from(["2027-03-01", "2027-06-01"])
    builds = [(name, draw(count), draw(days)) for name in "abc"[: draw(st.integers(1, 3))]]
    return made_of(text, line(1, "P", draw(st.integers(1, 3))), builds=plan(*builds), counts=counts)


@pytest.mark.property
@given(markets(), st.sampled_from(["full packs", "mixed packs", "least cash now", "least expected total"]))
def test_what_comes_in_is_used_up_or_left(p: Product, strategy: str) -> None:
    found = row(bought(p, strategy=strategy), "P")
    if found.orders or not found.netted.net:  # else no pack can serve, which is said
        check_identity(found)
    else:
        assert found.is_short
        assert found.unknown


@pytest.mark.property
@given(markets(sources=1), st.integers(1, 400))
def test_more_stock_never_costs_more(p: Product, more: int) -> None:
    lasting = replace(p.stock[0], qty=Count(more), expires=None)
    before, after = (row(bought(each), "P") for each in (p, replace(p, stock=(*p.stock, lasting))))
    if before.spend is not None and before.orders:  # else no pack can serve, which is said
        assert after.spend is not None
        assert after.spend <= before.spend


@pytest.mark.property
@given(markets(sources=1, strips=False))
def test_builds_asked_one_by_one_count_no_piece_twice(p: Product) -> None:
    # Those before a build are served first: the needs of all builds add up to no less than the need of all together.
    together = row(bought(p), "P")
    alone = [row(bought(p, builds=[run.name]), "P").netted.net for run in bought(p).runs.runs]
    if together.orders or not together.netted.net:  # else no pack can serve, which is said
        assert sum(alone) >= together.netted.net
