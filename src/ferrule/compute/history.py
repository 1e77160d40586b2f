"""Figures of one commit after another: how they moved, which commits moved them most, where a condition turned true."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.conditions import Condition, Kind, parse_condition

__all__ = ["FIGURES", "Moment", "Mover", "Turn", "figure", "movers", "parse_bisect", "spark", "turns"]

_BOTH = (">", ">=", "<", "<=")
#: The figures of a history by name, and how they are held against a limit.
FIGURES: dict[str, Kind] = {
    "cost": Kind("cost>18.40", _BOTH, ("",)),
    "lead": Kind("lead>120d", _BOTH, ("d", "w")),
    "trough": Kind("trough<20000", _BOTH, ("",)),
    "errors": Kind("errors>0", _BOTH, ("",)),
    "warnings": Kind("warnings>5", _BOTH, ("",)),
}


class Moment(Struct, frozen=True, kw_only=True):
    """One commit with its figures; None where one is not known or there is no such plan or build yet.

    ``cost`` is the unit cost of a build, at least that if ``bound``; ``lead`` the calendar days from its first
    order to its arrival, ``trough`` the lowest balance of its plan, ``errors`` and ``warnings`` the findings.
    """

    commit: str
    day: str
    subject: str
    cost: Fraction | None
    bound: bool
    lead: Fraction | None
    trough: Fraction | None
    errors: Fraction
    warnings: Fraction


class Mover(Struct, frozen=True, kw_only=True):
    """A commit that moved a figure: by how much, and to what."""

    figure: str
    moment: Moment
    before: Fraction
    after: Fraction

    @property
    def change(self) -> Fraction:
        """Return the difference to the commit before."""
        return self.after - self.before


class Turn(Struct, frozen=True, kw_only=True):
    """A commit at which a condition began to hold, or ceased to; ``before`` is None for the oldest."""

    moment: Moment
    holds: bool
    before: Fraction | None
    after: Fraction


def figure(moment: Moment, name: str) -> Fraction | None:
    """Return a figure of a commit by its name; None where it is not known."""
    found: Fraction | None = getattr(moment, name)
    return found


def parse_bisect(written: str) -> Condition:
    """Return the condition to look for; raises BadValue."""
    return parse_condition(written, FIGURES)


def movers(moments: Sequence[Moment], most: int = 3) -> Iterator[Mover]:
    """Yield for each figure the commits that moved it most, the largest first; of equals the later one first."""
    for name in FIGURES:
        found = list(_moves(moments, name))
        ranked = sorted(enumerate(found), key=lambda pair: (-abs(pair[1].change), -pair[0]))
        yield from (mover for _, mover in ranked[:most])


def _moves(moments: Iterable[Moment], name: str) -> Iterator[Mover]:
    before: Fraction | None = None
    for moment in moments:
        after = figure(moment, name)
        if after is None:
            continue
        if before is not None and after != before:
            yield Mover(figure=name, moment=moment, before=before, after=after)
        before = after


def turns(moments: Iterable[Moment], condition: Condition) -> Iterator[Turn]:
    """Yield every commit at which the condition begins or ceases to hold, the oldest first.

    Every commit is looked at: figures move in steps, up and down, so halving would miss turns. Commits at which
    the figure is not known are passed over.
    """
    holding = False
    before: Fraction | None = None
    for moment in moments:
        after = figure(moment, condition.name)
        if after is None:
            continue
        holds = condition.holds(after)
        if holds != holding:
            yield Turn(moment=moment, holds=holds, before=before, after=after)
        holding, before = holds, after


def spark(values: Sequence[Fraction | None], levels: str, unknown: str = "?") -> str:
    """Return one mark a value, the lowest as the first of ``levels`` and the highest as the last.

    Values that are all the same stand at the first level.
    """
    known = [value for value in values if value is not None]
    low, high = min(known, default=Fraction(0)), max(known, default=Fraction(0))

    def level(value: Fraction) -> str:
        return levels[0] if high == low else levels[int((value - low) / (high - low) * (len(levels) - 1))]

    mark: Callable[[Fraction | None], str] = lambda value: unknown if value is None else level(value)  # noqa: E731
    return "".join(map(mark, values))
