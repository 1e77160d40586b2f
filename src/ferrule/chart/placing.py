"""Finds room for labels: a label stands where nothing else is, or it does not stand in the picture."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct

__all__ = ["Box", "Room", "spread"]


class Box(Struct, frozen=True):
    """An upright rectangle; y grows downwards."""

    left: Fraction
    top: Fraction
    right: Fraction
    bottom: Fraction

    def meets(self, other: Box) -> bool:
        """Return whether the two have some area in common."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def within(self, other: Box) -> bool:
        """Return whether this one lies inside the other, edges included."""
        return (
            other.left <= self.left
            and self.right <= other.right
            and other.top <= self.top
            and self.bottom <= other.bottom
        )


class Room:
    """A rectangle and what is already in it."""

    def __init__(self, bounds: Box, taken: Iterable[Box] = ()) -> None:
        self.bounds = bounds
        self.taken = list(taken)

    def take(self, candidates: Iterable[Box]) -> int | None:
        """Return the index of the first candidate that is free and take it; None if none is."""
        for index, box in enumerate(candidates):
            if box.within(self.bounds) and not any(map(box.meets, self.taken)):
                self.taken.append(box)
                return index
        return None


def spread(wanted: Sequence[Fraction], gap: int, low: Fraction, high: Fraction) -> list[Fraction]:
    """Return places near the wanted ones, ``gap`` apart, between ``low`` and ``high``, in the wanted order.

    The caller sees to it that there is room: ``gap * (len - 1) <= high - low``.
    """
    order = sorted(range(len(wanted)), key=lambda index: (wanted[index], index))
    places = list(wanted)
    least = low
    for index in order:
        places[index] = max(places[index], least)
        least = places[index] + gap
    most = high
    for index in reversed(order):
        places[index] = min(places[index], most)
        most = places[index] - gap
    return places
