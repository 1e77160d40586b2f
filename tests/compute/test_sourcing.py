"""From whom to buy: status before rank, shares that add up, allocations, packs that cannot serve."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_buying import figures
from test_purchase import form

from ferrule.compute.gross import Pack
from ferrule.compute.purchase import Later
from ferrule.compute.quotes import Form, Quote, rationed
from ferrule.compute.sourcing import Choice, Chosen, Sourced, Way, available, choose, usable
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.records.part import Source

F = Fraction
EACH = form((1, "1.00"))


def quote(index: int, *forms: Form, days: int | None = None, **named: object) -> Quote:
    """Return a quote; ``days`` stands in its seller part number, where ``chosen`` looks it up."""
    values: dict[str, object] = {"status": "approved", "seller_part": str(days or "")} | named
    source = Source(**values)  # type: ignore[arg-type]
    bare = forms[0] if forms else EACH
    return Quote(index=index, source=source, forms=forms, bare=bare, most=rationed(source))


def days_of(asked: Quote) -> int | None:
    return int(asked.source.seller_part or 0) or None


def sourced(*quotes: Quote, need: int = 1000, choice: Choice = "preferred") -> Sourced:
    way = Way(choice, "least cash now", days_of)
    return choose(quotes, lambda asked: asked, lambda _: F(need), Later(), way)


def chosen(*quotes: Quote, need: int = 1000, choice: Choice = "preferred") -> tuple[Chosen, ...]:
    return sourced(*quotes, need=need, choice=choice).orders


def taken(*quotes: Quote, need: int = 1000, choice: Choice = "preferred") -> list[tuple[int, int]]:
    """Return source and quantity of each order."""
    orders = [each.purchase for each in chosen(*quotes, need=need, choice=choice)]
    return [(each.quote.index, int(each.baskets["least cash now"].qty)) for each in orders]


def picked(*quotes: Quote, need: int = 1000, choice: Choice = "preferred") -> int:
    return chosen(*quotes, need=need, choice=choice)[0].purchase.quote.index


# Status ----------------------------------------------------------------------------------------------------


def test_status_comes_before_rank() -> None:
    trial, approved = quote(0, EACH, status="trial", rank=1), quote(1, EACH, status="approved", rank=2)
    assert picked(trial, approved) == 1
    assert picked(trial, quote(1, EACH, status="emergency", rank=2)) == 0  # neither is approved: by rank
    assert picked(trial, quote(1, EACH, status="denied", rank=None)) == 0
    assert [each.index for each in usable([trial, approved])] == [1]


@pytest.mark.parametrize("choice", ["preferred", "cheapest", "fastest"])
def test_no_choice_buys_from_a_denied_source_while_there_is_another(choice: Choice) -> None:
    denied = quote(0, form((1, "0.01")), days=1, status="denied", rank=1)
    assert picked(denied, quote(1, EACH, days=99, status="trial", rank=9), choice=choice) == 1
    assert picked(denied, choice=choice) == 0


def test_nobody_to_buy_from() -> None:
    assert chosen() == ()
    assert usable([]) == []


# Choice ----------------------------------------------------------------------------------------------------


def test_preferred_is_the_lowest_rank_then_the_first_in_the_file() -> None:
    assert picked(quote(0, EACH), quote(1, EACH, rank=2), quote(2, EACH, rank=1), quote(3, EACH, rank=1)) == 2
    assert picked(quote(0, EACH), quote(1, EACH)) == 0


def test_cheapest_goes_by_what_is_spent_not_by_the_price() -> None:
    # 100 at 1.00 = 100; 0.80 from 200 on only: 160. For 150 it is 150 against 160, for 170 the other way round.
    one, other = quote(0, EACH), quote(1, form((200, "0.80"), moq=200))
    assert [picked(one, other, need=need, choice="cheapest") for need in (100, 150, 170)] == [0, 0, 1]


def test_an_unknown_price_is_never_the_cheapest_nor_an_unknown_time_the_fastest() -> None:
    assert picked(quote(0), quote(1, form((1, "99"))), choice="cheapest") == 1
    assert picked(quote(0, EACH), quote(1, EACH, days=300), choice="fastest") == 1
    assert picked(quote(0, EACH, days=20), quote(1, EACH, days=19, rank=9), choice="fastest") == 1


def test_equals_go_by_rank() -> None:
    for choice in ("cheapest", "fastest"):
        assert picked(quote(0, EACH, days=9, rank=2), quote(1, EACH, days=9, rank=1), choice=choice) == 1


def test_a_source_whose_packs_cannot_serve_is_passed_over() -> None:
    way = Way("preferred", "least cash now", days_of)
    quotes = [quote(0, EACH, rank=1), quote(1, EACH, rank=2)]
    found = choose(quotes, lambda asked: asked if asked.index else None, lambda _: F(5), Later(), way).orders
    assert [each.purchase.quote.index for each in found] == [1]


# Shares and allocations ------------------------------------------------------------------------------------


def shared(*shares: int, need: int) -> list[int]:
    quotes = [quote(i, EACH, share=Percent.of(f"{share} %")) for i, share in enumerate(shares)]
    return [int(each.purchase.baskets["least cash now"].qty) for each in chosen(*quotes, need=need)]


def test_shares_are_cut_into_whole_pieces() -> None:
    assert shared(70, 30, need=1001) == [701, 300]
    assert shared(70, 30, need=1) == [1, 0]


def test_shares_are_taken_of_their_own_sum() -> None:
    assert shared(60, 20, need=1000) == [750, 250]  # 60 and 20 of 80
    assert shared(100, 0, need=10) == [10]


def test_shares_hold_before_rank_and_among_the_approved_only() -> None:
    quotes = [
        quote(0, EACH, share=Percent.of("70 %"), rank=2),
        quote(1, EACH, rank=1),
        quote(2, EACH, share=Percent.of("30 %"), status="trial"),
    ]
    assert [each.purchase.quote.index for each in chosen(*quotes)] == [1]  # one share alone shares nothing
    quotes[2] = quote(2, EACH, share=Percent.of("30 %"))
    assert [each.purchase.quote.index for each in chosen(*quotes)] == [0, 2]


@given(st.lists(st.integers(0, 100), min_size=2, max_size=5).filter(any), st.integers(0, 5000))
def test_shares_add_up_exactly(shares: list[int], need: int) -> None:
    assert sum(shared(*shares, need=need)) == need


def test_a_share_that_rounding_left_without_a_piece_takes_what_the_other_has_not_allocated() -> None:
    # One piece at 50 and 50 % goes to the first, which has none: the second takes it.
    half = Percent.of("50 %")
    quotes = [quote(0, EACH, share=half, allocated=Count(0)), quote(1, EACH, share=half)]
    assert taken(*quotes, need=1) == [(0, 0), (1, 1)]
    assert sourced(*quotes, need=1).lacking == 0


def test_shares_of_different_packs_cover_the_larger_need() -> None:
    # From reels 4,155 are needed, from trays 4,080: the shares are of 4,155, or 22 would be missing.
    reel, tray = Pack(size=F(2000)), Pack(mounted=False)
    needs = {reel: F(4155), tray: F(4080)}
    forms = [Form(label="", path=(), breaks=((F(1), F(1)),), own=(), pack=pack) for pack in needs]
    quotes = [quote(0, forms[0], share=Percent.of("70 %")), quote(1, forms[1], share=Percent.of("30 %"))]
    found = choose(
        quotes, lambda asked: asked, needs.__getitem__, Later(), Way("preferred", "full packs", days_of)
    ).orders
    assert sum(each.purchase.baskets["least cash now"].qty for each in found) == 4155


def test_what_is_promised_on_allocation() -> None:
    promised = quote(0, EACH, allocated=Count(400), held_for_us=Count(50))
    assert available([promised]) == 450
    assert available([promised, quote(1, EACH, allocated=Count(100))]) == 550
    assert available([promised, quote(1, EACH)]) is None  # one of them has no limit
    assert available([promised, quote(1, EACH, status="denied")]) == 450
    assert available([quote(0, EACH, status="denied")]) == 0
    assert available([]) == 0


# More than is allocated ------------------------------------------------------------------------------------


def some(index: int, most: int, *forms: Form, **named: object) -> Quote:
    return quote(index, *(forms or (EACH,)), days=None, allocated=Count(most), **named)


def test_what_is_not_allocated_goes_on_to_the_next_source() -> None:
    # 600 of the first by rank, then 250, and the rest where nothing is rationed.
    ranked = some(0, 600, rank=1), some(1, 250, rank=2), quote(2, EACH, rank=3)
    assert taken(*ranked, need=1000) == [(0, 600), (1, 250), (2, 150)]
    assert taken(*ranked, need=600) == [(0, 600)]
    assert [each.share for each in chosen(*ranked, need=1000)] == [F(6, 10), F(25, 100), F(15, 100)]
    assert sourced(*ranked, need=1000).lacking == 0


def test_what_nobody_has_allocated_is_lacking() -> None:
    found = sourced(some(0, 600), some(1, 250), quote(2, EACH, status="trial"))
    assert [each.purchase.need for each in found.orders] == [600, 250]
    assert found.lacking == 150


def test_an_allocation_is_filled_in_what_can_be_ordered() -> None:
    # 1,000 of 1,200 allocated in reels of 500; 1,300 are needed: two reels, then 300 elsewhere.
    assert taken(some(0, 1200, form((500, "1"), step=500)), quote(1, EACH), need=1300) == [
        (0, 1000),
        (1, 300),
    ]
    # A reel of 2,000 is more than is allocated: nothing can be had there.
    assert taken(some(0, 1200, form((1, "1"), step=2000)), quote(1, EACH), need=300) == [(1, 300)]
    # Without a price the order rule alone tells.
    assert [each.purchase.need for each in chosen(some(0, 600), quote(1))] == [600, 400]


def test_no_way_to_buy_takes_more_than_is_allocated() -> None:
    # 900 at 1.20 are 1,080, 1,000 at 1.05 only 1,050: not to be had where 950 are allocated. A full reel of 1,000
    # neither.
    reel = form((1, "1.20"), (1000, "1.05"), pack=1000)
    offer = chosen(some(0, 950, reel), need=900)[0].purchase
    assert {name: basket.qty for name, basket in offer.baskets.items()} == dict.fromkeys(offer.baskets, 900)
    assert offer.baskets["least cash now"].spend == 1080
    assert chosen(some(0, 1000, reel), need=900)[0].purchase.baskets["least cash now"].spend == 1050


def test_the_cheapest_are_filled_first() -> None:
    dear, cheap = quote(0, form((1, "2"))), some(1, 400)
    assert taken(dear, cheap, choice="cheapest") == [(1, 400), (0, 600)]


def test_a_share_beyond_what_is_allocated_goes_to_the_others() -> None:
    one, other = some(0, 500, share=Percent.of("70 %")), quote(1, EACH, share=Percent.of("30 %"))
    assert taken(one, other) == [(0, 500), (1, 500)]
    both = one, some(1, 400, share=Percent.of("30 %"))
    assert taken(*both, quote(2, EACH)) == [(0, 500), (1, 300), (2, 200)]
    found = sourced(*both)
    assert figures([each.purchase.need for each in found.orders], found.lacking) == ([500, 300], 200)


rationed_quotes = st.lists(
    st.tuples(st.none() | st.integers(0, 40), st.sampled_from([1, 3, 10]), st.integers(1, 9)),
    min_size=1,
    max_size=4,
)


@pytest.mark.property
@given(rationed_quotes, st.integers(1, 100), st.sampled_from(["preferred", "cheapest"]))
def test_orders_and_what_is_lacking_cover_the_need(
    sources: list[tuple[int | None, int, int]], need: int, choice: Choice
) -> None:
    quotes = [
        quote(i, form((1, str(price)), step=step), allocated=None if most is None else Count(most))
        for i, (most, step, price) in enumerate(sources)
    ]
    found = sourced(*quotes, need=need, choice=choice)
    assert sum(each.purchase.need for each in found.orders) + found.lacking == need
    for each in found.orders:
        most = each.purchase.quote.most
        assert all(most is None or basket.qty <= most for basket in each.purchase.baskets.values())
    if found.lacking:
        # No source has anything left that could be ordered.
        left = {each.purchase.quote.index: each.purchase.need for each in found.orders}
        for asked in quotes:
            step, most = asked.forms[0].step, asked.most
            assert most is not None
            assert left.get(asked.index, 0) == most // step * step
