"""What a picture shows: named amounts in rows, amounts that change in steps, or stretches of time. No looks, no sizes.

A report makes these beside its tables and from the same exact numbers; the chart room draws them for a page,
a terminal or a pipe. Names are text from files and are made harmless where they are drawn.
"""

from __future__ import annotations

import datetime as dt
from typing import Literal

from msgspec import Struct

from ferrule.model.exact import Exact

__all__ = [
    "Balance",
    "Bar",
    "Bars",
    "Closed",
    "Curve",
    "Floor",
    "Kind",
    "Line",
    "MoneyWeek",
    "Picture",
    "Rounding",
    "Scenario",
    "Segment",
    "Step",
    "Stretch",
    "StripRow",
    "Strips",
]


class Rounding(Struct, frozen=True):
    """How amounts are rounded when they are shown: decimals, and where a half goes."""

    places: int = 2
    half_even: bool = False


class Segment(Struct, frozen=True):
    """One element of a bar. ``value`` is None where it is not known: the bar then says "at least".

    A value below zero (a credit) is taken off the end of the bar.
    """

    name: str
    value: Exact | None


class Bar(Struct, frozen=True):
    """One row: its name (a volume, a firm), its elements from the left, and a remark under it."""

    name: str
    segments: tuple[Segment, ...]
    remark: str = ""


class Bars(Struct, frozen=True, kw_only=True):
    """Bars on one scale. Elements of the same name are the same element in every row.

    ``description`` is a sentence for people who cannot see the picture; ``unit`` is that of every value,
    such as "EUR per unit".
    """

    title: str
    description: str
    unit: str
    rows: tuple[Bar, ...]
    rounding: Rounding = Rounding()


class Line(Struct, frozen=True):
    """A named amount that holds from each point to the next. Points are (x, y), x rising, each x once.

    An unknown y (None) leaves a gap up to the next point. The last point holds on to the picture's edge.
    """

    name: str
    points: tuple[tuple[Exact, Exact | None], ...]


class Step(Struct, frozen=True):
    """The cause of a step, at the x where it happens, on the line of that name (the first, if empty)."""

    x: Exact
    cause: str
    line: str = ""


class Floor(Struct, frozen=True):
    """An amount the lines should not fall below, drawn as a level dashed line."""

    y: Exact
    name: str


class Curve(Struct, frozen=True, kw_only=True):
    """Step lines on one scale; one is enough, and then it needs no name.

    ``places`` names amounts of x that mean something else than their number (a week); without it round
    numbers are written. ``spread`` "ratio" gives equal factors of x equal room (a logarithmic scale, as
    suits 100, 1,000, 10,000); every x must then be above zero. ``lowest`` is the word for the lowest known
    point of the first line, its earliest if it is reached twice; empty, it is not marked.
    ``rounding`` is for y.
    """

    title: str
    description: str
    unit_x: str
    unit_y: str
    lines: tuple[Line, ...]
    labels: tuple[Step, ...] = ()
    floor: Floor | None = None
    lowest: str = ""
    places: tuple[tuple[Exact, str], ...] = ()
    spread: Literal["even", "ratio"] = "even"
    rounding: Rounding = Rounding()


#: What a stretch of time is spent on.
Kind = Literal["waiting", "making", "shipping", "inspection"]


class Stretch(Struct, frozen=True):
    """A stretch of time in a row, both ends inclusive, and what it is spent on."""

    name: str
    start: dt.date
    finish: dt.date
    kind: Kind = "waiting"


class StripRow(Struct, frozen=True):
    """One strip: its stretches, a day that is marked with its label, and whether it decides the date.

    ``remark`` stands behind the label: "late by 6 days". ``more`` names what has the very same strip and is
    told in words only.
    """

    name: str
    stretches: tuple[Stretch, ...]
    tick: dt.date | None = None
    label: str = ""
    critical: bool = False
    remark: str = ""
    more: tuple[str, ...] = ()


class Closed(Struct, frozen=True):
    """Days on which somebody is closed or slow, both ends inclusive, and in whose calendar."""

    name: str
    start: dt.date
    finish: dt.date
    calendar: str = ""


class Strips(Struct, frozen=True, kw_only=True):
    """Strips on one axis of time from ``start`` to ``end``, both inclusive; what lies beyond is cut off at its edge.

    ``today`` is marked; ``week_zero`` is the first day of the plan's week 0, where it has weeks. ``left_out``
    rows are not in it, which is said.
    """

    title: str
    description: str
    start: dt.date
    end: dt.date
    rows: tuple[StripRow, ...]
    closures: tuple[Closed, ...] = ()
    today: dt.date | None = None
    week_zero: dt.date | None = None
    left_out: int = 0


class MoneyWeek(Struct, frozen=True):
    """What comes in and goes out in a week, and the balance at its end; None where that is not known.

    ``at`` is the number of the week or its first day. Both amounts are zero or more.
    """

    at: int | dt.date
    income: Exact | None
    outgo: Exact | None
    balance: Exact | None


class Scenario(Struct, frozen=True):
    """A further line of balances, one for each week from the first."""

    name: str
    balances: tuple[Exact | None, ...]


class Balance(Struct, frozen=True, kw_only=True):
    """Money by week: a step line of the balance, and under it what comes in and goes out. Weeks rise.

    ``trough`` is the word for the lowest balance, the earliest if it is reached twice; empty, it is not marked.
    ``name`` is that of the first line, needed only beside further ones. ``remark`` stands under the picture, such
    as what is not drawn. ``rounding`` is for every amount.
    """

    title: str
    description: str
    unit: str
    weeks: tuple[MoneyWeek, ...]
    name: str = ""
    floor: Floor | None = None
    trough: str = ""
    scenarios: tuple[Scenario, ...] = ()
    remark: str = ""
    rounding: Rounding = Rounding()


Picture = Balance | Bars | Curve | Strips
