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

__all__ = ["Netted", "Stores", "Supplies", "Wanted", "counted", "net_after", "net_of", "supplies_of"]

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


def counted(supplies: Supplies, wanted: Sequence[Wanted]) -> Supplies:
    """Return the supplies that some needs, in the order of their days, can use at all.

    Left out is stock that is not usable or past its life on the first day, and receipts without a day or after
    the last one.
    """
    first, last = (wanted[0].day, wanted[-1].day) if wanted else (None, None)
    return replace(
        supplies,
        stock=tuple(
            (index, row)
            for index, row in supplies.stock
            if row.status == "usable" and (first is None or row.expires is None or row.expires >= first)
        ),
        orders=tuple(
            (index, row)
            for index, row in supplies.orders
            if row.due is not None and (last is None or row.due <= last)
        ),
    )


class Stores:
    """The stock and open orders of a product by part, so that no part has to look through all of them."""

    def __init__(self, product: Product) -> None:
        self._product = product
        self._stock: dict[str, list[tuple[int, Stock]]] = {}
        self._orders: dict[str, list[tuple[int, OpenOrder]]] = {}
        for index, row in enumerate(product.stock):
            self._stock.setdefault(row.part, []).append((index, row))
        for index, order in enumerate(product.orders):
            self._orders.setdefault(order.part, []).append((index, order))

    def supplies(self, part: str, buyer: str | None, own: str, buyers: Sequence[str]) -> Supplies:
        """Return the stock and orders of a part that serve one buyer's need.

        Stock at a buyer's place serves that buyer. Stock of ours that lies elsewhere, and orders on the way
        there, serve our own need; where we have none, the first buyer's, to whom they must be sent. That
        buyer keeps the safety stock too: it is one stock, however many buy.
        """
        home = own if own in buyers else buyers[0]

        def serves(place: str | None, *, ours: bool) -> bool:
            return place == buyer if place in buyers else ours and buyer == home

        item = self._product.item(part)
        safety = item.safety_stock if item is not None and buyer == home else None
        return Supplies(
            stock=tuple(
                (index, row) for index, row in self._stock.get(part, ()) if serves(row.place, ours=row.ours)
            ),
            orders=tuple(
                (index, row) for index, row in self._orders.get(part, ()) if serves(row.place, ours=True)
            ),
            safety=Fraction(safety or 0),
        )


def supplies_of(product: Product, part: str, buyer: str | None, own: str, buyers: Sequence[str]) -> Supplies:
    """Return the stock and orders of one part that serve one buyer's need; for many parts, ask ``Stores``."""
    return Stores(product).supplies(part, buyer, own, buyers)


def net_of(wanted: Sequence[Wanted], supplies: Supplies) -> Netted:
    """Return the net needs of some gross needs, which are given in the order of their days."""
    lots, unusable = _stock(supplies.stock)
    receipts = sorted(
        ((row.due, Fraction(row.qty)) for _, row in supplies.orders if row.due is not None),
        key=lambda receipt: receipt[0],
    )
    undated = sum((Fraction(row.qty) for _, row in supplies.orders if row.due is None), _ZERO)
    usable = sum((qty for _, qty in lots), _ZERO)
    at_hand, in_time, expired, nets = usable - supplies.safety, _ZERO, _ZERO, []
    for each in wanted:
        while receipts and (each.day is None or receipts[0][0] <= each.day):
            at_hand += receipts[0][1]
            in_time += receipts.pop(0)[1]
        past = _past(lots, each.day)
        at_hand, expired = at_hand - past, expired + past
        short = max(_ZERO, each.gross - at_hand)
        nets.append(short)
        at_hand += short - each.gross
        _use(lots, each.gross)
    if expired:
        unusable["expired"] = expired
    return Netted(
        usable=usable - expired,
        unusable=tuple(sorted(unusable.items())),
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
    taken = max(_ZERO, sum((each.gross for each in before), _ZERO) - others)
    return replace(found, nets=own, net=sum(own, _ZERO)), taken


#: A quantity in stock and the last day it may be used.
_Lot = tuple[dt.date, Fraction]


def _stock(rows: Iterable[tuple[int, Stock]]) -> tuple[list[_Lot], dict[str, Fraction]]:
    """Return the usable stock by the end of its life, earliest first, and the rest by reason."""
    lots, unusable = list[_Lot](), dict[str, Fraction]()
    for _, row in rows:
        if row.status == "usable":
            lots.append((row.expires or dt.date.max, Fraction(row.qty)))
        else:
            unusable[row.status] = unusable.get(row.status, _ZERO) + Fraction(row.qty)
    return sorted(lots), unusable


def _past(lots: list[_Lot], day: dt.date | None) -> Fraction:
    """Take out and return what is past its life on a day; nothing is known to be without a day."""
    gone = _ZERO
    while lots and day is not None and lots[0][0] < day:
        gone += lots.pop(0)[1]
    return gone


def _use(lots: list[_Lot], qty: Fraction) -> None:
    """Take a quantity out of stock, what expires first before the rest."""
    while lots and qty > 0:
        expires, held = lots.pop(0)
        if held > qty:
            lots.insert(0, (expires, held - qty))
        qty -= held
