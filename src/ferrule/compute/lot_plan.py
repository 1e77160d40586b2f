"""The inspection plan of a lot by class of defect, and whether it stood before the lot was made."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.sampling import SamplePlan, Severity, plan_for, zero_plan
from ferrule.model.records.assembly import Quality

__all__ = ["CLASSES", "LotPlan", "Precedence", "Protection", "Regime", "accepts_none", "plan_lot"]

#: Classes of defects, the worst first.
CLASSES = ("critical", "major", "minor")


class Protection(Struct, frozen=True):
    """What a plan that accepts none must catch: a share of bad units that may pass with this chance at most."""

    bad: Fraction
    risk: Fraction


class Regime(Struct, frozen=True, kw_only=True):
    """How strictly a lot is inspected: severity, protection where none is accepted, a level instead of the plan's."""

    severity: Severity = "normal"
    protection: Protection = Protection(Fraction(1, 100), Fraction(1, 20))
    level: str | None = None


class LotPlan(Struct, frozen=True, kw_only=True):
    """The plans of a lot by class of defect, and the quality record they follow."""

    number: str
    quality: Quality
    lot: int
    level: str
    severity: Severity
    protection: Protection
    plans: Mapping[str, SamplePlan]

    @property
    def sample(self) -> int:
        """Return how many units are drawn: the largest sample, of which the others are part."""
        return max(plan.sample for plan in self.plans.values())


class Precedence(Struct, frozen=True, kw_only=True):
    """Whether the quality plan stood before the lot was made: signed, and committed in its present content."""

    made: dt.date
    signed: dt.date | None
    commit: str
    committed: dt.date | None
    file: str

    @property
    def proven(self) -> bool:
        """Return whether both days lie before the day the lot was made."""
        return all(day is not None and day < self.made for day in (self.signed, self.committed))


def plan_lot(number: str, quality: Quality, lot: int, regime: Regime) -> LotPlan:
    """Return the plans of a lot; a limit of 0 is a plan that accepts none, from the wanted protection.

    Raises ValueError for a limit, level or lot that the tables do not have, or where no limit is stated.
    """
    used, wanted = regime.level or quality.level, regime.protection
    plans = {}
    for kind in CLASSES:
        limit = getattr(quality, kind)
        if limit is None:
            continue
        if accepts_none(limit):
            plans[kind] = zero_plan(lot, wanted.bad, wanted.risk)
        else:
            plans[kind] = plan_for(lot, used, limit, regime.severity)
    if not plans:
        raise ValueError("the quality plan states no limit")
    return LotPlan(
        number=number,
        quality=quality,
        lot=lot,
        level=used,
        severity=regime.severity,
        protection=wanted,
        plans=plans,
    )


def accepts_none(limit: str) -> bool:
    """Return whether a limit says that no defect is accepted."""
    return limit.strip() in {"0", "0.0", "0.00"}
