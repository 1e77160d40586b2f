"""Two builds in one order, or one after the other: what combining saves, costs and risks.

Combining reaches a better price or fewer part packs, and ties up money in pieces for a build that may not
come. It pays if the second build comes with a probability above
``(combined + carrying - first alone) / second alone``.

All three orders are rows of purchase lists: the same sources, shares and allocations as anywhere else.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.buy import Bought, BuyRow, way_of
from ferrule.compute.order_split import Paid, Split, best_split, paid_for
from ferrule.compute.order_totals import by_seller
from ferrule.compute.sourcing import Way
from ferrule.model.product import Product

__all__ = [
    "Better",
    "Combined",
    "Combining",
    "LeftOut",
    "Paid",
    "Split",
    "combine_lists",
    "combined",
    "why_left_out",
]

_ZERO = Fraction(0)
Better = Literal["two orders", "split", "one order"]


class Combined(Struct, frozen=True, kw_only=True):
    """One part's order for two builds together, against two orders. Money in the home currency.

    ``gross_saving`` is both alone less together; ``carrying`` is paid on the later pieces at the combined
    price, whether or not the second build comes; ``extra_now`` is more cash at the first order;
    ``stranded`` pieces and ``stranded_value`` are left if it is cancelled. ``pays_above`` is the probability
    of the second build from which combining pays; above one it never does. ``split`` is the best of buying
    up now and ordering only the remainder later, None where what is allocated leaves no such remainder.
    ``rationed`` says that two orders would take more than is allocated, although either alone does not: what
    they cost is then a lower bound.
    """

    first: Paid
    second: Paid
    together: Paid
    carrying: Fraction
    split: Split | None
    rationed: bool = False

    @property
    def gross_saving(self) -> Fraction:
        """Return two orders less one."""
        return self.first.spend + self.second.spend - self.together.spend

    @property
    def net_saving(self) -> Fraction:
        """Return the saving less what carrying costs."""
        return self.gross_saving - self.carrying

    @property
    def extra_now(self) -> Fraction:
        """Return how much more cash the first order takes."""
        return self.together.spend - self.first.spend

    @property
    def stranded(self) -> Fraction:
        """Return the pieces without a use if the second build is cancelled."""
        return self.together.qty - self.first.need

    @property
    def stranded_value(self) -> Fraction:
        """Return what those pieces cost, at the combined price."""
        return self.stranded * self.together.each

    @property
    def pays_above(self) -> Fraction | None:
        """Return the probability of the second build above which combining pays; None if it needs nothing."""
        if not self.second.spend:
            return None
        return max(_ZERO, (self.together.spend + self.carrying - self.first.spend) / self.second.spend)

    def better(self, chance: Fraction) -> Better | None:
        """Return which way costs least where the second build comes with a chance; None if it needs nothing.

        Of ways that cost the same the one with less paid now. Two orders that cannot be had are no way.
        """
        if not self.second.spend:
            return None
        split = self.split
        two = self.first.spend + chance * self.second.spend
        ways: dict[Better, tuple[Fraction, Fraction]] = {
            "two orders": (two, self.first.spend),
            "one order": (self.together.spend + self.carrying, self.together.spend),
        }
        if split is not None:
            ways["split"] = (split.upfront + chance * (split.total - split.upfront), split.upfront)
        if self.rationed:
            del ways["two orders"]
        return min(ways, key=ways.__getitem__)


class LeftOut(Struct, frozen=True):
    """A part for a buyer that is not compared, and why."""

    part: str
    buyer: str | None
    why: str


class Combining(Struct, frozen=True, kw_only=True):
    """Two purchase lists against one, part by part.

    ``fees`` are the sellers' small-order fees and fill-ups of the first list, the second, and the one for both.
    ``one_off`` says that one-off charges are asked, which come once either way and are left aside.
    ``interleaved`` says that neither group of builds is over when the other begins: each alone then counts
    stock that the other takes too.
    """

    rows: tuple[tuple[str, str | None, Combined], ...]
    left_out: tuple[LeftOut, ...]
    fees: tuple[Fraction, Fraction, Fraction]
    one_off: bool
    interleaved: bool


def combine_lists(product: Product, first: Bought, second: Bought, both: Bought) -> Combining:
    """Return what one list for both groups of builds costs against a list for each, and what is not compared."""
    rows: list[tuple[str, str | None, Combined]] = []
    left_out: list[LeftOut] = []
    lists = [{(row.part, row.buyer): row for row in each.rows} for each in (first, second, both)]
    way = way_of(product, both.runs, both.ask)
    for pool in sorted({*lists[0], *lists[1], *lists[2]}, key=lambda pool: (pool[0], pool[1] or "")):
        one, two, pooled = (each.get(pool) for each in lists)
        why = why_left_out(one, two, pooled)
        if why is not None:
            left_out.append(LeftOut(*pool, why))
        elif one is not None and two is not None and pooled is not None:
            rate = _carrying(product, pooled, _names(first), _names(second))
            rows.append((*pool, combined(one, two, pooled, way, rate)))
    return Combining(
        rows=tuple(rows),
        left_out=tuple(left_out),
        fees=(_fees(product, first), _fees(product, second), _fees(product, both)),
        one_off=any(order.one_off for row in both.rows for order in row.orders),
        interleaved=_interleaved(first, second),
    )


def why_left_out(one: BuyRow | None, two: BuyRow | None, both: BuyRow | None) -> str | None:
    """Return in words why a part's orders cannot be compared; None where they can."""
    if _demand(one) + _demand(two) != _demand(both):
        return "alternates take its place in one of the orders and not in another"
    if one is None or two is None or both is None:
        return f"only the {'first' if two is None else 'second'} needs it"
    rows = (one, two, both)
    reasons = (
        (both.buyer is None, "supplied free"),
        (both.in_house, "made in house"),
        (any(row.is_short for row in rows), _short_words(both)),
        (any(row.lacking for row in rows), _lacking_words(one, two, both)),
        (any(row.spend is None for row in rows), "no price is known"),
        (not any(row.orders for row in rows), "stock and open orders cover it"),
    )
    return next((words for holds, words in reasons if holds), None)


