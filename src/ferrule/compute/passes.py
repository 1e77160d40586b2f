"""When every activity of a network lies: backward from the due date, forward from a day.

The two passes of network planning (critical path method), each leg walked in its own calendar. What is of
unknown length is walked as none, and everything beyond it is marked as a bound: backward no later than, forward
no earlier than.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence

from msgspec import Struct

from ferrule.compute.activities import Activity, Network
from ferrule.compute.calendars import Walked, next_open_day, walk_back, walk_forward

__all__ = ["Lies", "backward", "followers", "forward", "trace_back", "trace_on"]

_DAY = dt.timedelta(days=1)


class Lies(Struct, frozen=True, kw_only=True):
    """Where an activity lies in one pass, both ends inclusive; one of no length starts after it finishes.

    ``due`` is the last day it may finish (backward only). ``walked`` is None where its length is unknown;
    ``bound`` says that an unknown length lies between it and the day the pass began with.
    """

    start: dt.date
    finish: dt.date
    walked: Walked | None
    bound: bool
    due: dt.date | None = None


def followers(network: Network) -> tuple[tuple[int, ...], ...]:
    """Return for each activity those that wait for it, lowest first."""
    found: list[list[int]] = [[] for _ in network.activities]
    for index, activity in enumerate(network.activities):
        for before in activity.after:
            found[before].append(index)
    return tuple(map(tuple, found))


def backward(network: Network) -> tuple[Lies | None, ...]:
    """Return where each activity lies at the latest; None where nothing after it has a date.

    What did begin has no say in it. Raises NoSuchDay.
    """
    found: list[Lies | None] = [None] * len(network.activities)
    waiting = followers(network)
    for index in reversed(range(len(found))):
        activity = network.activities[index]
        after = [lies for lies in (found[each] for each in waiting[index]) if lies is not None]
        dues = [lies.start - _DAY for lies in after]
        dues += [activity.due] if activity.due is not None else []
        if dues:
            found[index] = _back(activity, min(dues), bound=any(map(_beyond, after)))
    return tuple(found)


def _beyond(lies: Lies) -> bool:
    return lies.bound or lies.walked is None


def _back(activity: Activity, due: dt.date, *, bound: bool) -> Lies:
    chain = walk_back((activity.time,), due)
    return Lies(
        start=chain.start,
        finish=chain.finish,
        walked=chain.stretches[0].walked,
        bound=bound,
        due=due,
    )


def forward(  # noqa: PLR0913  a network, and what is known of when it begins
    network: Network,
    today: dt.date,
    *,
    pinned: bool = True,
    floors: Mapping[int, dt.date] | None = None,
    ordered: Mapping[int, dt.date] | None = None,
    like: Sequence[Lies] = (),
    moved: Collection[int] = (),
) -> tuple[Lies, ...]:
    """Return where each activity lies at the earliest, if what has not begun begins ``today`` or later.

    ``pinned`` holds the build to the first days the plan gives for it; without, it begins as early as it can.
    ``floors`` are first days by index on top of that; ``ordered`` days on which the activity is taken to begin
    as a fact, whatever the seller's calendar says. ``like`` is this pass with other ``floors`` or facts for the
    ``moved`` activities alone: what does not come later for them is taken from it. Raises NoSuchDay.
    """
    found: list[Lies] = []
    floor = floors or {}
    for index, activity in enumerate(network.activities):
        if like and index not in moved and all(found[each] is like[each] for each in activity.after):
            found.append(like[index])
            continue
        before = [found[each] for each in activity.after]
        fact = (ordered or {}).get(index, activity.begun)
        days = [today, *(lies.finish + _DAY for lies in before)]
        days += [
            day for day in (activity.not_before if pinned else None, floor.get(index)) if day is not None
        ]
        start = fact if fact is not None else _first_day(activity, max(days))
        chain = walk_forward((activity.time,), start)
        found.append(
            Lies(
                start=chain.start,
                finish=chain.finish,
                walked=chain.stretches[0].walked,
                bound=any(map(_beyond, before)),
            )
        )
    return tuple(found)


def _first_day(activity: Activity, day: dt.date) -> dt.date:
    """Return when an activity can begin from a day on: an order when its seller takes it."""
    return day if activity.asked is None else next_open_day(activity.asked, day)


def trace_on(
    network: Network,
    late: Sequence[Lies | None],
    first: int,
    waiting: Sequence[Sequence[int]] | None = None,
) -> tuple[int, ...]:
    """Return the activities from one to the arrival, by what dates each: the follower that starts first.

    ``waiting`` are the `followers`, where they are at hand.
    """
    waiting, path = waiting or followers(network), [first]
    while waiting[path[-1]]:
        dated = [(lies.start, each) for each in waiting[path[-1]] if (lies := late[each]) is not None]
        path.append(min(dated)[1] if dated else waiting[path[-1]][0])
    return tuple(path)


def trace_back(network: Network, early: Sequence[Lies], last: int) -> tuple[int, ...]:
    """Return the activities up to one, first to last, by what holds each up: the one that finishes last."""
    path = [last]
    while after := network.activities[path[-1]].after:
        path.append(max(after, key=lambda each: (early[each].finish, -each)))
    path.reverse()
    return tuple(path)
