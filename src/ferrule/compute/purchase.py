"""How much of one part to order from one source: the cheapest lawful basket, proven, and the ways beside it.

A basket holds a quantity in each form a source sells. Price breaks hold for the whole quantity in a form, so
cost is not monotone: buying more can cost less. Four ways to buy stand side by side, each under its name:
whole packs only, whole packs and a cut strip, least cash now, least expected total.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.gross import Pack
from ferrule.compute.order_curve import grid_of
from ferrule.compute.quotes import Form, Quote, common_step

__all__ = [
    "STRATEGIES",
    "Basket",
    "Later",
    "Lot",
    "Purchase",
    "Strategy",
    "basket_of",
    "cheapest",
    "largest",
    "pays_from",
    "purchase",
]

_ZERO = Fraction(0)
Strategy = Literal["full packs", "mixed packs", "least cash now", "least expected total"]
#: In the order in which they are shown.
STRATEGIES: tuple[Strategy, ...] = ("full packs", "mixed packs", "least cash now", "least expected total")


class Lot(Struct, frozen=True):
    """A quantity bought in one form of a source, at the price that holds for it."""

    form: Form
    qty: Fraction
    price: Fraction


class Basket(Struct, frozen=True, kw_only=True):
    """What is bought from one source at once. Money in the home currency.

    ``qty`` is the quantity in all, ``goods`` quantity times price, ``charges`` what comes beside it, ``need``
    what it has to cover.
    """

    lots: tuple[Lot, ...]
    need: Fraction
    qty: Fraction
    goods: Fraction
    charges: Fraction

    @property
    def spend(self) -> Fraction:
        """Return goods and charges."""
        return self.goods + self.charges

    @property
    def left(self) -> Fraction:
        """Return what is bought beyond the need."""
        return self.qty - self.need

    @property
    def each(self) -> Fraction | None:
        """Return the effective price of one: goods over quantity, charges left aside; None for nothing."""
        return self.goods / self.qty if self.qty else None


class Later(Struct, frozen=True):
    """Who will use a leftover: firm demand after this order, and what carrying it costs of its value."""

    qty: Fraction = _ZERO
    carrying: Fraction = _ZERO


class Purchase(Struct, frozen=True, kw_only=True):
    """The four ways to cover a need at one source; None where no price is known.

    ``expected`` is what a basket costs in the end: spend less the value of the leftover that firm later
    demand will use, plus the cost of carrying it until then.
    """

    quote: Quote
    need: Fraction
    baskets: dict[Strategy, Basket]
    expected: dict[Strategy, Fraction]
    #: Quantity from which buying up to the next break costs no more than buying the need, with that break.
    pays_from: tuple[Fraction, Fraction] | None = None


def basket_of(quote: Quote, lots: Iterable[tuple[Form, Fraction]], need: Fraction) -> Basket:
    """Return the basket of some quantities by form, priced."""
    kept = [(form, qty) for form, qty in lots if qty]
    priced = tuple(Lot(form, qty, form.price(qty)) for form, qty in kept)
    beside = [lot.form.charge + lot.form.per_unit * lot.qty for lot in priced]
    return Basket(
        lots=priced,
        need=need,
        qty=sum((lot.qty for lot in priced), _ZERO),
        goods=sum((lot.qty * lot.price for lot in priced), _ZERO),
        charges=sum(beside, quote.per_order if priced else _ZERO),
    )


def cheapest(quote: Quote, need: Fraction) -> Basket | None:
    """Return the basket of least spend that covers a need and stays within what can be had, proven least.

    None where no price is known, or nothing that can be ordered lies between the need and what can be had.
    Ties go to the smaller quantity, then to the form listed first.
    """
    if need <= 0:
        return basket_of(quote, (), max(need, _ZERO))
    found = _unlimited(quote, need)
    if found is None or quote.most is None or found.qty <= quote.most:
        return found
    return _within(quote, need, quote.most)


def _within(quote: Quote, need: Fraction, most: Fraction) -> Basket | None:
    """Return the cheapest basket of a quantity from ``need`` to ``most``, read off the curve of all orders."""
    grid = grid_of(quote.forms)
    low, high = math.ceil(need / grid.unit), math.floor(most / grid.unit)
    costs = [
        (stretch.at(x), x)
        for stretch in grid.curve(quote.forms, high + 1)
        if (x := max(stretch.lo, low)) <= min(stretch.hi, high)
    ]
    if not costs:
        return None
    return basket_of(quote, grid.mix(quote.forms, min(costs)[1] * grid.unit) or (), need)


def largest(quote: Quote, most: Fraction) -> Fraction:
    """Return the largest quantity up to ``most`` that can be ordered, 0 for none; without a price by the order rule."""
    if not quote.forms:
        steps = math.floor(most / quote.bare.step) * quote.bare.step
        return steps if steps >= quote.bare.least else _ZERO
    grid = grid_of(quote.forms)
    high = math.floor(most / grid.unit)
    reached = [min(stretch.hi, high) for stretch in grid.curve(quote.forms, high + 1) if stretch.lo <= high]
    return max(reached, default=0) * grid.unit


def _unlimited(quote: Quote, need: Fraction) -> Basket | None:
    """Return the cheapest basket, whatever can be had.

    Method: every choice of one price segment (or nothing) for each form leaves a covering problem with
    linear cost, solved by branch and bound. The bound is the rest at the cheapest remaining price; how far
    down a form's count has to be tried follows from exchange: among more than ``m0/gcd(m0, mj) - 1`` steps of
    form j some make a whole number of steps of form 0, which is no dearer.
    """
    best: tuple[Fraction, Fraction, int, list[tuple[Form, Fraction]]] | None = None
    choices = [[None, *_segments(form, need)] for form in quote.forms]
    for number, choice in enumerate(itertools.product(*choices)):
        used = [segment for segment in choice if segment is not None]
        if not used:
            continue
        fixed = sum((segment.form.charge for segment in used), _ZERO)
        bound = None if best is None else best[0] - fixed
        found = _cover(used, need, bound)
        if found is None:
            continue
        cost, counts = found
        lots = [(segment.form, segment.step * count) for segment, count in zip(used, counts, strict=True)]
        qty = sum((amount for _, amount in lots), _ZERO)
        key = (cost + fixed, qty, number)
        if best is None or key < best[:3]:
            best = (*key, lots)
    return None if best is None else basket_of(quote, best[3], need)


class _Segment(Struct, frozen=True):
    """A form within one price break: counts of its step from ``low`` to ``high``, at ``price`` each unit."""

    form: Form
    low: int
    high: int
    step: Fraction
    price: Fraction


def _segments(form: Form, need: Fraction) -> Iterator[_Segment]:
    step = form.step
    least = math.ceil(form.least / step)
    most = max(least, math.ceil(need / step))
    starts = [math.ceil(start / step) for start, _ in form.breaks]
    for index, (_, price) in enumerate(form.breaks):
        low = max(least, starts[index])
        last = starts[index + 1] - 1 if index + 1 < len(starts) else None
        # Beyond the need only the first count of a segment can be best: more of it only costs more.
        high = max(low, most) if last is None else min(last, max(low, most))
        if high >= low:
            yield _Segment(form, low, high, step, price + form.per_unit)


def _cover(
    used: Sequence[_Segment], need: Fraction, bound: Fraction | None
) -> tuple[Fraction, list[int]] | None:
    """Return least cost and counts that cover ``need``, every segment at its low at least; None over bound."""
    base, rest = _ZERO, need
    for segment in used:
        held = segment.low * segment.step
        base, rest = base + held * segment.price, rest - held
    low = min(segment.price for segment in used)
    if bound is not None and base + (rest * low if rest > 0 else _ZERO) > bound:
        return None
    if len(used) == 1:
        count = max(used[0].low, math.ceil(need / used[0].step))
        cost = count * used[0].step * low
        return None if count > used[0].high or (bound is not None and cost > bound) else (cost, [count])
    order = sorted(range(len(used)), key=lambda i: (used[i].price, -used[i].step, i))
    items = [used[i] for i in order]
    found = _fill(items, rest, None if bound is None else bound - base)
    if found is None:
        return None
    counts = [0] * len(used)
    for place, count in zip(order, found[1], strict=True):
        counts[place] = used[place].low + count
    return found[0] + base, counts


def _fill(
    items: Sequence[_Segment], rest: Fraction, bound: Fraction | None
) -> tuple[Fraction, tuple[int, ...]] | None:
    """Return least cost and extra counts by branch and bound over items sorted by price; ties: least quantity."""
    if rest <= 0:
        return (_ZERO, (0,) * len(items)) if bound is None or bound >= 0 else None
    if not items:
        return None
    first, others = items[0], items[1:]
    spare = first.high - first.low
    top = min(spare, math.ceil(rest / first.step))
    best: tuple[Fraction, tuple[int, ...]] | None = None
    for count in range(top, _lowest(first, others, rest, spare) - 1, -1):
        cost = count * first.step * first.price
        open_ = rest - count * first.step
        least = cost + max(_ZERO, open_) * (others[0].price if others else _ZERO)
        limit = bound if best is None else best[0] if bound is None else min(bound, best[0])
        if limit is not None and least > limit:
            if open_ < 0:  # too much of the cheapest: one less may still be best
                continue
            break
        below = _fill(others, open_, None if limit is None else limit - cost)
        if below is None:
            continue
        found = (cost + below[0], (count, *below[1]))
        if best is None or (found[0], _amount(items, found[1])) < (best[0], _amount(items, best[1])):
            best = found
    return best


def _amount(items: Sequence[_Segment], counts: Sequence[int]) -> Fraction:
    return sum((item.step * count for item, count in zip(items, counts, strict=True)), _ZERO)


def _lowest(first: _Segment, others: Sequence[_Segment], rest: Fraction, spare: int) -> int:
    """Return the lowest count of the cheapest form that can be part of a best basket."""
    most_others, widest = _ZERO, 0
    for other in others:
        common = common_step(first.step, other.step)
        most_others += common - other.step
        widest = max(widest, int(common / first.step))
    enough = math.floor((rest - most_others) / first.step)
    return max(0, min(enough, spare - widest))


def purchase(quote: Quote, need: Callable[[Pack], Fraction], later: Later) -> Purchase:
    """Return the four ways to cover a need at a source.

    ``need`` gives the need for packs of a size: losses at mounting depend on it, so that each form is asked
    for its own. A basket of several forms has to cover the largest of them. No way to buy takes more than can be
    had; where a way would, it is the cheapest that does not. Raises ValueError where what can be had is too
    little for the need.
    """
    if not quote.forms:
        return Purchase(quote=quote, need=need(quote.bare.pack), baskets={}, expected={})
    needs = [need(form.pack) for form in quote.forms]
    main_need, asked = needs[0], max(needs)
    full = basket_of(quote, [(quote.forms[0], _whole(quote.forms[0]).rounded(main_need))], main_need)
    mixed = _mixed(quote, asked, main_need) or full
    tried = [cheapest(quote, asked), full, mixed]
    if len(quote.forms) > 1:
        alone = zip(quote.forms, needs, strict=True)
        tried += [cheapest(replace(quote, forms=(form,)), own) for form, own in alone]
    found = [basket for basket in tried if basket is not None and _can_be_had(quote, basket)]
    if not found:
        raise ValueError(f"{quote.most} is all that can be had of {asked}")
    cash = min(found, key=lambda basket: (basket.spend, basket.qty))
    full, mixed = (basket if _can_be_had(quote, basket) else cash for basket in (full, mixed))
    expected = cash
    if later.qty:
        higher = (basket for basket in _bought_up(quote, needs) if _can_be_had(quote, basket))
        options = [cash, full, mixed, *higher]
        expected = min(options, key=lambda basket: (_expected(basket, later), basket.spend, basket.qty))
    baskets: dict[Strategy, Basket] = {
        "full packs": full,
        "mixed packs": mixed,
        "least cash now": cash,
        "least expected total": expected,
    }
    return Purchase(
        quote=quote,
        need=cash.need,
        baskets=baskets,
        expected={name: _expected(basket, later) for name, basket in baskets.items()},
        pays_from=pays_from(quote.forms[0], main_need),
    )


def _can_be_had(quote: Quote, basket: Basket) -> bool:
    return quote.most is None or basket.qty <= quote.most


def _whole(form: Form) -> Form:
    """Return a form with whole packs only, where it has packs."""
    if not form.pack.size:
        return form
    return replace(form, step=common_step(form.step, form.pack.size))


def _mixed(quote: Quote, need: Fraction, main_need: Fraction) -> Basket | None:
    """Return whole packs as far as they are used up and the rest in the cheapest other form, if there is one."""
    main = _whole(quote.forms[0])
    if main_need <= 0 or not main.pack.size or len(quote.forms) == 1:
        return None
    packs = math.floor(need / main.step) * main.step
    packs = packs if packs >= main.least else _ZERO
    rest = need - packs
    mixes = [
        basket_of(quote, [(quote.forms[0], packs), (form, form.rounded(rest))], need)
        for form in quote.forms[1:]
    ]
    return min(mixes, key=lambda basket: (basket.spend, basket.qty), default=None)


def _bought_up(quote: Quote, needs: Sequence[Fraction]) -> Iterator[Basket]:
    """Yield the baskets that buy up to each price break of a form above its need."""
    for form, wanted in zip(quote.forms, needs, strict=True):
        for start, _ in form.breaks:
            if start > wanted > 0:
                yield basket_of(quote, [(form, form.rounded(start))], wanted)


def _expected(basket: Basket, later: Later) -> Fraction:
    if not later.qty:
        return basket.spend
    used = min(max(basket.left, _ZERO), later.qty)
    return basket.spend - used * (basket.each or _ZERO) * (1 - later.carrying)


def pays_from(form: Form, need: Fraction) -> tuple[Fraction, Fraction] | None:
    """Return the least quantity whose own price adds up to no less than buying the next break, with that break.

    Need 900 at 1.20 and 1,000 at 1.05: from 875 on, 1,000 cost no more. None where no break lies above the
    need, or where it pays for no quantity below the break.
    """
    order = form.rounded(need)
    for start, price in form.breaks:
        if start <= order or need <= 0:
            continue
        target = form.rounded(start)
        own = form.price(order)
        if own <= price:
            continue
        total = target * (price + form.per_unit)
        count = math.ceil(total / (own + form.per_unit) / form.step)
        lowest = max(form.least, count * form.step, form.breaks[form.break_at(order)][0])
        return (lowest, target) if lowest < target else None
    return None
