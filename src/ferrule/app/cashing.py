"""The weekly money of a plan as agreed, under its scenarios, and under any settings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from msgspec import Struct

from ferrule.app.buying import named_plan, refuse_rings
from ferrule.app.grounds import Grounds
from ferrule.app.holidays import Holidays, holidays_of
from ferrule.app.loading import Places, load_snapshot
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.cash import Cash, Ground, plan_cash
from ferrule.compute.ledger import NoWeek
from ferrule.diagnostics.finding import Place
from ferrule.errors import FerruleError
from ferrule.load.build import Loaded
from ferrule.load.settings import Setting, scenario_settings
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = [
    "AS_AGREED",
    "Cashing",
    "Under",
    "cash_of",
    "cash_under",
    "open_cash",
    "plan_under",
    "setting",
]

#: The scenario without settings.
AS_AGREED = "as-agreed"


class Cashing(Struct, frozen=True, kw_only=True):
    """A loaded product and one of its plans, ready to be asked for cash."""

    loaded: Loaded
    plan: PlanFile
    today: dt.date
    hoped: bool
    discounts: bool = False
    holidays: Holidays
    faults: int
    label: str
    where: Places
    grounds: Grounds

    @property
    def product(self) -> Product:
        """Return the product as it stands."""
        return self.loaded.product


class Under(Struct, frozen=True, kw_only=True):
    """A product and its plan under some settings, what the plan then buys, costs and when, the settings in words."""

    product: Product
    plan: PlanFile
    ground: Ground
    words: tuple[str, ...]


def open_cash(
    snapshot: Snapshot, plan: str | None, today: dt.date, *, hoped: bool = False, discounts: bool = False
) -> Cashing:
    """Return a snapshot's product and the named plan, or its only one; raises FerruleError.

    ``hoped`` counts funding that is not signed, ``discounts`` pays early where that is offered for less.
    """
    loaded = load_snapshot(snapshot)
    refuse_rings(loaded.product)
    chosen, holidays = named_plan(loaded.product, plan), holidays_of(loaded.product)
    return Cashing(
        loaded=loaded,
        plan=chosen,
        today=today,
        hoped=hoped,
        discounts=discounts,
        holidays=holidays,
        grounds=Grounds(loaded, chosen.plan.id, today, holidays.days),
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
    for name in scenarios:
        settings = () if name == AS_AGREED else scenario_settings(cashing.loaded, cashing.plan.plan.id, name)
        yield cash_under(cashing, settings, name)


def setting(key: str, value: object) -> Setting:
    """Return a setting that no file states: a key path such as ``build.spring.qty`` and a value as in a file."""
    return Setting(key=key, value=value, place=Place(file=""))


def cash_under(
    cashing: Cashing, settings: Sequence[Setting] = (), name: str = AS_AGREED
) -> tuple[Cash, tuple[str, ...]]:
    """Return the cash of the plan under some settings, later ones over earlier ones, and the settings in words.

    ``name`` is what the result calls itself. What the settings leave as it is, is worked out once for all calls
    with one ``cashing``. Raises FerruleError where they cannot be set or no day answers.
    """
    under = plan_under(cashing, settings, name)
    agreed = cashing.grounds.memory.of(_agreed, cashing) if settings else None
    with _told(cashing):
        cash = plan_cash(
            under.product,
            under.plan,
            under.ground,
            scenario=name,
            hoped=cashing.hoped,
            discounts=cashing.discounts,
            memory=cashing.grounds.memory,
            agreed=agreed,
        )
    return cash, under.words


def _agreed(cashing: Cashing) -> Cash:
    return cash_under(cashing)[0]


def plan_under(cashing: Cashing, settings: Sequence[Setting] = (), name: str = AS_AGREED) -> Under:
    """Return the plan under some settings, and what it then buys, costs and when; raises as `cash_under`."""
    number = cashing.plan.plan.id
    varied = cashing.grounds.varied(settings)
    if varied.loaded is None:
        faults = "; ".join(finding.message for finding in varied.findings)
        raise FerruleError(f"{name} cannot be set: {faults}", "`ferrule check` shows where")
    product = varied.loaded.product
    with _told(cashing):
        ground = cashing.grounds.under(varied)
    return Under(
        product=product,
        plan=product.plans[number],
        ground=ground,
        words=tuple(change.words for change in varied.changes),
    )


@contextmanager
def _told(cashing: Cashing) -> Iterator[None]:
    """Turn what forbids every answer into an error in words."""
    try:
        yield
    except NoSuchDay as error:
        raise FerruleError(str(error), "look at the closures and weekends in product.toml") from None
    except NoWeek as error:
        raise FerruleError(
            f"plan {cashing.plan.plan.id} has no week: {error}", "correct start or end"
        ) from None
    except OverflowError:
        raise FerruleError(
            f"plan {cashing.plan.plan.id} goes beyond {dt.date.max}, the last day a date can have",
            "correct start or end",
        ) from None
