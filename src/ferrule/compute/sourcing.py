"""From which source to buy: the preferred, the cheapest, the fastest, or shares; never a denied one in silence.

A source that rations a part sells no more than it has allocated; the next one of the same standing takes the rest.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.gross import Pack
from ferrule.compute.purchase import Later, Purchase, Strategy, cheapest, largest, purchase
from ferrule.compute.quotes import Quote
from ferrule.model.records.part import Source

__all__ = ["CHOICES", "Choice", "Chosen", "Sourced", "Way", "available", "choose", "preferred", "usable"]

_ZERO, _ONE = Fraction(0), Fraction(1)
Choice = Literal["preferred", "cheapest", "fastest"]
CHOICES: tuple[Choice, ...] = ("preferred", "cheapest", "fastest")
#: Worse only when nothing better is there; a denied source is the last resort and always said.
_ORDER = {"approved": 0, "emergency": 1, "trial": 1, "denied": 2}


class Chosen(Struct, frozen=True):
    """An order to one source: its share of the net need (one where it takes all) and the ways to buy it.

    ``alone`` says that it takes the whole need, for each pack its own; else the need is one for all packs.
    ``rivals`` are the purchases at other sources of which it was the cheapest, where the whole need goes to one.
    """

    share: Fraction
    purchase: Purchase
    alone: bool = False
    rivals: tuple[Purchase, ...] = ()


class Sourced(Struct, frozen=True):
    """The orders that cover a need, and what of it is ``lacking``: more than all its sources have allocated."""

    orders: tuple[Chosen, ...] = ()
    lacking: Fraction = _ZERO


def usable(quotes: Sequence[Quote]) -> list[Quote]:
    """Return the quotes of the best status at hand: approved ones, else trial and emergency, else denied."""
    best = _best(quote.source for quote in quotes)
    return [quote for quote in quotes if _ORDER[quote.source.status] == best]


def _best(sources: Iterable[Source]) -> int:
    return min((_ORDER[source.status] for source in sources), default=0)


def preferred(sources: Sequence[Source]) -> tuple[int, ...]:
    """Return the indexes of the sources a build is bought from by preference, no prices looked at.

    The first by rank, then file order, among those of the best status; all that state a share where several
    do. A denied source is never one.
    """
    best = _best(sources)
    kept = [i for i, source in enumerate(sources) if _ORDER[source.status] == best != _ORDER["denied"]]
    shared = tuple(i for i in kept if sources[i].share is not None)
    if len(shared) > 1:
        return shared
    return tuple(sorted(kept, key=lambda i: _by_rank(sources[i], i))[:1])


def _by_rank(source: Source, index: int) -> tuple[bool, int, int]:
    return source.rank is None, source.rank or 0, index


def available(quotes: Sequence[Quote]) -> Fraction | None:
    """Return the most that can be had from sources that may be bought from, None where nothing limits it.

    A quantity on allocation limits a source; what the seller holds for us comes on top.
    """
    total = _ZERO
    for quote in usable(quotes):
        if quote.source.status == "denied":
            continue
        if quote.most is None:
            return None
        total += quote.most
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
) -> Sourced:
    """Return the orders that cover a need: one source, or several by their shares, which hold before any choice.

    ``preferred`` goes by rank, then file order; ``cheapest`` by the spend of the strategy; ``fastest`` by the
    days it takes. What is not known comes last. What a source has not allocated goes on to the next one of the
    same status. ``fit`` returns a quote with the forms that can serve, None where none can.
    """
    kept = usable(quotes)
    shared = [quote for quote in kept if quote.source.share is not None]
    ordered = sorted(kept, key=functools.partial(_before_price, way))
    if len(shared) > 1:
        fitting = [fitted for quote in shared if (fitted := fit(quote)) is not None]
        others = (fitted for quote in ordered if quote not in shared and (fitted := fit(quote)) is not None)
        return _shares(fitting, others, need, later)
    offers = (fitted for quote in ordered if (fitted := fit(quote)) is not None)
    return (
        _cheapest(list(offers), need, later, way)
        if way.choice == "cheapest"
        else _poured(offers, need, later)
    )


def _cheapest(offers: Sequence[Quote], need: Callable[[Pack], Fraction], later: Later, way: Way) -> Sourced:
    """Return the order of least spend; where what can be had limits one, they are filled in the order of spend."""
    free = [purchase(replace(quote, most=None), need, later) for quote in offers]
    ranked = sorted(free, key=functools.partial(_by_spend, way.strategy))
    if any(quote.most is not None for quote in offers):
        most = {quote.index: quote.most for quote in offers}
        limited = (replace(offer.quote, most=most[offer.quote.index]) for offer in ranked)
        return _poured(limited, need, later)
    return Sourced((Chosen(_ONE, ranked[0], alone=True, rivals=tuple(ranked[1:])),)) if ranked else Sourced()


def _poured(offers: Iterable[Quote], need: Callable[[Pack], Fraction], later: Later) -> Sourced:
    """Return orders at one source after the other: each takes all that is open, or what can be had of it.

    What one leaves open is counted in the packs of the first that gives something.
    """
    found, rest, whole, lacking = list[Chosen](), None, _ONE, _ZERO
    for quote in offers:
        wanted = need if rest is None else _always(rest)
        asked = _asked(quote, wanted)
        whole = asked if rest is None and asked else whole
        if _can_cover(quote, asked):
            share = _ONE if rest is None else rest / whole
            return Sourced((*found, Chosen(share, purchase(quote, wanted, later), alone=rest is None)))
        part = _part_of(quote, asked)
        lacking = asked - part
        if part:
            found.append(Chosen(part / whole, purchase(quote, _always(part), Later())))
            rest = lacking
    return Sourced(tuple(found), lacking)


def _asked(quote: Quote, need: Callable[[Pack], Fraction]) -> Fraction:
    """Return the need for the pack of a source that loses most."""
    return max(need(form.pack) for form in quote.forms or (quote.bare,))


def _can_cover(quote: Quote, asked: Fraction) -> bool:
    """Return whether an order that covers a need stays within what can be had."""
    if quote.most is None or asked <= 0:
        return True
    if not quote.forms:
        return quote.bare.rounded(asked) <= quote.most
    return asked <= quote.most and cheapest(quote, asked) is not None


def _part_of(quote: Quote, asked: Fraction) -> Fraction:
    """Return the most of a need that can be had from a source which cannot cover it."""
    return asked if quote.most is None else largest(quote, min(quote.most, asked))


def _always(amount: Fraction) -> Callable[[Pack], Fraction]:
    return lambda _: amount


def _before_price(way: Way, quote: Quote) -> tuple[bool, int, bool, int, int]:
    """Return what sorts quotes before their price is known."""
    days = way.days(quote) if way.choice == "fastest" else 0
    return days is None, days or 0, *_by_rank(quote.source, quote.index)


def _by_spend(strategy: Strategy, offer: Purchase) -> tuple[bool, Fraction]:
    return not offer.baskets, offer.baskets[strategy].spend if offer.baskets else _ZERO


def _shares(
    quotes: Sequence[Quote], others: Iterable[Quote], need: Callable[[Pack], Fraction], later: Later
) -> Sourced:
    """Return an order for each share; shares are taken of their own sum, whole units rounded so as to add up.

    Packs differ in what is lost by mounting them: the shares are of the largest need, so that they cover it.
    What one of them has not allocated goes to the next that can take it, then to sources without a share.
    """
    most = max((_asked(quote, need) for quote in quotes), default=_ZERO)
    parts, rest = _parts(quotes, most), _ZERO
    for place, quote in enumerate(quotes):
        if not _can_cover(quote, parts[place]):
            kept = _part_of(quote, parts[place])
            parts[place], rest = kept, rest + parts[place] - kept
    for place, quote in enumerate(quotes):
        if rest and _has_share(quote) and _can_cover(quote, parts[place] + rest):
            parts[place], rest = parts[place] + rest, _ZERO
    whole = most or _ONE
    found = [
        Chosen(part / whole, purchase(quote, _always(part), Later(later.qty * part / whole, later.carrying)))
        for quote, part in zip(quotes, parts, strict=True)
        if _has_share(quote)
    ]
    more = _poured(others, _always(rest), Later()) if rest else Sourced()
    added = (Chosen(each.share * rest / whole, each.purchase) for each in more.orders)
    return Sourced((*found, *added), more.lacking if more.orders or more.lacking else rest)


def _has_share(quote: Quote) -> bool:
    return quote.source.share is not None and bool(quote.source.share.fraction)


def _parts(quotes: Sequence[Quote], whole: Fraction) -> list[Fraction]:
    """Return a need cut by the shares; a whole need is cut into whole parts."""
    stated = [Fraction(quote.source.share.fraction) for quote in quotes if quote.source.share is not None]
    total = sum(stated, _ZERO) or _ONE
    ends = [whole * so_far / total for so_far in itertools.accumulate(stated, initial=_ZERO)]
    if whole.denominator == 1:
        ends = [Fraction(math.ceil(end)) for end in ends]
    return [after - before for before, after in itertools.pairwise(ends)]
