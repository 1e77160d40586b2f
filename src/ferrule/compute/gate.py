"""What a change must not do: conditions on a comparison, each met, not met, or not to be decided.

What cannot be decided counts as met: an unknown price must not pass for a cheap one. A figure is judged for every
planned build or plan, and one that meets its condition is enough. A condition on a level (``trough<floor``) is met
where the change brings the figure there or makes it worse, not where it stood there before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.compare import Comparison
from ferrule.compute.conditions import Condition, Kind, parse_conditions
from ferrule.compute.effects import CashEffect, Effects
from ferrule.compute.effects_cost import CostEffect
from ferrule.model.exact import shown_amount

__all__ = ["CONDITIONS", "Verdict", "needs_effects", "parse_gate", "verdicts"]

_MORE, _LESS = (">", ">="), ("<", "<=")
#: What a gate can ask, by name.
CONDITIONS: dict[str, Kind] = {
    "sole-source": Kind("sole-source"),
    "safety": Kind("safety"),
    "evidence-lost": Kind("evidence-lost"),
    "item-reused": Kind("item-reused"),
    "late-order": Kind("late-order"),
    "cost": Kind("cost>2%", _MORE, ("%", "")),
    "lead": Kind("lead>7d", _MORE, ("d", "w")),
    "trough": Kind("trough<floor", _LESS, ("",), ("floor",)),
    "idle": Kind("idle>500", _MORE, ("",)),
}
_OF_EFFECTS = frozenset({"late-order", "cost", "lead", "trough", "idle"})
Outcome = Literal["met", "not met", "cannot be decided"]


class Verdict(Struct, frozen=True):
    """A condition, what came of it, and because of what."""

    condition: str
    outcome: Outcome
    because: tuple[str, ...] = ()

    @property
    def fails(self) -> bool:
        """Return whether the gate is shut by it."""
        return self.outcome != "not met"


def parse_gate(written: str) -> tuple[Condition, ...]:
    """Return the conditions of a gate; raises BadValue."""
    return parse_conditions(written, CONDITIONS)


def needs_effects(conditions: tuple[Condition, ...]) -> bool:
    """Return whether a condition asks for cost, dates or cash."""
    return any(condition.name in _OF_EFFECTS for condition in conditions)


def verdicts(
    conditions: tuple[Condition, ...], found: Comparison, effects: Effects | None
) -> tuple[Verdict, ...]:
    """Return what comes of each condition, in their order. Without effects conditions on figures are undecided."""
    return tuple(_verdict(condition, found, effects) for condition in conditions)


def _verdict(condition: Condition, found: Comparison, effects: Effects | None) -> Verdict:
    if condition.name not in _OF_EFFECTS:
        because = tuple(_FLAGS[condition.name](found))
        return Verdict(condition.written, "met" if because else "not met", because)
    if effects is None:
        return Verdict(condition.written, "cannot be decided", ("cost, dates and cash were not worked out",))
    met: list[str] = []
    open_ = list(effects.failed)
    for word, decided in _FIGURES[condition.name](condition, effects):
        (met if decided else open_).append(word)
    if met:
        return Verdict(condition.written, "met", tuple(met))
    return Verdict(condition.written, "cannot be decided" if open_ else "not met", tuple(open_))


# --- flags -----------------------------------------------------------------------------------------------


def _sole(found: Comparison) -> Iterator[str]:
    yield from (row.number for row in found.supply if "newly sole-source" in row.news)


def _safety(found: Comparison) -> Iterator[str]:
    yield from (row.number for row in found.safety)


def _lost(found: Comparison) -> Iterator[str]:
    yield from dict.fromkeys(row.number for row in found.evidence if row.state == "lost")


def _reused(found: Comparison) -> Iterator[str]:
    yield from (f"{row.assembly} item {row.item}" for row in found.reused)


_FLAGS: dict[str, Callable[[Comparison], Iterator[str]]] = {
    "sole-source": _sole,
    "safety": _safety,
    "evidence-lost": _lost,
    "item-reused": _reused,
}


# --- figures: what meets the condition (True), and what leaves it open (False) ---------------------------

_Found = Iterator[tuple[str, bool]]


def _late(condition: Condition, effects: Effects) -> _Found:
    del condition
    for row in effects.dates:
        yield from ((f"{order.item} for {row.build}", True) for order in row.newly_late)


def _cost(condition: Condition, effects: Effects) -> _Found:
    for row in effects.costs:
        rise = _rise(row, share=condition.unit == "%")
        if rise is not None and condition.holds(rise):
            yield f"{row.build} {_signed(rise * 100, ' %') if condition.unit == '%' else _signed(rise)}", True
        elif row.is_new_bound:
            yield f"{row.build}: {', '.join(_new_unknown(row)) or 'not all is known'}", False


def _rise(row: CostEffect, *, share: bool) -> Fraction | None:
    change = row.change
    if change is None or row.before is None or not share:
        return change
    return change / row.before.total if row.before.total else None


def _new_unknown(row: CostEffect) -> list[str]:
    if row.after is None:
        return []
    known = set(row.before.unknown) if row.before is not None else set()
    return [words for words in row.after.unknown if words not in known]


def _lead(condition: Condition, effects: Effects) -> _Found:
    for row in effects.dates:
        if row.later is not None and condition.holds(Fraction(row.later)):
            yield f"{row.build} {_signed(Fraction(row.later), ' days', 0)}", True
        elif (
            row.after is not None
            and row.after.earliest_bound
            and not (row.before and row.before.earliest_bound)
        ):
            yield f"{row.build}: {', '.join(row.after.unknown)}", False


def _trough(condition: Condition, effects: Effects) -> _Found:
    for row in effects.cash:
        if row.after is None:
            continue
        after = row.after.ledger.trough.balance
        limit = row.after.floor if condition.word else condition.limit
        if limit is None:
            yield f"plan {row.plan} states no floor", False
        elif condition.holds(after, limit) and _is_worse(condition, row, after):
            yield f"{row.plan} {_amount(after)}", True
        elif row.before is not None and set(row.after.unknown) - set(row.before.unknown):
            yield f"{row.plan}: {', '.join(sorted(set(row.after.unknown) - set(row.before.unknown)))}", False


def _is_worse(condition: Condition, row: CashEffect, after: Fraction) -> bool:
    if row.before is None:
        return True
    before = row.before.ledger.trough.balance
    floor = row.before.floor if condition.word else condition.limit
    return after < before or floor is None or not condition.holds(before, floor)


def _idle(condition: Condition, effects: Effects) -> _Found:
    known = [row.lost for row in effects.idle]
    total = sum((lost for lost in known if lost is not None), Fraction(0))
    if condition.holds(total):
        yield f"{_amount(total)} in {', '.join(row.part for row in effects.idle)}", True
    elif None in known:
        yield ", ".join(f"value of {row.part}" for row in effects.idle if row.lost is None), False


_FIGURES: dict[str, Callable[[Condition, Effects], _Found]] = {
    "late-order": _late,
    "cost": _cost,
    "lead": _lead,
    "trough": _trough,
    "idle": _idle,
}


def _amount(number: Fraction) -> str:
    return shown_amount(number, 2)


def _signed(number: Fraction, unit: str = "", places: int = 2) -> str:
    return f"{'+' if number > 0 else ''}{shown_amount(number, places)}{unit}"
