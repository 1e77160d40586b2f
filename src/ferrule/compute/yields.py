"""Yield of steps in series: how many have to start for one good unit, and what passes each step.

Yields multiply (rolled yield); a good unit carries its share of everything spent on those that fell out.
Dividing only the last step, or adding the losses up, understates both quantity and cost.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.model.percent import Percent
from ferrule.model.records.assembly import Step

__all__ = ["Passage", "StepFlow", "passage", "starts_for"]

ONE = Fraction(1)


class StepFlow(Struct, frozen=True, kw_only=True):
    """What goes through one step for one good unit of the assembly.

    ``entering`` units come in, ``reworked`` of them fail, are repaired and tested again, ``leaving`` go on.
    """

    entering: Fraction
    first_pass: Fraction
    final: Fraction
    reworked: Fraction

    @property
    def leaving(self) -> Fraction:
        """Return the units that leave the step good."""
        return self.entering * self.final


class Passage(Struct, frozen=True, kw_only=True):
    """The steps of an assembly in order, for one good unit.

    ``yield_`` is the final yield over all steps, ``first_time`` the share that passes every step without
    rework, which a final yield hides. ``unknown`` holds the indexes of steps whose yield is not known; they
    count as losing nothing, so that quantities and costs are lower bounds.
    """

    steps: tuple[StepFlow, ...]
    yield_: Fraction
    first_time: Fraction
    unknown: tuple[int, ...] = ()

    @property
    def starts(self) -> Fraction:
        """Return the units to start for one good one."""
        return 1 / self.yield_

    def entering(self, step: int) -> Fraction:
        """Return the units that enter a step for one good unit; with no steps, one."""
        return self.steps[step].entering if self.steps else ONE


def passage(steps: Sequence[Step], raised: Mapping[int, Fraction] | None = None) -> Passage | None:
    """Return what passes each step for one good unit, or None where a yield is zero and nothing comes out.

    ``raised`` adds to the first-pass yield of a step (never above one), to ask what a better yield is worth.
    A step with rework yields ``p + (1 - p) * w * q``: first pass, share reworkable, retest pass.
    """
    raised = raised or {}
    firsts, finals, shares, unknown = [], [], [], []
    for index, step in enumerate(steps):
        first = _fraction(step.yield_)
        rework = _fraction(step.rework.share) if step.rework is not None else Fraction(0)
        retest = _fraction(step.rework.yield_) if step.rework is not None else ONE
        if first is None or retest is None:
            unknown.append(index)
        first = min(ONE, (ONE if first is None else first) + raised.get(index, Fraction(0)))
        failed = (1 - first) * (rework or Fraction(0))
        firsts.append(first)
        shares.append(failed)
        finals.append(first + failed * (ONE if retest is None else retest))
    total = math.prod(finals, start=ONE)
    if total == 0:
        return None
    flows, units = [], 1 / total
    for first, final, failed in zip(firsts, finals, shares, strict=True):
        flows.append(StepFlow(entering=units, first_pass=first, final=final, reworked=units * failed))
        units *= final
    return Passage(
        steps=tuple(flows),
        yield_=total,
        first_time=math.prod(firsts, start=ONE),
        unknown=tuple(unknown),
    )


def _fraction(percent: Percent | None) -> Fraction | None:
    return None if percent is None else Fraction(percent.fraction)


def starts_for(good: Fraction, flow: Passage) -> int:
    """Return the whole units to start so that ``good`` are expected to come out."""
    return math.ceil(good * flow.starts)
