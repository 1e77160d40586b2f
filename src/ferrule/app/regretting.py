"""`regret`: what a plan would owe if it were stopped, cut or moved in any of its weeks, against the money there is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from fractions import Fraction

from msgspec import Struct

from ferrule.app.cashing import AS_AGREED, Cashing, Under, cash_under, plan_under, setting
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.cash import Cash
from ferrule.compute.regret import Cut, CutTo, Moving, Stopped, cut_at, slip_at, stops_by_week
from ferrule.compute.regret_commitments import Commitments, commitments_of, made_of, needs_of
from ferrule.errors import FerruleError
from ferrule.load.settings import Setting, scenario_settings
from ferrule.model.product import Product
from ferrule.model.text import nearest

__all__ = ["Regret", "cut_to", "open_regret", "refuse_unknown_name", "slip_by", "week_named"]


class Regret(Struct, frozen=True, kw_only=True):
    """A plan under a scenario with what it is bound to, and what stopping in each of its weeks would leave owed."""

    cashing: Cashing
    base: tuple[Setting, ...]
    under: Under
    cash: Cash
    found: Commitments
    weeks: tuple[Stopped, ...]

    @property
    def product(self) -> Product:
        """Return the product under the scenario."""
        return self.under.product


def open_regret(cashing: Cashing, scenario: str = AS_AGREED) -> Regret:
    """Return what a plan would owe week by week; raises FerruleError for a scenario it does not have."""
    plan = cashing.plan
    known = (AS_AGREED, *plan.scenario)
    if scenario not in known:
        best = nearest(scenario, known)
        raise FerruleError(
            f"plan {plan.plan.id} has no scenario called {scenario}",
            f"did you mean {best}?" if best else f"scenarios: {', '.join(known)}",
        )
    base = () if scenario == AS_AGREED else tuple(scenario_settings(cashing.loaded, plan.plan.id, scenario))
    under = plan_under(cashing, base, scenario)
    cash, _ = cash_under(cashing, base, scenario)
    try:
        found = commitments_of(under.product, under.plan, under.ground, cash)
    except NoSuchDay as error:
        raise FerruleError(str(error), "look at the closures and weekends in product.toml") from None
    return Regret(
        cashing=cashing,
        base=base,
        under=under,
        cash=cash,
        found=found,
        weeks=stops_by_week(under.product, found, cash.ledger),
    )


def week_named(regret: Regret, number: int | None) -> Stopped:
    """Return a week of the plan, without a number the next to be decided; raises FerruleError where it has none such."""
    if number is None:
        ahead = (week for week in regret.weeks if week.day >= regret.cashing.today)
        return next(ahead, regret.weeks[-1])
    if number >= len(regret.weeks):
        raise FerruleError(f"the plan has no week {number}", f"its weeks are 0 to {len(regret.weeks) - 1}")
    return regret.weeks[number]


def cut_to(regret: Regret, build: str | None, qty: int) -> Callable[[dt.date], Cut]:
    """Return what tells what cutting a build (else the first) to a quantity costs on a day; raises FerruleError."""
    names = [each.name for each in regret.under.plan.build]
    if not names:
        raise FerruleError("the plan builds nothing", "there is nothing to cut")
    name = build or names[0]
    if name not in names:
        best = nearest(name, names)
        raise FerruleError(
            f"plan {regret.cash.plan} has no build called {name}",
            f"did you mean {best}?" if best else f"builds: {', '.join(names)}",
        )
    planned = regret.under.plan.build[names.index(name)].qty
    if qty > planned:
        raise FerruleError(
            f"{qty:,} is more than the {planned:,} planned of {name}", "`ferrule limits` asks for more"
        )
    if not qty:
        needs = {pool: {**own, name: Fraction(0)} for pool, own in regret.found.needs.items()}
        made = {key: pieces for key, pieces in regret.found.made.items() if key != name}
        cut = CutTo(build=name, qty=0, needs=needs, made=made)
    else:
        ground = plan_under(
            regret.cashing, (*regret.base, setting(f'build."{name}".qty', qty)), f"{qty} {name}"
        ).ground
        cut = CutTo(build=name, qty=qty, needs=needs_of(ground), made=made_of(ground))
    return lambda day: cut_at(regret.product, regret.found, day, cut)


def slip_by(regret: Regret, weeks: int, day: dt.date) -> tuple[Moving, ...]:
    """Return what waits if the builds that are not begun slip by some weeks from a day on."""
    return slip_at(regret.product, regret.found, day, weeks)


def refuse_unknown_name(regret: Regret, name: str) -> None:
    """Raise FerruleError for a part, tool or build that binds the plan to nothing."""
    known = sorted({each.name for each in regret.found.all})
    if name not in known:
        best = nearest(name, known)
        raise FerruleError(
            f"the plan is bound to nothing called {name}",
            f"did you mean {best}?" if best else "name a part, a tool or a build of it",
        )