def _short_words(row: BuyRow) -> str:
    return "its sources have allocated nothing that can be ordered" if row.quotes else "it has no source"


def _lacking_words(one: BuyRow, two: BuyRow, both: BuyRow) -> str:
    """Return what the sources have allocated too little for."""
    named = (("the first alone", one), ("the second alone", two), ("one order", both))
    return f"too little is allocated for {', '.join(name for name, row in named if row.lacking)}"


def _demand(row: BuyRow | None) -> Fraction:
    return sum((use.quantity for use in row.uses), _ZERO) if row is not None else _ZERO


def combined(first: BuyRow, second: BuyRow, both: BuyRow, way: Way, rate: Fraction) -> Combined:
    """Return the comparison of three rows of one part: for the first builds, for the second, and for both.

    ``rate`` is the cost of carrying from the first need to the second, as a share of value (a yearly rate times
    weeks / 52). Raises ValueError where a price is missing.
    """
    one, two, together = paid_for(first), paid_for(second), paid_for(both)
    later = max(_ZERO, together.need - one.need)
    return Combined(
        first=one,
        second=two,
        together=together,
        carrying=later * together.each * rate,
        split=best_split(first, both, way, rate),
        rationed=_is_rationed(one, two, both),
    )


def _is_rationed(first: Paid, second: Paid, both: BuyRow) -> bool:
    """Return whether two orders take more of a source than it has allocated."""
    return any(
        quote.most is not None
        and first.taken.get(quote.index, _ZERO) + second.taken.get(quote.index, _ZERO) > quote.most
        for quote in both.quotes
    )


def _names(bought: Bought) -> set[str]:
    return {run.name for run in bought.runs.runs}


def _fees(product: Product, bought: Bought) -> Fraction:
    """Return the small-order fees and fill-ups of a whole list."""
    sellers = by_seller(product, bought.rows, bought.ask.strategy)
    return sum((seller.fee + seller.filled for seller in sellers), _ZERO)


def _interleaved(first: Bought, second: Bought) -> bool:
    """Return whether neither group of builds lies wholly before the other, in the order in which stock serves."""
    one, two = ([(run.day, run.name) for run in each.runs.runs] for each in (first, second))
    return not (max(one) < min(two) or max(two) < min(one))


def _carrying(product: Product, row: BuyRow, first: set[str], second: set[str]) -> Fraction:
    """Return the cost of carrying from the first group's need to the second's, as a share of value."""
    rate = product.policy.carrying_rate
    return Fraction(rate.fraction) * _weeks(row, first, second) / 52 if rate is not None else _ZERO


def _weeks(row: BuyRow, first: set[str], second: set[str]) -> Fraction:
    early, late = list(_days(row, first)), list(_days(row, second))
    return Fraction(max(0, (min(late) - min(early)).days), 7) if early and late else _ZERO


def _days(row: BuyRow, names: set[str]) -> Iterator[dt.date]:
    for name, wanted in row.wanted:
        if name in names and wanted.day is not None:
            yield wanted.day
