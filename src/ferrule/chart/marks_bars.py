"""Bars as plain text: letter and fill for each element, the sum at the end, all values in the line below."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.chart.marks_looks import UNBOUND, Looks
from ferrule.chart.wording import (
    NOTHING,
    UNKNOWN,
    bar_scale,
    beside,
    flowed,
    keyed,
    letters,
    reach,
    sum_text,
    total,
    under,
)
from ferrule.model.exact import shown_amount
from ferrule.model.text import visible
from ferrule.report.picture import Bar, Bars

__all__ = ["bar_lines"]

_INDENT = "  "
_GAP = "  "
_OPEN = 3
_SHORTEST = 12


def bar_lines(bars: Bars, columns: int | None, looks: Looks) -> Iterator[str]:
    """Yield the scale, the key and the rows. Sentences may be wider than ``columns``, bars never are."""
    if not bars.rows:
        yield from (bar_scale(bars), NOTHING)
        return
    names = letters(bars)
    whole = UNBOUND if columns is None else columns
    longest = max(map(reach, bars.rows))
    scale = _room(bars, whole) / longest if longest else Fraction(0)
    column = f"; one column is {shown_amount(1 / scale, bars.rounding.places + 2)}" if scale else ""
    yield bar_scale(bars) + column
    if names:
        yield from flowed(_key(names), columns)
    for row in bars.rows:
        yield ""
        yield visible(row.name)
        yield from _drawn(bars, row, scale, whole, looks)
        values = (beside(names, segment, bars.rounding) for segment in row.segments)
        limit = None if columns is None else columns - len(_INDENT)
        yield from (_INDENT + line for line in flowed(values, limit) if line)
        yield from (_INDENT + sentence for sentence in under(bars, row))


def _key(names: dict[str, str]) -> Iterator[str]:
    entries = [keyed(names, name) for name in names]
    yield f"key: {entries[0]}"
    yield from entries[1:]


def _room(bars: Bars, columns: int) -> Fraction:
    """Return the columns of the longest bar: what the sums leave over, which must be worth it."""
    unknown = any(segment.value is None for row in bars.rows for segment in row.segments)
    words = max(len(sum_text(row, bars.rounding)) for row in bars.rows)
    left = columns - len(_INDENT) - (_OPEN if unknown else 0) - len(_GAP) - words
    return Fraction(left if left >= _SHORTEST else columns - len(_INDENT) - _OPEN)


def _drawn(bars: Bars, row: Bar, scale: Fraction, columns: int, looks: Looks) -> Iterator[str]:
    """Yield a bar with its sum at its end, or the sum under it, and a line for what is taken off."""
    drawn = _INDENT + _bar(letters(bars), row, scale, looks)
    said = sum_text(row, bars.rounding)
    if len(drawn) + len(_GAP) + len(said) <= columns:
        yield f"{drawn}{_GAP}{said}" if drawn.strip() else _INDENT + said
    else:
        yield drawn
        yield _INDENT + said
    end, off = _column(reach(row) * scale), _column((reach(row) - total(row)) * scale)
    if off:
        yield _INDENT + " " * max(0, end - off) + looks.off * min(off, end)


def _bar(names: dict[str, str], row: Bar, scale: Fraction, looks: Looks) -> str:
    """Return the bar. Its edges are rounded, not its elements: it is never longer or shorter by more than half a column."""
    made = ""
    reached = Fraction(0)
    for segment in row.segments:
        if segment.value is None or segment.value < 0:
            continue
        reached += Fraction(segment.value)
        wide = _column(reached * scale) - len(made)
        key = names[segment.name]
        fill = looks.fills[list(names).index(segment.name) % len(looks.fills)]
        made += (key if len(key) <= wide else "").ljust(wide, fill)
    if any(segment.value is None for segment in row.segments):
        made += looks.unknown * (_OPEN - 1) + UNKNOWN
    return made


def _column(place: Fraction) -> int:
    return int(place + Fraction(1, 2))
