"""When a plan's units are sold: whole units in whole weeks, for the money they bring and the week they pay back.

A week is an ISO 8601 week, named by its Monday. Sales outside the plan's weeks are counted, but apart, so
that no unit gets lost at the edge of the plan.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.calendars import NoSuchDay, WorkCalendar, calendar_of, leg_forward, next_open_day
from ferrule.model.duration import Duration
from ferrule.model.exact import shown
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile, Sales

__all__ = ["Selling", "Weekly", "sold_by_week", "usual_weeks", "week_reached", "weekly_units"]

_Key = tuple[str, str, str | None]
_Row = tuple[dt.date, int]


class Selling(Struct, frozen=True, kw_only=True):
    """One entry of a plan's sales, week by week.

    ``index`` is its place in the plan's list. ``units`` is None where how many are sold is not known.
    ``weeks`` holds the plan's weeks in which at least one is sold, earliest first. Once units and weeks are
    known, ``weeks``, ``before`` the plan's start and ``beyond`` its end add up to ``units``.
    """

    index: int
    sku: str
    channel: str
    build: str | None
    units: int | None
    weeks: Mapping[dt.date, int] = {}
    before: int = 0
    beyond: int = 0


class Weekly(Struct, frozen=True, kw_only=True):
    """What a plan sells, entry by entry in the plan's order.

    ``start`` and ``end`` are the Mondays of the first and the last week, both inclusive. ``unknown`` says in
    plain words what is missing; what hangs on it is not in the weeks, so that they are at least what is sold.
    """

    start: dt.date
    end: dt.date
    sales: tuple[Selling, ...]
    unknown: tuple[str, ...]

    @property
    def weeks(self) -> Mapping[_Key, Mapping[dt.date, int]]:
        """Return units by week for each SKU, channel and build (None: from stock); entries of one key added."""
        found: dict[_Key, dict[dt.date, int]] = {}
        for sale in self.sales:
            weeks = found.setdefault((sale.sku, sale.channel, sale.build), {})
            for week, units in sale.weeks.items():
                weeks[week] = weeks.get(week, 0) + units
        return {key: dict(sorted(weeks.items())) for key, weeks in found.items()}

    @property
    def before(self) -> int:
        """Return the units sold before the plan's first week."""
        return sum(sale.before for sale in self.sales)

    @property
    def beyond(self) -> int:
        """Return the units sold beyond the plan's end."""
        return sum(sale.beyond for sale in self.sales)


def weekly_units(
    plan: PlanFile,
    arrivals: Mapping[str, dt.date],
    *,
    usual: Mapping[tuple[str, str], int] | None = None,
    calendar: WorkCalendar | None = None,
) -> Weekly:
    """Return the whole units each entry of the plan's sales sells by week.

    ``arrivals`` holds the day on which each build arrives, by its name. ``usual`` holds the weeks over which
    a SKU sells in a channel where the plan does not say (`usual_weeks`). Working days of a lag count in
    ``calendar``, without one from Monday to Friday.

    An entry sells from the week of its first day: that of ``from``, else of the arrival plus the lag.
    Evenly over n weeks gives each the whole part and one more to the first weeks until the rest is gone: 10
    over 4 weeks are 3, 3, 2, 2. A curve is taken as it stands. A share is of the build's quantity, rounded
    down; the last entry with a share of that build gets what all of them together leave to whole units.
    Where an entry states its units in more than one way the curve counts, then the quantity.
    """
    seller = _Seller(plan, arrivals, usual or {}, calendar or calendar_of(None))
    shared = _shared(plan)
    sales = tuple(seller.selling(index, sale, shared.get(index)) for index, sale in enumerate(plan.sales))
    return Weekly(start=seller.start, end=seller.end, sales=sales, unknown=tuple(seller.unknown))


def usual_weeks(product: Product) -> dict[tuple[str, str], int]:
    """Return over how many weeks a delivery sells, by SKU and channel, where the SKU says so."""
    return {
        (sku, channel): sale.weeks
        for sku, assembly in product.assemblies.items()
        for channel, sale in assembly.sale.items()
        if sale.weeks is not None
    }


def sold_by_week(weekly: Weekly) -> tuple[tuple[dt.date, int], ...]:
    """Return the units sold from the plan's start to the end of each week, every week of the plan in order."""
    sold: dict[dt.date, int] = {}
    for sale in weekly.sales:
        for week, units in sale.weeks.items():
            sold[week] = sold.get(week, 0) + units
    weeks = list(_weeks(weekly.start, _weeks_between(weekly.start, weekly.end)))
    return tuple(zip(weeks, itertools.accumulate(sold.get(week, 0) for week in weeks), strict=True))


def week_reached(weekly: Weekly, quantity: int) -> dt.date | None:
    """Return the Monday of the first week by whose end so many units are sold; None where the plan ends first."""
    return next((week for week, units in sold_by_week(weekly) if units >= quantity), None)


