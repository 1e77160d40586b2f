"""Order lots of a bought part over its builds: what `buy` would order at once, spread over several orders.

Every order may use whatever a single order could: all forms and packs of its source, and where the whole need
goes to the cheapest source, any of those it was chosen from. So one lot for everything costs what `buy` pays.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import BuyRow, OrderLine
from ferrule.compute.gross import Pack
from ferrule.compute.lots import Ladder, LotPlan, lot_for_lot, one_lot, plan_lots
from ferrule.compute.quotes import Quote
from ferrule.model.percent import Percent

__all__ = ["Lotted", "lots_of"]

_ZERO = Fraction(0)


class Lotted(Struct, frozen=True, kw_only=True):
    """Order lots of one part over the builds: the least-cost plan, and two simple ones beside it.

    ``sellers`` are those of the sources that lots may go to, by the index in a lot. ``parted`` says that this is one
    source's part of a need that is shared out or limited: the lots are least for that part only. ``each_build`` is None where
    what is allocated is not enough for it. ``runs`` and ``demand`` are by build, in the order of their days.
    """

    part: str
    buyer: str | None
    sellers: tuple[str | None, ...]
    runs: tuple[str, ...]
    demand: tuple[Fraction, ...]
    best: LotPlan
    each_build: LotPlan | None
    once: LotPlan
    parted: bool


def lots_of(row: BuyRow, rate: Percent | None) -> list[Lotted]:
    """Return the order lots of a part, source by source where several orders share the need; none without a price.

    What nobody can be asked for is left out: needs are covered in the order of their days. Carrying goes by the
    yearly ``rate`` on the price paid for the whole need at once.
    """
    priced = [order for order in row.orders if order.quote.forms and order.basket is not None]
    if len(priced) < len(row.orders):
        return []
    if len(priced) == 1 and priced[0].alone:
        return [_lotted(row, priced[0], list(_ways(row, priced[0])), rate, parted=False)]
    return [
        _lotted(row, order, [((order.quote,), demand)], rate, parted=True)
        for order, demand in zip(priced, _parted(row, priced), strict=True)
        if any(demand)
    ]


#: Sources and forms to buy from, and what each build then needs.
_Way = tuple[tuple[Quote, ...], tuple[Fraction, ...]]


def _ways(row: BuyRow, order: OrderLine) -> Iterator[_Way]:
    """Yield everything together for the need of the pack that loses most, then each form alone for its own."""
    rivals = [offer.quote for offer in order.rivals if offer.quote.forms]
    quotes = (order.quote, *rivals)
    if rivals:
        yield quotes, _most(row.nets, quotes)
    for quote in quotes:
        yield (quote,), _most(row.nets, (quote,))
        if len(quote.forms) > 1:
            for form in quote.forms:
                yield (_with_forms(quote, form.pack),), row.nets[form.pack]


def _with_forms(quote: Quote, pack: Pack) -> Quote:
    return Quote(
        index=quote.index,
        source=quote.source,
        forms=tuple(form for form in quote.forms if form.pack == pack),
        bare=quote.bare,
        per_order=quote.per_order,
        most=quote.most,
    )


def _most(nets: Mapping[Pack, tuple[Fraction, ...]], quotes: Sequence[Quote]) -> tuple[Fraction, ...]:
    """Return needs that cover those of every pack at every time, with the same sum as the largest."""
    ends = _ends([nets[form.pack] for quote in quotes for form in quote.forms])
    return tuple(after - before for before, after in itertools.pairwise([_ZERO, *ends]))


def _ends(needs: Iterable[Sequence[Fraction]]) -> list[Fraction]:
    """Return the largest of some needs so far, after each build."""
    return [max(column) for column in zip(*map(itertools.accumulate, needs), strict=True)]


def _parted(row: BuyRow, orders: Sequence[OrderLine]) -> list[tuple[Fraction, ...]]:
    """Return what each build needs from each of several orders: in proportion, each order's whole need in the end.

    Walked back from the end, so that no order's need ever falls; what rounding leaves open goes to the first
    order that has room.
    """
    totals = [order.purchase.need for order in orders]
    whole = sum(totals, _ZERO)
    reached = [list[Fraction]() for _ in orders]
    after = totals
    for end in reversed(_ends(row.nets.values())):
        share = min(end / whole, Fraction(1)) if whole else _ZERO
        now = [min(most, _floor(total * share)) for most, total in zip(after, totals, strict=True)]
        open_ = min(end, whole) - sum(now, _ZERO)
        for place, most in enumerate(after):
            more = max(_ZERO, min(open_, most - now[place]))
            now[place], open_ = now[place] + more, open_ - more
        for place, each in enumerate(now):
            reached[place].insert(0, each)
        after = now
    return [tuple(later - before for before, later in itertools.pairwise([_ZERO, *each])) for each in reached]


def _floor(amount: Fraction) -> Fraction:
    return Fraction(math.floor(amount))


def _lotted(
    row: BuyRow, order: OrderLine, ways: Sequence[_Way], rate: Percent | None, *, parted: bool
) -> Lotted:
    """Return the least-cost plan over all ways to buy, and the simple plans of the ways that suit them best."""
    price = order.purchase.baskets["least cash now"].each or _ZERO
    holding = _holding(row, Fraction(rate.fraction) * price if rate is not None else _ZERO)
    plans = ((_within(plan_lots, needs, way, holding), way, needs) for way, needs in ways)
    best, quotes, demand = min(
        ((plan, way, needs) for plan, way, needs in plans if plan is not None),
        key=lambda found: found[0].total,
    )
    each_build, once = (
        min(
            (plan for way, needs in ways if (plan := _within(rule, needs, way, holding)) is not None),
            key=lambda plan: (plan.ordering, plan.total),
            default=None,
        )
        for rule in (lot_for_lot, one_lot)
    )
    return Lotted(
        part=row.part,
        buyer=row.buyer,
        sellers=tuple(quote.source.seller for quote in quotes),
        runs=tuple(name for name, _ in row.wanted),
        demand=demand,
        best=best,
        each_build=each_build,
        once=once or best,
        parted=parted,
    )


def _ladders(quotes: Sequence[Quote]) -> list[Ladder]:
    return [Ladder(forms=quote.forms, per_order=quote.per_order) for quote in quotes]


def _within(
    rule: Callable[..., LotPlan],
    demand: Sequence[Fraction],
    quotes: Sequence[Quote],
    holding: Sequence[Fraction],
) -> LotPlan | None:
    """Return the plan of a rule, None where what can be had is not enough for it."""
    try:
        return rule(demand, _ladders(quotes), holding, most=quotes[0].most)
    except ValueError:
        return None


def _holding(row: BuyRow, yearly: Fraction) -> list[Fraction]:
    """Return what keeping one unit costs from each build's need to the next; nothing after the last."""
    days = [each.day for _, each in row.wanted]
    weeks = [_between(one, other) for one, other in itertools.pairwise(days)]
    return [yearly * span / 52 for span in [*weeks, _ZERO]]


def _between(one: dt.date | None, other: dt.date | None) -> Fraction:
    return Fraction(max(0, (other - one).days), 7) if one is not None and other is not None else _ZERO
