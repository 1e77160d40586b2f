"""From whom to buy: status before rank, shares that add up, allocations, packs that cannot serve."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_purchase import form

from ferrule.compute.gross import Pack
from ferrule.compute.purchase import Later
from ferrule.compute.quotes import Form, Quote
from ferrule.compute.sourcing import Choice, Chosen, Way, available, choose, usable
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.records.part import Source

F = Fraction
EACH = form((1, "1.00"))


def quote(index: int, *forms: Form, days: int | None = None, **named: object) -> Quote:
    """Return a quote; ``days`` stands in its seller part number, where ``chosen`` looks it up."""
    values: dict[str, object] = {"status": "approved", "seller_part": str(days or "")} | named
    return Quote(index=index, source=Source(**values), forms=forms, bare=forms[0] if forms else EACH)  # type: ignore[arg-type]


def days_of(asked: Quote) -> int | None:
    return int(asked.source.seller_part or 0) or None


def chosen(*quotes: Quote, need: int = 1000, choice: Choice = "preferred") -> tuple[Chosen, ...]:
    way = Way(choice, "least cash now", days_of)
    return choose(quotes, lambda asked: asked, lambda _: F(need), Later(), way)


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
    found = choose(quotes, lambda asked: asked if asked.index else None, lambda _: F(5), Later(), way)
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


def test_shares_of_different_packs_cover_the_larger_need() -> None:
    # From reels 4,155 are needed, from trays 4,080: the shares are of 4,155, or 22 would be missing.
    reel, tray = Pack(size=F(2000)), Pack(mounted=False)
    needs = {reel: F(4155), tray: F(4080)}
    forms = [Form(label="", path=(), breaks=((F(1), F(1)),), own=(), pack=pack) for pack in needs]
    quotes = [quote(0, forms[0], share=Percent.of("70 %")), quote(1, forms[1], share=Percent.of("30 %"))]
    found = choose(
        quotes, lambda asked: asked, needs.__getitem__, Later(), Way("preferred", "full packs", days_of)
    )
    assert sum(each.purchase.baskets["least cash now"].qty for each in found) == 4155


def test_what_is_promised_on_allocation() -> None:
    promised = quote(0, EACH, allocated=Count(400), held_for_us=Count(50))
    assert available([promised]) == 450
    assert available([promised, quote(1, EACH, allocated=Count(100))]) == 550
    assert available([promised, quote(1, EACH)]) is None  # one of them has no limit
    assert available([promised, quote(1, EACH, status="denied")]) == 450
    assert available([quote(0, EACH, status="denied")]) == 0
    assert available([]) == 0