class _Seller:
    """Turns entries of one plan into weeks, and keeps what is missing."""

    def __init__(
        self,
        plan: PlanFile,
        arrivals: Mapping[str, dt.date],
        usual: Mapping[tuple[str, str], int],
        calendar: WorkCalendar,
    ) -> None:
        self.start, self.end = _monday(plan.plan.start), _monday(plan.plan.end.on(plan.plan.start))
        self.unknown: list[str] = []
        self._zero, self._arrivals, self._usual, self._calendar = plan.plan.start, arrivals, usual, calendar

    def selling(self, index: int, sale: Sales, shared: int | None) -> Selling:
        """Return one entry; ``shared`` is what its share of the build comes to."""
        label = f"{sale.sku} in {sale.channel}" + (f" from {sale.build}" if sale.build else "")
        curve = [(_monday(week.week.on(self._zero)), week.qty) for week in sale.curve]
        rows = [(week, self._whole(label, Fraction(qty))) for week, qty in curve]
        units = self._units(label, sale, rows, shared)
        if units is not None and not rows:
            rows = self._evenly(label, sale, units)
        inside = [(week, sold) for week, sold in rows if self.start <= week <= self.end]
        return Selling(
            index=index,
            sku=sale.sku,
            channel=sale.channel,
            build=sale.build,
            units=units,
            weeks=_by_week(inside),
            before=sum(sold for week, sold in rows if week < self.start),
            beyond=sum(sold for week, sold in rows if week > self.end),
        )

    def _units(self, label: str, sale: Sales, curve: list[_Row], shared: int | None) -> int | None:
        stated: dict[str, int] = {}
        if curve:
            stated["curve"] = sum(units for _, units in curve)
        if sale.qty is not None:
            stated["quantity"] = self._whole(label, Fraction(sale.qty))
        if shared is not None:
            stated["share"] = shared
        if not stated:
            self._miss(label, "how many are sold")
        if len(set(stated.values())) > 1:
            ways = " or ".join(f"{units} ({way})" for way, units in stated.items())
            self._miss(label, f"whether {ways} are sold; the first counts")
        return next(iter(stated.values()), None)

    def _evenly(self, label: str, sale: Sales, units: int) -> list[_Row]:
        """Return the units in equal parts, remainder first, what is beyond the plan's end in one row."""
        first = self._first(label, sale)
        over = self._usual.get((sale.sku, sale.channel)) if sale.over_weeks is None else sale.over_weeks
        if over is None or over < 1:
            self._miss(label, "over how many weeks they sell")
            return []
        if first is None:
            return []
        each, more = divmod(units, over)
        asked = min(over, units, _weeks_between(first, self.end))
        rows = [(week, each + (number < more)) for number, week in enumerate(_weeks(first, asked))]
        left = units - sum(sold for _, sold in rows)
        return [*rows, (dt.date.max, left)] if left else rows

    def _first(self, label: str, sale: Sales) -> dt.date | None:
        """Return the Monday of the week in which an entry begins to sell."""
        if sale.from_ is not None:
            return _monday(sale.from_.on(self._zero))
        arrival = self._arrivals.get(sale.build or "")
        if arrival is None:
            self._miss(label, "when it arrives" if sale.build else "when the sale begins")
            return None
        if sale.lag is None:
            return _monday(arrival)
        try:
            return _monday(self._later(arrival, sale.lag))
        except (NoSuchDay, OverflowError):
            self._miss(label, f"which day is {sale.lag} after {arrival}")
            return None

    def _later(self, day: dt.date, lag: Duration) -> dt.date:
        """Return the day after a lag that begins on ``day``; after working days the next open one."""
        after = leg_forward(self._calendar, lag, day).finish + dt.timedelta(days=1)
        return next_open_day(self._calendar, after) if lag.unit == "working days" else after

    def _whole(self, label: str, number: Fraction) -> int:
        if number.denominator != 1:
            self._miss(label, f"how {shown(number)} units are sold; the whole ones count")
        return math.floor(number)

    def _miss(self, label: str, words: str) -> None:
        self.unknown.append(f"{label}: {words}")


def _shared(plan: PlanFile) -> dict[int, int]:
    """Return what each share of a build comes to in whole units, by the index of the entry."""
    made = {build.name: Fraction(build.qty) for build in plan.build}
    shares: dict[str, list[tuple[int, Fraction]]] = {}
    for index, sale in enumerate(plan.sales):
        if sale.share is not None and sale.build in made:
            share = made[sale.build] * Fraction(sale.share.fraction)
            shares.setdefault(sale.build, []).append((index, share))
    found: dict[int, int] = {}
    for rows in shares.values():
        found |= {index: math.floor(share) for index, share in rows}
        given = sum(found[index] for index, _ in rows[:-1])
        found[rows[-1][0]] = math.floor(sum(share for _, share in rows)) - given
    return found


def _by_week(rows: Iterable[_Row]) -> dict[dt.date, int]:
    found: dict[dt.date, int] = {}
    for week, units in sorted(rows):
        if units:
            found[week] = found.get(week, 0) + units
    return found


def _weeks(first: dt.date, count: int) -> Iterator[dt.date]:
    return (first + dt.timedelta(weeks=number) for number in range(count))


def _weeks_between(first: dt.date, last: dt.date) -> int:
    """Return how many weeks there are from one Monday to another, both inclusive."""
    return max(0, (last - first).days // 7 + 1)


def _monday(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=day.weekday())
