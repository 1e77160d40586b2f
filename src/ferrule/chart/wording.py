"""What both forms of a picture say: letters of the elements, sums, and sentences. Sums are exact; only shown text is rounded."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from ferrule.chart.money import Flow, flows, week_name
from ferrule.model.columns import width
from ferrule.model.exact import Exact, shown_amount
from ferrule.model.text import visible
from ferrule.report.picture import (
    Balance,
    Bar,
    Bars,
    Closed,
    Curve,
    Picture,
    Rounding,
    Segment,
    StripRow,
    Strips,
)

__all__ = [
    "along",
    "amount",
    "bar_scale",
    "beside",
    "closure_said",
    "curve_scale",
    "flow_scale",
    "flowed",
    "in_words",
    "keyed",
    "letter",
    "letters",
    "reach",
    "sentences",
    "strip_label",
    "strips_notes",
    "sum_text",
    "tallest",
    "total",
    "under",
]

UNKNOWN = "?"
NOTHING = "nothing to show"
TOO_NARROW = "too narrow to be drawn"
_ROUNDED = "rounded only when shown, so shown values may not add up"


def amount(number: Exact | None, rounding: Rounding) -> str:
    """Return an amount as every picture shows it; "?" where it is not known."""
    if number is None:
        return UNKNOWN
    return shown_amount(number, rounding.places, half_even=rounding.half_even)


def letter(index: int) -> str:
    """Return A for 0, Z for 25, AA for 26."""
    front, last = divmod(index, 26)
    return (letter(front - 1) if front else "") + chr(ord("A") + last)


def letters(bars: Bars) -> dict[str, str]:
    """Return the letter of every element, in order of first appearance from the left and the top."""
    names = dict.fromkeys(segment.name for row in bars.rows for segment in row.segments)
    return {name: letter(index) for index, name in enumerate(names)}


def total(bar: Bar) -> Fraction:
    """Return the sum of what is known."""
    return sum((Fraction(s.value) for s in bar.segments if s.value is not None), Fraction(0))


def reach(bar: Bar) -> Fraction:
    """Return how far the bar goes: what is known and above zero, before anything is taken off."""
    known = (Fraction(s.value) for s in bar.segments if s.value is not None)
    return sum((value for value in known if value > 0), Fraction(0))


def sum_text(bar: Bar, rounding: Rounding) -> str:
    """Return the sum of a bar in words: "62.10", "at least 62.10", or "not known"."""
    known = any(segment.value is not None for segment in bar.segments)
    partial = any(segment.value is None for segment in bar.segments)
    if partial and not known:
        return "not known"
    return ("at least " if partial else "") + amount(total(bar), rounding)


def beside(names: dict[str, str], segment: Segment, rounding: Rounding) -> str:
    """Return an element's letter and value: "A 30.20"."""
    return f"{names[segment.name]} {amount(segment.value, rounding)}"


def flowed(parts: Iterable[str], columns: int | None) -> list[str]:
    """Return parts in lines, commas between them, broken only after a comma; None is one line."""
    lines = [""]
    for part in parts:
        joined = f"{lines[-1]}, {part}" if lines[-1] else part
        if lines[-1] and columns is not None and width(joined) >= columns:
            lines[-1] += ","
            lines.append(part)
        else:
            lines[-1] = joined
    return lines


def keyed(names: dict[str, str], name: str) -> str:
    """Return an element's letter and name: "A materials"."""
    return f"{names[name]} {visible(name)}".rstrip()


def under(bars: Bars, row: Bar) -> Iterator[str]:
    """Yield what stands under a bar: the elements taken off, those not known, and the remark."""
    names = letters(bars)
    off = [s for s in row.segments if s.value is not None and s.value < 0]
    if off:
        yield "taken off: " + ", ".join(
            f"{keyed(names, s.name)} {amount(s.value, bars.rounding)}" for s in off
        )
    unknown = [s for s in row.segments if s.value is None]
    if unknown:
        yield "not known: " + ", ".join(keyed(names, s.name) for s in unknown)
    if row.remark:
        yield visible(row.remark)


def bar_scale(bars: Bars) -> str:
    """Return the sentence on unit and scale."""
    longest = max(map(reach, bars.rows), default=Fraction(0))
    said = f"{visible(bars.unit)}; all bars on one scale, the longest is {amount(longest, bars.rounding)}"
    return f"{said}; {_ROUNDED}" if any(_looks_wrong(row, bars.rounding) for row in bars.rows) else said


def _looks_wrong(row: Bar, rounding: Rounding) -> bool:
    """Return whether the shown values do not add up to the shown sum."""
    known = [segment.value for segment in row.segments if segment.value is not None]
    parts = sum((_as_shown(value, rounding) for value in known), Fraction(0))
    return parts != _as_shown(total(row), rounding)


def _as_shown(number: Exact, rounding: Rounding) -> Fraction:
    return Fraction(shown_amount(number, rounding.places, half_even=rounding.half_even, separator=False))


