"""Results kept by what they were made from.

Records and results never change, so a function asked again with the very same ones gives the same. What is kept is
found by the identity of the arguments: that is cheap, and it is right as long as the function reads nothing else.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Any, TypeVar

__all__ = ["Memory"]

T = TypeVar("T")
#: Small values that are compared by content; everything else by identity.
_PLAIN = frozenset({str, int, bool, dt.date, Fraction, type(None)})


class Memory:
    """Answers of pure functions; the least recently used are dropped where there are more than ``most``."""

    def __init__(self, most: int = 20_000) -> None:
        self._most = most
        self._kept: dict[tuple[object, ...], tuple[tuple[object, ...], Any]] = {}

    def of(self, make: Callable[..., T], *made_from: Any) -> T:
        """Return what ``make`` gives for these arguments, made once for the very same ones.

        ``make`` must be a function of a module, not one made on the spot, and read only its arguments.
        """
        key = (make, *[each if type(each) in _PLAIN else id(each) for each in made_from])
        found = self._kept.pop(key, None)
        if found is None:
            found = (
                made_from,
                make(*made_from),
            )  # the arguments are held, so that no other object gets their identity
            if len(self._kept) >= self._most:
                del self._kept[next(iter(self._kept))]
        self._kept[key] = found
        result: T = found[1]
        return result

    def tuple_of(self, items: Iterable[T]) -> tuple[T, ...]:
        """Return the items as a tuple, the very same one for the very same items."""
        return self.of(_tuple, *items)


def _tuple(*items: T) -> tuple[T, ...]:
    return items
