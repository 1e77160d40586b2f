"""From which source to buy: the preferred, the cheapest, the fastest, or shares; never a denied one in silence."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.gross import Pack
from ferrule.compute.purchase import Later, Purchase, Strategy, purchase
from ferrule.compute.quotes import Quote

__all__ = ["CHOICES", "Choice", "Chosen", "Way", "available", "choose", "usable"]

_ZERO = Fraction(0)
Choice = Literal["preferred", "cheapest", "fastest"]
CHOICES: tuple[Choice, ...] = ("preferred", "cheapest", "fastest")
#: Worse only when nothing better is there; a denied source is the last resort and always said.
_ORDER = {"approved": 0, "emergency": 1, "trial": 1, "denied": 2}


class Chosen(Struct, frozen=True):
    """An order to one source: its share of the net need (one where it takes all) and the ways to buy it."""

    share: Fraction
    purchase: Purchase


def usable(quotes: Sequence[Quote]) -> list[Quote]:
    """Return the quotes of the best status at hand: approved ones, else trial and emergency, else denied."""
    best = min((_ORDER[quote.source.status] for quote in quotes), default=0)
    return [quote for quote in quotes if _ORDER[quote.source.status] == best]


def available(quotes: Sequence[Quote]) -> Fraction | None:
    """Return the most that can be had from sources that may be bought from, None where nothing limits it.

    A quantity on allocation limits a source; what the seller holds for us comes on top.
    """
    total = _ZERO
    for quote in usable(quotes):
        if quote.source.status == "denied":
            continue
        if quote.source.allocated is None:
            return None
        total += Fraction(quote.source.allocated) + Fraction(quote.source.held_for_us or 0)
    return total


class Way(Struct, frozen=True):
    """How a source is picked: the kind of choice, the strategy that decides on spend, days from order to use."""

    choice: Choice
    strategy: Strategy
    days: Callable[[Quote], int | None]


def choose(
    quotes: Sequence[Quote],
    fit: Callable[[Quote], Quote | None],
    need: Callable[[Pack], Fraction],
    later: Later,
    way: Way,
) -> tuple[Chosen, ...]:
    """Return the orders that cover a need: one source, or several by their shares, which hold before any choice.

    ``preferred`` goes by rank, then file order; ``cheapest`` by the spend of the strategy; ``fastest`` by the
    days it takes. What is not known comes last. ``fit`` returns a quote with the forms that can serve, None
    where none can.
    """
    kept = usable(quotes)
    shared = [quote for quote in kept if quote.source.share is not None]
    if len(shared) > 1:
        fitting = [fitted for quote in shared if (fitted := fit(quote)) is not None]
        return _shares(fitting, need, later)
    ordered = sorted(kept, key=functools.partial(_before_price, way))
    offers = (purchase(fitted, need, later) for quote in ordered if (fitted := fit(quote)) is not None)
    if way.choice == "cheapest":
        best = min(offers, key=functools.partial(_by_spend, way.strategy), default=None)
    else:
        best = next(offers, None)
    return () if best is None else (Chosen(Fraction(1), best),)


def _before_price(way: Way, quote: Quote) -> tuple[bool, int, bool, int, int]:
    """Return what sorts quotes before their price is known."""
    days = way.days(quote) if way.choice == "fastest" else 0
    rank = quote.source.rank
    return days is None, days or 0, rank is None, rank or 0, quote.index


def _by_spend(strategy: Strategy, offer: Purchase) -> tuple[bool, Fraction]:
    return not offer.baskets, offer.baskets[strategy].spend if offer.baskets else _ZERO


def _shares(quotes: Sequence[Quote], need: Callable[[Pack], Fraction], later: Later) -> tuple[Chosen, ...]:
    """Return an order for each share; shares are taken of their own sum, whole units rounded so as to add up.

    Packs differ in what is lost by mounting them: the shares are of the largest need, so that they cover it.
    """
    packs = [form.pack for quote in quotes for form in quote.forms or (quote.bare,)]
    most = max((need(pack) for pack in packs), default=_ZERO)
    stated = [Fraction(quote.source.share.fraction) for quote in quotes if quote.source.share is not None]
    total = sum(stated, _ZERO)
    found, before = [], _ZERO
    for quote, share in zip(quotes, stated, strict=True):
        if share:
            after = before + share / total
            found.append(Chosen(share / total, purchase(quote, _between(most, before, after), later)))
            before = after
    return tuple(found)


def _between(whole: Fraction, low: Fraction, high: Fraction) -> Callable[[Pack], Fraction]:
    """Return the part of a need between two shares, for any pack; a whole need is cut into whole parts."""
    part = whole * (high - low)
    if whole.denominator == 1:
        part = Fraction(math.ceil(whole * high) - math.ceil(whole * low))
    return lambda _: part