def along(curve: Curve, x: Exact) -> str:
    """Return an x of a curve: the name of that place, or its number."""
    for place, name in curve.places:
        if place == x:
            return visible(name)
    return shown_amount(x, 0 if Fraction(x).denominator == 1 else 2)


def curve_scale(curve: Curve, low: Exact, high: Exact, places: int) -> str:
    """Return the sentence on units and scales; ``low`` and ``high`` are the ends of the upright one."""
    ends = f"from {shown_amount(low, places)} to {shown_amount(high, places)}"
    zero = "" if low <= 0 <= high else ", not from zero"
    ratio = ", equal factors take equal room" if curve.spread == "ratio" else ""
    return f"up: {visible(curve.unit_y)}, {ends}{zero}; along: {visible(curve.unit_x)}{ratio}"


def sentences(picture: Picture) -> Iterator[str]:
    """Yield the whole picture in words: its description, then every row or line with its values."""
    yield visible(picture.description)
    yield from in_words(picture)


def in_words(picture: Picture) -> Iterator[str]:
    """Yield a sentence for every row of bars or strips, every line and labelled step of a curve, every week of a balance."""
    if isinstance(picture, Strips):
        yield from _strips(picture)
    elif isinstance(picture, Balance):
        yield from _balance(picture)
    else:
        yield from _bars(picture) if isinstance(picture, Bars) else _curve(picture)


def flow_scale(balance: Balance, most: Exact | None = None, weeks: int = 1) -> str:
    """Return the sentence on the strip under a balance: its largest amount, where a place holds several weeks theirs."""
    largest = amount(tallest(flows(balance)) if most is None else most, balance.rounding)
    each = "a week" if weeks == 1 else f"in each column, up to {weeks} weeks together"
    return f"in and out {each}: {visible(balance.unit)}, the largest is {largest}"


def tallest(found: Iterable[Flow]) -> Fraction:
    """Return the largest known amount that moves in a week, zero if there is none."""
    amounts = [Fraction(each) for flow in found for each in (flow.income, flow.outgo) if each is not None]
    return max(amounts, default=Fraction(0))


def _balance(balance: Balance) -> Iterator[str]:
    for week in balance.weeks:
        income, outgo, left = (
            amount(each, balance.rounding) for each in (week.income, week.outgo, week.balance)
        )
        yield f"{week_name(week)}: in {income}, out {outgo}, balance {left}"
    if balance.floor is not None:
        yield f"{visible(balance.floor.name)} {amount(balance.floor.y, balance.rounding)}".lstrip()
    for each in balance.scenarios:
        pairs = zip(balance.weeks, each.balances, strict=False)
        parts = [f"{week_name(week)}: {amount(value, balance.rounding)}" for week, value in pairs]
        yield "; ".join([visible(each.name), *parts])
    if balance.remark:
        yield visible(balance.remark)


def _strips(strips: Strips) -> Iterator[str]:
    for row in strips.rows:
        parts = [f"{visible(each.name)} {each.start} to {each.finish}" for each in row.stretches]
        marked = [strip_label(row)] if strip_label(row) else []
        first = ["decides the date"] if row.critical else []
        yield f"{visible(row.name)}: {', '.join([*first, *marked, *parts])}"
        if row.more:
            yield f"the same: {', '.join(map(visible, row.more))}"
    yield from (closure_said(index, closed) for index, closed in enumerate(strips.closures))
    yield from strips_notes(strips)


def strip_label(row: StripRow) -> str:
    """Return what stands beside a strip: "order by 2027-01-04, late by 6 days"; empty if there is nothing to say."""
    day = "" if row.tick is None else f"{visible(row.label)} {row.tick}".strip()
    return ", ".join(filter(None, (day, visible(row.remark).strip())))


def closure_said(index: int, closed: Closed) -> str:
    """Return a closure in words: its letter, name, days and calendar."""
    whose = f", {visible(closed.calendar)}" if closed.calendar else ""
    return f"{letter(index).lower()} {visible(closed.name)}: {closed.start} to {closed.finish}{whose}"


def strips_notes(strips: Strips) -> Iterator[str]:
    """Yield what has to be said under strips: that some are cut off at the start, and how many are left out."""
    if any(each.start < strips.start for row in strips.rows for each in row.stretches):
        yield f"what began before {strips.start} is cut off there"
    if strips.left_out:
        words = "more row is" if strips.left_out == 1 else "more rows are"
        yield f"{strips.left_out:,} {words} left out"


def _bars(bars: Bars) -> Iterator[str]:
    for row in bars.rows:
        parts = [f"{visible(s.name)} {amount(s.value, bars.rounding)}" for s in row.segments]
        yield f"{visible(row.name)}: {sum_text(row, bars.rounding)} ({', '.join(parts)})"


def _curve(curve: Curve) -> Iterator[str]:
    for line in curve.lines:
        parts = [f"{along(curve, x)}: {amount(y, curve.rounding)}" for x, y in line.points]
        yield "; ".join([visible(line.name), *parts] if line.name else parts)
    for label in curve.labels:
        yield f"at {along(curve, label.x)}: {visible(label.cause)}"
