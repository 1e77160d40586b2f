"""What is still to be bought once stock and open orders have served the needs in the order of their dates.

``net = max(0, gross + safety - usable stock - receipts due in time)``, need by need: a receipt that comes
after the last need is a liability, not a supply. Stock in quarantine, allocated or past its life is not
usable.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.model.product import Product
from ferrule.model.records.counts import OpenOrder, Stock

__all__ = ["Netted", "Supplies", "Wanted", "net_after", "net_of", "supplies_of"]

_ZERO = Fraction(0)


class Wanted(Struct, frozen=True):
    """A gross need and its day; a need without a day comes last and counts every receipt as in time."""

    day: dt.date | None
    gross: Fraction


class Supplies(Struct, frozen=True, kw_only=True):
    """What a buyer has or will get of one part: indexes into the product's stock and orders."""

    stock: tuple[tuple[int, Stock], ...] = ()
    orders: tuple[tuple[int, OpenOrder], ...] = ()
    safety: Fraction = _ZERO


class Netted(Struct, frozen=True, kw_only=True):
    """The working of a net need, all in the part's unit.

    ``usable`` stock, ``unusable`` by reason, receipts ``in_time`` for some need, ``late`` after the last or
    without a day; ``nets`` the net need of each wanted one in order, ``net`` their sum, ``over`` what supply
    is left when every need is met (the safety stock in it).
    """

    usable: Fraction
    unusable: tuple[tuple[str, Fraction], ...]
    in_time: Fraction
    late: Fraction
    safety: Fraction
    nets: tuple[Fraction, ...]
    net: Fraction
    over: Fraction


def supplies_of(product: Product, part: str, buyer: str | None, own: str, buyers: Sequence[str]) -> Supplies:
    """Return the stock and orders of a part that serve one buyer's need.

    Stock at a buyer's place serves that buyer. Stock of ours that lies elsewhere, and orders on the way
    there, serve our own need; where we have none, the first buyer's, to whom they must be sent.
    """

    def serves(place: str | None, *, ours: bool) -> bool:
        if place in buyers:
            return place == buyer
        if not ours:
            return False
        return buyer == (own if own in buyers else buyers[0])

    item = product.item(part)
    return Supplies(
        stock=tuple(
            (index, row)
            for index, row in enumerate(product.stock)
            if row.part == part and serves(row.place, ours=row.ours)
        ),
        orders=tuple(
            (index, row)
            for index, row in enumerate(product.orders)
            if row.part == part and serves(row.place, ours=True)
        ),
        safety=Fraction((item.safety_stock if item is not None else None) or 0),
    )


def net_of(wanted: Sequence[Wanted], supplies: Supplies) -> Netted:
    """Return the net needs of some gross needs, which are given in the order of their days."""
    first = wanted[0].day if wanted else None
    usable, unusable = _stock(supplies.stock, first)
    receipts = sorted(
        ((row.due, Fraction(row.qty)) for _, row in supplies.orders if row.due is not None),
        key=lambda receipt: receipt[0],
    )
    undated = sum((Fraction(row.qty) for _, row in supplies.orders if row.due is None), _ZERO)
    at_hand, in_time, nets = usable - supplies.safety, _ZERO, []
    for each in wanted:
        while receipts and (each.day is None or receipts[0][0] <= each.day):
            at_hand += receipts[0][1]
            in_time += receipts.pop(0)[1]
        short = max(_ZERO, each.gross - at_hand)
        nets.append(short)
        at_hand += short - each.gross
    return Netted(
        usable=usable,
        unusable=unusable,
        in_time=in_time,
        late=undated + sum((qty for _, qty in receipts), _ZERO),
        safety=supplies.safety,
        nets=tuple(nets),
        net=sum(nets, _ZERO),
        over=at_hand + supplies.safety,
    )


def net_after(
    before: Sequence[Wanted], wanted: Sequence[Wanted], supplies: Supplies
) -> tuple[Netted, Fraction]:
    """Return the net needs of ``wanted`` when other needs are served first, and what those take of the supply.

    ``before`` and ``wanted`` are each in the order of their days; a need of the same day comes first if it is
    in ``before``. What ``before`` lacks is bought elsewhere.
    """
    tagged = [(each, False) for each in before] + [(each, True) for each in wanted]
    tagged.sort(key=lambda pair: (pair[0].day is None, pair[0].day or dt.date.min))
    found = net_of([each for each, _ in tagged], supplies)
    own = tuple(net for net, (_, asked) in zip(found.nets, tagged, strict=True) if asked)
    others = sum((net for net, (_, asked) in zip(found.nets, tagged, strict=True) if not asked), _ZERO)
    taken = sum((each.gross for each in before), _ZERO) - others
    return replace(found, nets=own, net=sum(own, _ZERO)), taken


def _stock(
    rows: Iterable[tuple[int, Stock]], day: dt.date | None
) -> tuple[Fraction, tuple[tuple[str, Fraction], ...]]:
    usable, unusable = _ZERO, dict[str, Fraction]()
    for _, row in rows:
        expired = row.expires is not None and day is not None and row.expires < day
        reason = row.status if row.status != "usable" else "expired" if expired else ""
        if reason:
            unusable[reason] = unusable.get(reason, _ZERO) + Fraction(row.qty)
        else:
            usable += Fraction(row.qty)
    return usable, tuple(sorted(unusable.items()))
