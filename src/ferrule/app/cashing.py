"""`cash` and `levers`: the weekly money of a plan under its scenarios, and what each negotiable term would move."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.app.buying import named_plan, refuse_rings
from ferrule.app.holidays import Holidays, holidays_of
from ferrule.app.loading import Places, load_snapshot
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.cash import Cash, Ground, Moved, ground_of, plan_cash
from ferrule.errors import FerruleError
from ferrule.load.build import Loaded
from ferrule.load.settings import Setting, apply_settings, lever_settings, scenario_settings
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = ["AS_AGREED", "Cashing", "cash_of", "levers", "open_cash"]

#: The scenario without settings.
AS_AGREED = "as-agreed"
#: Fields that decide only when money moves; a setting of anything else is worked out from the ground up.
_TERMS = {"payment", "schedule", "settlement", "opening", "floor"}


class Cashing(Struct, frozen=True, kw_only=True):
    """A loaded product and one of its plans, ready to be asked for cash."""

    loaded: Loaded
    plan: PlanFile
    today: dt.date
    hoped: bool
    holidays: Holidays
    faults: int
    label: str
    where: Places

    @property
    def product(self) -> Product:
        """Return the product as it stands."""
        return self.loaded.product


def open_cash(snapshot: Snapshot, plan: str | None, today: dt.date, *, hoped: bool = False) -> Cashing:
    """Return a snapshot's product and the named plan, or its only one; raises FerruleError."""
    loaded = load_snapshot(snapshot)
    refuse_rings(loaded.product)
    return Cashing(
        loaded=loaded,
        plan=named_plan(loaded.product, plan),
        today=today,
        hoped=hoped,
        holidays=holidays_of(loaded.product),
        faults=len(loaded.findings) + len(snapshot.problems),
        label=snapshot.label,
        where=Places(loaded, snapshot),
    )


def cash_of(cashing: Cashing, scenarios: Sequence[str]) -> Iterator[tuple[Cash, tuple[str, ...]]]:
    """Yield the cash of each scenario with its settings in words; raises FerruleError for an unknown one."""
    known = [AS_AGREED, *cashing.plan.scenario]
    for name in scenarios:
        if name not in known:
            best = nearest(name, known)
            raise FerruleError(
                f"plan {cashing.plan.plan.id} has no scenario called {name}",
                f"did you mean {best}?" if best else f"scenarios: {', '.join(known)}",
            )
    ground = _ground(cashing, cashing.product, cashing.plan)
    for name in scenarios:
        settings = () if name == AS_AGREED else scenario_settings(cashing.loaded, cashing.plan.plan.id, name)
        yield _under(cashing, ground, settings, name)


def _ground(cashing: Cashing, product: Product, plan: PlanFile) -> Ground:
    try:
        return ground_of(product, plan, cashing.today, cashing.holidays.days)
    except NoSuchDay as error:
        raise FerruleError(str(error), "look at the closures and weekends in product.toml") from None


def _under(
    cashing: Cashing, ground: Ground, settings: Sequence[Setting], name: str
) -> tuple[Cash, tuple[str, ...]]:
    """Return the cash with some settings; only settings beyond terms of payment work out the ground again."""
    if not settings:
        return plan_cash(cashing.product, cashing.plan, ground, scenario=name, hoped=cashing.hoped), ()
    varied = apply_settings(cashing.loaded, cashing.plan.plan.id, settings)
    if varied.loaded is None:
        faults = "; ".join(finding.message for finding in varied.findings)
        raise FerruleError(f"{name} cannot be set: {faults}", "`ferrule check` shows where")
    product = varied.loaded.product
    plan = product.plans[cashing.plan.plan.id]
    if not all(_is_term(setting) for setting in settings):
        ground = _ground(cashing, product, plan)
    words = tuple(change.words for change in varied.changes)
    return plan_cash(product, plan, ground, scenario=name, hoped=cashing.hoped), words


def _is_term(setting: Setting) -> bool:
    return not _TERMS.isdisjoint(setting.key.split("."))


def levers(cashing: Cashing) -> tuple[Cash, tuple[Moved, ...]]:
    """Return the plan as agreed, and what each lever does, each pair, and all together."""
    ground = _ground(cashing, cashing.product, cashing.plan)
    base, _ = _under(cashing, ground, (), AS_AGREED)
    settings = {
        name: lever_settings(cashing.loaded, cashing.plan.plan.id, name) for name in cashing.plan.lever
    }
    groups = [(name,) for name in settings]
    pairs = list(itertools.combinations(settings, 2))
    everything = [tuple(settings)] if len(settings) > 2 else []
    single: dict[str, Fraction] = {}
    found = []
    for names in [*groups, *pairs, *everything]:
        joined = [each for name in names for each in settings[name]]
        cash, words = _under(cashing, ground, joined, " + ".join(names))
        freed = cash.ledger.trough.balance - base.ledger.trough.balance
        if len(names) == 1:
            single[names[0]] = freed
        found.append(
            Moved(
                names=names,
                words=words,
                cash=cash,
                freed=freed,
                profit=cash.ledger.profit - base.ledger.profit,
                add=sum((single[name] for name in names), Fraction(0)),
            )
        )
    return base, tuple(found)
