"""What chance leaves of a plan: lanes, lead times and demand drawn many times, always the same for one seed.

Random numbers come from Python's Mersenne Twister, of which only ``random()`` is used: its sequence for a whole-number
seed is promised to stay the same in all versions. A number is taken as k / 2^53 and everything after it is whole
numbers and fractions, so that a seed gives the same answer on any machine.

A time lies between its best and worst with a triangular chance, its likely one at the top. The inverse of its
distribution is used: below the top x = best + sqrt(u (worst - best)(likely - best)), above it the mirror image,
rounded to the nearest whole day, a half up.
"""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from math import floor, isqrt

from msgspec import Struct

from ferrule.compute.activities import Activity, Network
from ferrule.compute.calendars import LegTime, next_open_day, walk_forward
from ferrule.model.duration import Duration, TimeUnit

__all__ = [
    "Chance",
    "Outcome",
    "Spread",
    "drawn_days",
    "nearest_root",
    "quantile",
    "ready_day",
    "spread_of",
    "spreads",
    "triangular",
    "uniform",
    "walked",
]

_BITS = 53
_DAY = dt.timedelta(days=1)


class Spread(Struct, frozen=True):
    """A time in whole units by its best, likely and worst; the same three times where nothing is left to chance."""

    best: int
    likely: int
    worst: int


class Outcome(Struct, frozen=True, kw_only=True):
    """What one draw came to: the first arrival (None where no build has a date), the lowest balance and its week."""

    arrival: dt.date | None
    trough: Fraction
    week: int


class Chance(Struct, frozen=True, kw_only=True):
    """All draws of a plan. ``missed`` counts arrivals after the season, None where none is stated or dated.

    ``below`` counts troughs below the floor, or below zero where none is stated.
    """

    draws: int
    seed: int
    outcomes: tuple[Outcome, ...]
    season: dt.date | None
    floor: Fraction

    @property
    def missed(self) -> int | None:
        """Return in how many draws the first arrival comes after the season."""
        days = [each.arrival for each in self.outcomes]
        if self.season is None or None in days:
            return None
        return sum(1 for day in days if day is not None and day > self.season)

    @property
    def below(self) -> int:
        """Return in how many draws the balance passes the floor."""
        return sum(1 for each in self.outcomes if each.trough < self.floor)


def uniform(generator: random.Random) -> Fraction:
    """Return the next random number, from 0 up to but not 1, as a fraction of 2^53."""
    return Fraction(floor(generator.random() * 2**_BITS), 2**_BITS)


def nearest_root(number: Fraction) -> int:
    """Return the whole number nearest to the square root of a number, a half up.

    The largest k with (2k - 1)^2 no more than four times the number.
    """
    return (isqrt(floor(4 * number)) + 1) // 2


def triangular(at: Fraction, spread: Spread) -> int:
    """Return the whole unit that a random number picks from a triangular spread; ``at`` from 0 to 1.

    Raises ValueError where best, likely and worst are not in this order.
    """
    best, likely, worst = spread.best, spread.likely, spread.worst
    if not best <= likely <= worst:
        raise ValueError(f"{best}, {likely}, {worst} do not rise")
    if best == worst:
        return best
    if at * (worst - best) < likely - best:
        return best + nearest_root(at * (worst - best) * (likely - best))
    return worst - nearest_root((1 - at) * (worst - best) * (worst - likely))


def drawn_days(generator: random.Random, time: Spread) -> int:
    """Return a drawn time; what is certain takes no random number."""
    return time.best if time.best == time.worst else triangular(uniform(generator), time)


def quantile(values: Sequence[Fraction], share: Fraction) -> Fraction:
    """Return the value that a share of some values does not pass: the smallest of them with that share at or below."""
    ordered = sorted(values)
    return ordered[max(0, -(-share * len(ordered) // 1) - 1)]


def ready_day(
    network: Network,
    times: Mapping[int, int],
    ordered: Mapping[int, dt.date],
    today: dt.date,
    finish: Callable[[Activity, int | None, dt.date], dt.date],
) -> dt.date:
    """Return the first day of shipping when some activities take the given times and orders go out on given days."""
    ends: list[dt.date] = []
    for index, activity in enumerate(network.activities[: network.ships]):
        fact = activity.begun or ordered.get(index)
        days = [today, *(ends[before] + _DAY for before in activity.after)]
        start = max(days) if fact is None else fact
        if activity.not_before is not None and fact is None:
            start = max(start, activity.not_before)
        if activity.asked is not None and activity.begun is None:
            start = next_open_day(activity.asked, start)
        ends.append(finish(activity, times.get(index), start))
    shipping = network.activities[network.ships]
    first = max([today, *(ends[before] + _DAY for before in shipping.after)])
    return max(first, shipping.not_before) if shipping.not_before is not None else first


def walked(activity: Activity, count: int | None, start: dt.date) -> dt.date:
    """Return when an activity ends that begins on a day, at its own length or a drawn one in the same unit."""
    time = activity.time
    if count is not None and time.duration is not None:
        time = LegTime(
            name=time.name,
            calendar=time.calendar,
            duration=Duration(Decimal(count), _in_days(time.duration.unit)),
            open_days=time.open_days,
            loops=time.loops,
        )
    return walk_forward((time,), start).finish


def _in_days(unit: TimeUnit) -> TimeUnit:
    """Return the unit a drawn time is in: weeks are drawn by the day."""
    return "days" if unit == "weeks" else unit


def spread_of(times: Sequence[Duration | None]) -> Spread | None:
    """Return the spread of best, likely and worst times, by the day where they are weeks.

    None where nothing is left to chance, one is not known, they do not rise or have more than one unit.
    """
    known = [time for time in times if time is not None]
    if len(known) < 3 or len({_in_days(time.unit) for time in known}) > 1:
        return None
    low, middle, high = (time.count * 7 if time.unit == "weeks" else time.count for time in known)
    if not low <= middle <= high or low == high or any(each % 1 for each in (low, middle, high)):
        return None
    return Spread(int(low), int(middle), int(high))


def spreads(networks: Sequence[Network]) -> Iterator[tuple[int, Spread]]:
    """Yield the activities with a spread of times, from one network woven at best, likely and worst times.

    Nothing where the three are not woven alike.
    """
    best, likely, worst = (network.activities for network in networks)
    if not len(best) == len(likely) == len(worst):
        return
    for index, three in enumerate(zip(best, likely, worst, strict=True)):
        found = spread_of([each.time.duration for each in three])
        if found is not None:
            yield index, found
