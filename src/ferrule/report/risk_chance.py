"""What chance leaves of a plan, in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.draws import Chance, quantile
from ferrule.report.document import Amount, Cell, Column, Table
from ferrule.report.wording import money, percent

__all__ = ["chance_facts", "chance_notes", "chances"]


def chance_facts(chance: Chance | None) -> Iterator[tuple[str, Cell]]:
    """Yield how often the season is missed and the floor passed; nothing without draws."""
    if chance is None:
        return
    yield "draws", chance.draws
    yield "seed", chance.seed
    if chance.season is not None:
        missed = chance.missed
        yield "season missed in", None if missed is None else _of(missed, chance.draws)
    yield "floor passed in", _of(chance.below, chance.draws)


def _of(count: int, draws: int) -> str:
    return f"{count} of {draws} draws, {percent(Fraction(count, draws))}"


def chances(chance: Chance) -> Table:
    """Return by when the first build arrives and how low the money gets, in so many of the draws."""
    columns = (
        Column("share", "in so many of the draws, %", "number"),
        Column("arrival", "first arrival by"),
        Column("trough", "lowest balance at least", "number"),
    )
    days = [each.arrival for each in chance.outcomes]
    ordinals = [Fraction(day.toordinal()) for day in days if day is not None]
    rows = []
    for share in (Fraction(1, 10), Fraction(1, 2), Fraction(9, 10), Fraction(1)):
        arrival = (
            None
            if len(ordinals) < len(days)
            else dt.date.fromordinal(int(quantile(ordinals, share))).isoformat()
        )
        trough = -quantile([-each.trough for each in chance.outcomes], share)
        rows.append((Amount(share * 100, 0), arrival, Amount(trough)))
    return Table(key="chances", title="What chance leaves of the plan", columns=columns, rows=rows)


def chance_notes(chance: Chance) -> Iterator[str]:
    """Yield what was drawn, and what was not."""
    yield (
        f"drawn {chance.draws} times from seed {chance.seed}: times of lanes and leads by their best, likely and worst "
        "(triangular), sales that are not firm by their probability; the same seed gives the same answer"
    )
    if chance.season is None:
        yield "the plan states no season to miss"
    yield f"floor: {money(chance.floor)}"
