"""Reference designators: the places of a part on a board, listed or in ranges."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable
from typing import Any

from ferrule.model.bad_value import BadValue
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "Designators", "class_of", "compact", "parse_designators"]

PATTERN = r"^[A-Za-z][A-Za-z0-9]*( ?[-\u2013] ?[A-Za-z0-9]+)?([,;]? *[A-Za-z][A-Za-z0-9]*( ?[-\u2013] ?[A-Za-z0-9]+)?)*$"
EXAMPLES = ("C1-C9, C12-C16", "R3, R7")
_ONE = re.compile(r"([A-Za-z]+)([0-9]+)([A-Za-z]?)")
_RANGE = re.compile("([A-Za-z]+)([0-9]+) ?[-\u2013] ?([A-Za-z]*)([0-9]+)")
_MOST = 20_000


class Designators(Value):
    """Names in the order written; a name given twice stays twice, for a rule to report."""

    names: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.names)

    def __str__(self) -> str:
        return ", ".join(self.names)


def class_of(name: str) -> str:
    """Return the class letters of a designator: R of R12."""
    found = _ONE.fullmatch(name)
    return found[1].upper() if found else ""


def parse_designators(written: Any) -> Designators:
    """Return the designators that are written, ranges filled in; raises BadValue."""
    if not isinstance(written, str):
        raise BadValue(f"{quoted(written)} is not a list of designators", EXAMPLES)
    joined = re.sub(" ?[-\u2013] ?", "-", written)
    words = [word for word in re.split(r"[,; ]+", joined.strip()) if word]
    if not words:
        raise BadValue("the list of designators is empty", EXAMPLES)
    names: list[str] = []
    for word in words:
        names += _names(word)
        if len(names) > _MOST:
            raise BadValue(f"more than {_MOST} designators", EXAMPLES)
    return Designators(tuple(names))


def _names(word: str) -> list[str]:
    if _ONE.fullmatch(word):
        return [word]
    found = _RANGE.fullmatch(word)
    if found is None:
        raise BadValue(
            f"{quoted(word)} is not a designator: letters, a number, perhaps one letter more", EXAMPLES
        )
    letters, first, again, last = found.groups()
    if again and again != letters:
        raise BadValue(f"the range {quoted(word)} changes its letters", EXAMPLES)
    low, high = int(first), int(last)
    if low >= high:
        raise BadValue(
            f"the range {quoted(word)} does not rise",
            (f"{letters}{min(low, high)}-{letters}{max(low, high)}",),
        )
    if high - low >= _MOST:
        raise BadValue(f"the range {quoted(word)} has more than {_MOST} places", EXAMPLES)
    return [f"{letters}{number}" for number in range(low, high + 1)]


def _sort_key(name: str) -> tuple[str, int, str]:
    found = _ONE.fullmatch(name)
    return (found[1], int(found[2]), found[3]) if found else (name, 0, "")


def compact(names: Iterable[str]) -> str:
    """Return names sorted, runs of three and more as ranges: ``C1-C3, C7``."""
    ordered = sorted(set(names), key=_sort_key)
    out: list[str] = []
    for _, group in itertools.groupby(enumerate(ordered), key=lambda pair: _run_key(pair[0], pair[1])):
        run = [name for _, name in group]
        out += [f"{run[0]}-{run[-1]}"] if len(run) > 2 else run
    return ", ".join(out)


def _run_key(position: int, name: str) -> tuple[str, object]:
    letters, number, suffix = _sort_key(name)
    return (letters, name) if suffix else (letters, number - position)
