"""What takes time in a build: legs of orders, tools, steps, inspection and shipping, and what waits for what.

One activity is one leg in its owner's calendar. The network says only how long and in which order; when each
lies is for the passes. Nothing here knows what day it is.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct

from ferrule.compute.calendars import LegTime, WorkCalendar
from ferrule.compute.demand import Demand
from ferrule.compute.leads import Kind
from ferrule.model.product import Product
from ferrule.model.records.plan import Build, PlanFile

__all__ = ["Activity", "Cover", "ItemKind", "Job", "Network", "Order"]

ItemKind = Literal["part", "tool", "assembly", "build"]


class Cover(Struct, frozen=True, kw_only=True):
    """A part a build need not order: in stock (``due`` None), or on order and promised for a day."""

    due: dt.date | None = None
    ordered: dt.date | None = None
    order: str = ""


class Job(Struct, frozen=True, kw_only=True):
    """A build to be dated, with its demand.

    ``chosen`` holds the indexes of the sources each part is bought from (else the preferred ones), ``covers``
    the parts that need no order.
    """

    product: Product
    plan: PlanFile
    build: Build
    demand: Demand
    kind: Kind = "worst"
    chosen: Mapping[str, Sequence[int]] = {}
    covers: Mapping[str, Cover] = {}


class Activity(Struct, frozen=True, kw_only=True):
    """One leg of an item. ``after`` are the indexes of the activities it waits for, all lower than its own.

    ``begun`` is the day it did begin; ``not_before`` the first day it may; ``due`` the last day it may finish
    by its own date; ``asked`` the calendar in which its seller takes the order.
    """

    item: str
    kind: ItemKind
    time: LegTime
    after: tuple[int, ...] = ()
    begun: dt.date | None = None
    not_before: dt.date | None = None
    due: dt.date | None = None
    asked: WorkCalendar | None = None


class Order(Struct, frozen=True, kw_only=True):
    """Something ordered for a build: its activities ``first`` to ``last``, and where it is ordered.

    ``source`` is the index of the source of a part, None for a tool and a part without one; ``ordered`` the day
    it was; ``place`` the factory it goes to; ``cover`` the open order that serves the need.
    """

    item: str
    kind: ItemKind
    first: int
    last: int
    seller: str | None = None
    source: int | None = None
    place: str | None = None
    ordered: dt.date | None = None
    asked: WorkCalendar
    cover: Cover | None = None


class Network(Struct, frozen=True, kw_only=True):
    """The activities of a build, each after all it waits for, the arrival last.

    ``runs`` holds the first and last activity of each assembly, ``ships`` the first activity of shipping.
    ``orders`` come in the order tools, then parts, by number; ``in_stock`` are parts that need none.
    """

    build: str
    activities: tuple[Activity, ...]
    orders: tuple[Order, ...]
    runs: Mapping[str, tuple[int, int]]
    ships: int
    in_stock: tuple[str, ...] = ()
