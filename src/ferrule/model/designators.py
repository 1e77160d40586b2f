"""Reference designators: the places of a part on a board, listed or in ranges."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from ferrule.model.bad_value import BadValue, usable
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = ["EXAMPLES", "PATTERN", "Designators", "class_of", "compact", "parse_designators"]

#: Only which characters there may be: a list of optional parts would take a checker exponential time.
PATTERN = r"^[,; ]*[A-Za-z][A-Za-z0-9,; \u2013-]*$"
EXAMPLES = ("C1-C9, C12-C16", "R3, R7")
_ONE = re.compile(r"([A-Za-z]+)([0-9]{1,9})([A-Za-z]?)")
_RANGE = re.compile(r"([A-Za-z]+)([0-9]{1,9})-([A-Za-z]*)([0-9]{1,9})")
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
    words = [word for word in re.split(r"[,; ]+", joined.strip(" ")) if word]
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
        turned = f"{letters}{last}-{letters}{first}" if low > high else f"{letters}{first}"
        readable = low - high < _MOST and usable(parse_designators, [turned], ())
        raise BadValue(f"the range {quoted(word)} does not rise", (turned,) if readable else EXAMPLES)
    if high - low >= _MOST:
        raise BadValue(f"the range {quoted(word)} has more than {_MOST} places", EXAMPLES)
    width = _width(first)
    if f"{high:0{width}}" != last:
        raise BadValue(f"the range {quoted(word)} changes its leading zeros", EXAMPLES)
    return [f"{letters}{number:0{width}}" for number in range(low, high + 1)]


def _width(number: str) -> int:
    """Return how many figures a number is filled up to: C01 names another place than C1."""
    return len(number) if number.startswith("0") else 0


def _sort_key(name: str) -> tuple[str, int, str, str]:
    found = _ONE.fullmatch(name)
    return (found[1], int(found[2]), found[3], name) if found else (name, 0, "", name)


def compact(names: Iterable[str]) -> str:
    """Return names sorted, runs of three and more as ranges: ``C1-C3, C7``."""
    runs: list[list[str]] = []
    for name in sorted(set(names), key=_sort_key):
        if runs and name == _following(runs[-1]):
            runs[-1].append(name)
        else:
            runs.append([name])
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _following(run: list[str]) -> str | None:
    """Return the name that a range from the first of ``run`` would go on with."""
    found = _ONE.fullmatch(run[0])
    if found is None or found[3]:
        return None
    return f"{found[1]}{int(found[2]) + len(run):0{_width(found[2])}}"
