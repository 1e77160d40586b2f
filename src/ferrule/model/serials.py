"""Serial numbers, listed or in ranges."""

from __future__ import annotations

import re
from typing import Any

from ferrule.model.bad_value import BadValue
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "Serials", "parse_serials"]

PATTERN = r"^[0-9][0-9,; \u2013-]*$"
EXAMPLES = ("1-1500", "1-400, 500-611")
_RANGE = re.compile(r"([0-9]{1,12})(?:-([0-9]{1,12}))?")
_MOST = 10_000


class Serials(Value):
    """Ranges of serial numbers, both ends included, rising, none touching another."""

    ranges: tuple[tuple[int, int], ...]

    def __len__(self) -> int:
        return sum(last - first + 1 for first, last in self.ranges)

    def __contains__(self, serial: int) -> bool:
        return any(first <= serial <= last for first, last in self.ranges)

    def __str__(self) -> str:
        return ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in self.ranges)

    def without(self, others: Serials) -> Serials:
        """Return the numbers that are not among the others."""
        left = list(self.ranges)
        for low, high in others.ranges:
            cut = [((first, min(last, low - 1)), (max(first, high + 1), last)) for first, last in left]
            left = [piece for pieces in cut for piece in pieces if piece[0] <= piece[1]]
        return Serials(tuple(left))

    def within(self, others: Serials) -> Serials:
        """Return the numbers that are also among the others."""
        return self.without(self.without(others))

    def joined(self, others: Serials) -> Serials:
        """Return the numbers of both."""
        return _merged([*self.ranges, *others.ranges])


def _merged(ranges: list[tuple[int, int]]) -> Serials:
    found: list[tuple[int, int]] = []
    for first, last in sorted(ranges):
        if found and first <= found[-1][1] + 1:
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return Serials(tuple(found))


def parse_serials(written: Any) -> Serials:
    """Return the serial numbers that are written, sorted and merged; raises BadValue."""
    if not isinstance(written, str):
        raise BadValue(f"{quoted(written)} is not a list of serial numbers", EXAMPLES)
    joined = re.sub(" ?[-\u2013] ?", "-", written.strip())
    words = [word for word in re.split(r"[,; ]+", joined) if word]
    if not words or len(words) > _MOST:
        raise BadValue(f"{quoted(written)} is not a list of serial numbers", EXAMPLES)
    return _merged([_range(word) for word in words])


def _range(word: str) -> tuple[int, int]:
    found = _RANGE.fullmatch(word)
    if found is None:
        raise BadValue(f"{quoted(word)} is no serial number and no range of them", EXAMPLES)
    first = int(found[1])
    last = int(found[2]) if found[2] is not None else first
    if first > last:
        raise BadValue(f"the range {quoted(word)} does not rise", (f"{last}-{first}",))
    return first, last
