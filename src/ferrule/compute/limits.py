"""How far one fact may move before a plan breaks: which condition gives way first, which one next.

A fact is tried on a grid of exact values that runs from what suits us best to what suits us least: a day, a tenth
of a point, a step of a rate. Where a condition only gets tighter along the grid, halving finds its limit; where
it does not, values are tried one by one from today's, for a cost that comes in steps must not be halved
(`ferrule.compute.limits_build` tries every quantity).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Literal

from msgspec import Struct

__all__ = ["Bound", "Limit", "Mark", "solve"]

#: How many values between the ends are tried to see whether a condition only gets tighter.
_PROBES = 3


class Mark(Struct, frozen=True, kw_only=True):
    """How one condition stands: what is left of it, in ``unit``; below zero it is broken.

    ``key`` is the same whatever is tried; ``words`` say where it is tightest ("the floor in week 25").
    """

    key: str
    room: Fraction
    unit: str
    words: str


class Bound(Struct, frozen=True, kw_only=True):
    """How far one condition lets the fact go.

    ``at`` is the index of the last value that keeps it, None where not even the first does. ``state`` is
    "within" the grid, "beyond" it where all values keep it, "never" where none does. ``mark`` is the condition
    at the value after it, which breaks it; at the end of the grid where none does. ``again`` says that a
    later value was seen to keep it again.
    """

    key: str
    at: int | None
    state: Literal["within", "beyond", "never"]
    mark: Mark
    again: bool = False


class Limit(Struct, frozen=True, kw_only=True):
    """What a grid of values shows: the bounds, the tightest first.

    ``held`` are conditions that the fact does not move, as they stand. ``scanned`` says that values were tried
    one by one; ``tried`` how many were in all. ``now`` are all conditions at today's value.
    """

    bounds: tuple[Bound, ...]
    now: tuple[Mark, ...]
    held: tuple[Mark, ...]
    scanned: bool
    tried: int

    @property
    def binding(self) -> Bound | None:
        """Return the bound that is met first; None where no condition moves."""
        return self.bounds[0] if self.bounds else None

    @property
    def next(self) -> Bound | None:
        """Return the bound that would be met after it, within the grid; None where there is none."""
        return next((bound for bound in self.bounds[1:] if bound.state != "beyond"), None)

    @property
    def at(self) -> int | None:
        """Return the index of the last value that keeps every condition it moves; None where there is none."""
        return self.bounds[0].at if self.bounds else None


def solve(
    count: int, today: int, marks_at: Callable[[int], Sequence[Mark]], *, stepped: bool = False
) -> Limit:
    """Return the limits on a grid of ``count`` values with today's at an index of it.

    ``marks_at`` tells how the conditions stand at an index; what it does not name counts as kept. The limit of
    a condition that only tightens is the last value that keeps it. Of one that also eases, it is the last one
    before it breaks on the way from today's value; where that breaks it, the nearest better one that keeps it.
    Whether one eases is seen at the values tried; ``stepped`` says beforehand that any may.
    """
    return _Search(count, today, marks_at, stepped=stepped).limit()


class _Search:
    """Tries values of a grid, each once."""

    def __init__(
        self, count: int, today: int, marks_at: Callable[[int], Sequence[Mark]], *, stepped: bool
    ) -> None:
        self.count, self.today, self._ask, self.stepped = count, today, marks_at, stepped
        self.known: dict[int, dict[str, Mark]] = {}

    def at(self, index: int) -> dict[str, Mark]:
        """Return how the conditions stand at an index."""
        if index not in self.known:
            self.known[index] = {mark.key: mark for mark in self._ask(index)}
        return self.known[index]

    def limit(self) -> Limit:
        """Return the bounds of every condition that moves."""
        self.at(self.today)
        for number in range(_PROBES + 2):
            self.at((self.count - 1) * number // (_PROBES + 1))
        keys = list(dict.fromkeys(key for marks in self.known.values() for key in marks))
        even = [key for key in keys if self._moves(key) and self._falls(key) and not self.stepped]
        for key in even:
            self._halve(key)
        even = [key for key in even if self._falls(key)]
        moving = [key for key in keys if self._moves(key)]
        uneven = [key for key in moving if key not in even and not self._only_eases(key)]
        bounds = [*map(self._walked, uneven), *map(self._fallen, even)]
        return Limit(
            bounds=tuple(sorted(bounds, key=self._order)),
            now=tuple(self.at(self.today).values()),
            held=tuple(self.at(0)[key] for key in keys if key in self.at(0) and key not in moving),
            scanned=bool(uneven),
            tried=len(self.known),
        )

    def _rooms(self, key: str) -> list[Fraction]:
        return [marks[key].room for _, marks in sorted(self.known.items()) if key in marks]

    def _moves(self, key: str) -> bool:
        return len(set(self._rooms(key))) > 1

    def _falls(self, key: str) -> bool:
        return all(one >= other for one, other in itertools.pairwise(self._rooms(key)))

    def _rises(self, key: str) -> bool:
        return all(one <= other for one, other in itertools.pairwise(self._rooms(key)))

    def _only_eases(self, key: str) -> bool:
        """Return whether a condition that is kept at first only gets easier: it limits nothing."""
        return self._rises(key) and self._rooms(key)[0] >= 0

    def _halve(self, key: str) -> None:
        """Try values until the last kept and the first broken one stand side by side."""
        low, high = 0, self.count - 1
        if self._broken(low, key) or not self._broken(high, key):
            return
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self._broken(middle, key) else (middle, high)

    def _broken(self, index: int, key: str) -> bool:
        mark = self.at(index).get(key)
        return mark is not None and mark.room < 0

    def _walked(self, key: str) -> Bound:
        """Return the bound of a condition that eases as well: from today's value one by one."""
        at = self.today
        if self._broken(at, key):
            while at >= 0 and self._broken(at, key):
                at -= 1
        else:
            while at + 1 < self.count and not self._broken(at + 1, key):
                at += 1
        return self._bound(key, at)

    def _fallen(self, key: str) -> Bound:
        """Return the bound of a condition that only tightens."""
        broken = (index for index in sorted(self.known) if self._broken(index, key))
        return self._bound(key, next(broken, self.count) - 1)

    def _bound(self, key: str, at: int) -> Bound:
        if at == self.count - 1:
            return Bound(key=key, at=at, state="beyond", mark=self.at(at)[key])
        again = any(not self._broken(index, key) for index in self.known if index > at + 1)
        state: Literal["within", "never"] = "within" if at >= 0 else "never"
        return Bound(key=key, at=at if at >= 0 else None, state=state, mark=self.at(at + 1)[key], again=again)

    @staticmethod
    def _order(bound: Bound) -> tuple[int, bool, Fraction, str]:
        """Return the key that puts the tightest first; of equals what is broken, then what has least room."""
        return (-1 if bound.at is None else bound.at, bound.state == "beyond", bound.mark.room, bound.key)
