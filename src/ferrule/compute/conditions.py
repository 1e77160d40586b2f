"""Conditions as people write them on a command line: a name alone, or a figure against a limit.

``condition = flag | figure operator limit``, with ``operator`` one of ``> >= < <=`` and ``limit`` a number with
its unit: ``2%``, ``0.50``, ``7d``, ``2w``, or a word the figure knows (``floor``). Several are parted by commas.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.model.bad_value import BadValue
from ferrule.model.text import nearest, quoted

__all__ = ["Condition", "Kind", "parse_condition", "parse_conditions"]

_FORM = re.compile(r"([a-z][a-z-]*)(?: ?(>=|<=|>|<|=) ?(\S+))?")
_LIMIT = re.compile(r"(-?[0-9]{1,15}(?:\.[0-9]{1,9})?) ?(%|d|w)?")
_OPERATORS: dict[str, Callable[[Fraction, Fraction], bool]] = {
    ">": operator.gt,
    ">=": operator.ge,
    "<": operator.lt,
    "<=": operator.le,
}


class Kind(Struct, frozen=True):
    """A figure that can be held against a limit: which operators and units make sense, which words, an example.

    A flag has neither.
    """

    example: str
    operators: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


class Condition(Struct, frozen=True):
    """One condition; ``limit`` is None for a flag and for a word. Shares are of one, times in days."""

    written: str
    name: str
    operator: str = ""
    limit: Fraction | None = None
    unit: str = ""
    word: str = ""

    def holds(self, figure: Fraction, limit: Fraction | None = None) -> bool:
        """Return whether a figure meets the limit, or the one a word stands for."""
        found = self.limit if limit is None else limit
        if found is None:
            raise ValueError(f"{self.written} has no limit of its own")
        return _OPERATORS[self.operator](figure, found)


def parse_conditions(written: str, kinds: Mapping[str, Kind]) -> tuple[Condition, ...]:
    """Return the conditions of a list parted by commas; raises BadValue for the first that is none."""
    parts = [part.strip() for part in written.split(",")]
    if not any(parts):
        raise BadValue("no condition is named", tuple(kind.example for kind in kinds.values()))
    return tuple(parse_condition(part, kinds) for part in parts if part)


def parse_condition(written: str, kinds: Mapping[str, Kind]) -> Condition:
    """Return one condition; raises BadValue where its name, operator or limit is none of those known."""
    found = _FORM.fullmatch(written.strip())
    name = found[1] if found is not None else ""
    if found is None or name not in kinds:
        raise _unknown(written, name, kinds)
    kind = kinds[name]
    if not kind.operators:
        if found[2] is not None:
            raise BadValue(f"{quoted(written)}: {name} takes no limit", (name,))
        return Condition(written.strip(), name)
    if found[2] is None:
        raise BadValue(f"{quoted(written)} names no limit", (kind.example,))
    if found[2] not in kind.operators:
        allowed = " or ".join(kind.operators)
        raise BadValue(f"{quoted(written)}: {name} is compared with {allowed}", (kind.example,))
    return _limited(written.strip(), found, kind)


def _limited(written: str, found: re.Match[str], kind: Kind) -> Condition:
    name, sign, text = found[1], found[2], found[3]
    if text in kind.words:
        return Condition(written, name, sign, word=text)
    limit = _LIMIT.fullmatch(text)
    if limit is None or (limit[2] or "") not in kind.units:
        raise BadValue(f"{quoted(written)}: {quoted(text)} is no limit of {name}", (kind.example,))
    number, unit = Fraction(limit[1]), limit[2] or ""
    if unit == "%":
        number /= 100
    elif unit == "w":
        number, unit = number * 7, "d"
    return Condition(written, name, sign, number, unit)


def _unknown(written: str, name: str, kinds: Mapping[str, Kind]) -> BadValue:
    best = nearest(name or written, list(kinds))
    forms = (kinds[best].example,) if best else tuple(kind.example for kind in kinds.values())
    return BadValue(f"{quoted(written)} is no condition", forms)
