"""Acceptance sampling of a lot: which sample, how many bad ones are accepted, and what that protects from.

Single sampling by attributes after MIL-STD-105E (the same plans as ANSI/ASQ Z1.4 and ISO 2859-1): lot size and
level give a letter, letter and acceptance quality limit a plan. Where the table has an arrow the *sample* changes,
not only the number. Chances are exact, hypergeometric: P(X <= c) = sum over k of C(D, k) C(N - D, n - k) / C(N, n).

Passing a sample is not conformity, and no defect that can hurt somebody is acceptable at any limit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.compute.sampling_tables import AQLS, LEVELS, LOTS, NORMAL, SIZES, TIGHTENED

__all__ = [
    "SamplePlan",
    "Severity",
    "Verdict",
    "chance_of_acceptance",
    "curve",
    "judge",
    "letter_for",
    "plan_for",
    "zero_plan",
]

Severity = Literal["normal", "tightened"]


class SamplePlan(Struct, frozen=True, kw_only=True):
    """One plan for one lot. ``started`` is the letter of the lot, ``used`` the one the arrows lead to.

    ``sample`` units are inspected, the whole lot where ``everything``; up to ``accept`` bad ones pass. A plan made
    from a wanted protection has no letters and no limit.
    """

    lot: int
    sample: int
    accept: int
    limit: str = ""
    started: str = ""
    used: str = ""
    everything: bool = False

    @property
    def refuse(self) -> int:
        """Return the number of bad ones from which the lot is refused."""
        return self.accept + 1


class Verdict(Struct, frozen=True, kw_only=True):
    """What the defects found say of a lot: classes over their number, and those nobody reported."""

    over: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def accepted(self) -> bool | None:
        """Return whether the lot passes; None where a class was not reported and none is over."""
        if self.over:
            return False
        return None if self.missing else True


def letter_for(lot: int, level: str) -> str:
    """Return the code letter of a lot of two units or more; raises ValueError for a smaller one or no level."""
    if level not in LEVELS:
        raise ValueError(f"{level} is no inspection level")
    if lot < 2:
        raise ValueError("a lot of one is inspected, not sampled")
    row = next(letters for most, letters in LOTS if most is None or lot <= most)
    return row[LEVELS.index(level)]


def plan_for(lot: int, level: str, limit: str, severity: Severity = "normal") -> SamplePlan:
    """Return the plan for a lot; raises ValueError for a limit the table does not have.

    Where the sample reaches the lot everything is inspected and the accepted number stays.
    """
    if limit not in AQLS:
        raise ValueError(f"{limit} is no acceptance quality limit of the tables")
    started = letter_for(lot, level)
    cell = (NORMAL if severity == "normal" else TIGHTENED)[started][AQLS.index(limit)]
    used, accept = cell[0], int(cell[1:])
    size = SIZES[used]
    return SamplePlan(
        lot=lot,
        sample=min(size, lot),
        accept=accept,
        limit=limit,
        started=started,
        used=used,
        everything=size >= lot,
    )


def zero_plan(lot: int, bad: Fraction, risk: Fraction) -> SamplePlan:
    """Return the smallest sample without a bad one that lets a lot with a share ``bad`` pass in ``risk`` at most.

    The bad ones are rounded up to whole units. Inspecting everything lets none pass. Raises ValueError for shares
    outside 0 to 1.
    """
    if not 0 < bad <= 1 or not 0 <= risk < 1:
        raise ValueError("shares lie between 0 and 1")
    many = math.ceil(bad * lot)
    low, high = 1, lot
    while low < high:
        middle = (low + high) // 2
        if chance_of_acceptance(lot, many, middle, 0) <= risk:
            high = middle
        else:
            low = middle + 1
    return SamplePlan(lot=lot, sample=low, accept=0, everything=low == lot)


def chance_of_acceptance(lot: int, bad: int, sample: int, accept: int) -> Fraction:
    """Return the exact chance that a lot with so many bad units passes. Raises ValueError where numbers disagree."""
    if not (0 <= bad <= lot and 0 <= sample <= lot and accept >= 0):
        raise ValueError("a sample and the bad units lie within the lot")
    ways = sum(
        math.comb(bad, found) * math.comb(lot - bad, sample - found)
        for found in range(min(accept, bad, sample) + 1)
    )
    return Fraction(ways, math.comb(lot, sample))


def judge(plans: Mapping[str, SamplePlan], found: Mapping[str, int]) -> Verdict:
    """Return the verdict from the bad units found in each class's sample."""
    return Verdict(
        over=tuple(kind for kind, plan in plans.items() if found.get(kind, 0) > plan.accept),
        missing=tuple(kind for kind in plans if kind not in found),
    )


def curve(plan: SamplePlan, shares: Sequence[Fraction]) -> tuple[tuple[int, Fraction], ...]:
    """Return for each share of bad units how many that is in the lot, rounded up, and the chance to pass."""
    numbers = [math.ceil(share * plan.lot) for share in shares]
    return tuple(
        (bad, chance_of_acceptance(plan.lot, bad, plan.sample, plan.accept))
        for bad in numbers
        if bad <= plan.lot
    )
