"""`limits`: how far each uncertain fact of a plan may move before the plan breaks, and the largest build it can pay.

Every fact is moved by a setting over the product, so that what is answered can be set and asked again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.app.cashing import AS_AGREED, Cashing, Under, cash_under, plan_under, setting
from ferrule.app.grounds import Grounds
from ferrule.app.limiting_facts import Asked, Fact, Unsolved, facts_of, sales_kept
from ferrule.compute.cash import Cash
from ferrule.compute.limits import Bound, Mark, solve
from ferrule.compute.limits_answer import Limits, Solved
from ferrule.compute.limits_build import BuildLimit, Rung, build_limit, rung_of
from ferrule.compute.limits_marks import date_marks, floor_mark, margin_marks, unjudged_margins
from ferrule.compute.packing import load_of
from ferrule.errors import FerruleError
from ferrule.load.settings import Setting, scenario_settings
from ferrule.model.exact import shown_amount
from ferrule.model.records.plan import Build
from ferrule.model.text import nearest

__all__ = ["NAMES", "Request", "limits"]

#: What can be asked, in the order it is shown.
NAMES = ("build", "kick-off", "opening", "term", "sell-through", "duty", "rate", "yield")
_ZERO = Fraction(0)
#: What changes the quantities bought, so that what it costs comes in steps.
_STEPPED = ("yield",)
#: Steps of a build whose cartons nobody states.
_RUNGS = 200


class Request(Struct, frozen=True, kw_only=True):
    """What is asked: names (none: all), the scenario, the build, how far to search, and the least margin.

    ``reach`` holds the furthest value to try by name: units, days, percentages, rates. ``least`` is a share of
    the revenue. ``step`` is in units.
    """

    only: tuple[str, ...] = ()
    scenario: str = AS_AGREED
    build: str | None = None
    step: int | None = None
    reach: Mapping[str, str] = {}
    least: Fraction = _ZERO


def limits(cashing: Cashing, request: Request) -> Limits:
    """Return the limits of a plan; raises FerruleError for a name, scenario, build or reach that cannot be."""
    for name in (*request.only, *request.reach):
        _refuse(name, NAMES, "limits know no unknown called", "they solve for")
    _refuse(
        request.scenario, (AS_AGREED, *cashing.plan.scenario), "the plan has no scenario called", "scenarios"
    )
    base = _settings(cashing, request.scenario)
    cash, _ = cash_under(cashing, base, request.scenario)
    under = plan_under(cashing, base, request.scenario)
    asked = [name for name in NAMES if not request.only or name in request.only]
    solver = _Solver(cashing, request, base, under, cash)
    build, no_build = solver.build() if "build" in asked else (None, "")
    return Limits(
        cash=cash,
        product=under.product,
        plan=under.plan,
        build=build,
        no_build=no_build,
        solved=tuple(solved for name in asked for solved in solver.facts(name)),
        broken=tuple(
            mark
            for mark in (*solver.marks(cash, under), *date_marks(under.plan, under.ground))
            if mark.room < 0
        ),
        unjudged=unjudged_margins(under.product, under.plan, under.ground.costs),
    )


def _settings(cashing: Cashing, scenario: str) -> tuple[Setting, ...]:
    if scenario == AS_AGREED:
        return ()
    return tuple(scenario_settings(cashing.loaded, cashing.plan.plan.id, scenario))


def _refuse(name: str, known: Sequence[str], fault: str, listed: str) -> None:
    if name not in known:
        best = nearest(name, known)
        raise FerruleError(
            f"{fault} {name}", f"did you mean {best}?" if best else f"{listed}: {', '.join(known) or 'none'}"
        )


class _Solver:
    """Tries settings over one plan under one scenario."""

    def __init__(
        self, cashing: Cashing, request: Request, base: tuple[Setting, ...], under: Under, cash: Cash
    ) -> None:
        self.cashing, self.request, self.base, self.under, self.cash = cashing, request, base, under, cash
        self.home = under.product.head.currency

    def build(self) -> tuple[BuildLimit | None, str]:
        """Return the largest affordable build, or why it cannot be told."""
        plan = self.under.plan
        if not plan.build:
            return None, "the plan builds nothing"
        name = self.request.build or plan.build[0].name
        names = [build.name for build in plan.build]
        _refuse(name, names, f"plan {plan.plan.id} has no build called", "builds")
        build = plan.build[names.index(name)]
        if build.sku not in self.under.product.assemblies:
            return None, f"no file defines {build.sku}"
        quantities = self._quantities(build)
        rungs = [self._rung(name, qty) for qty in quantities]
        return build_limit(name, build.sku, int(build.qty), self._step(build), rungs), ""

    def _step(self, build: Build) -> int:
        carton = load_of(self.under.product, build.sku, int(build.qty)).per_carton
        return self.request.step or carton or max(1, self._ceiling(build) // _RUNGS)

    def _ceiling(self, build: Build) -> int:
        stated = self.request.reach.get("build")
        if stated is None:
            return int(build.qty) * 3 // 2
        if not stated.isdigit() or not int(stated):
            raise FerruleError(f"{stated!r} is no quantity to build", "write build=2400")
        return int(stated)

    def _quantities(self, build: Build) -> range:
        step, ceiling = self._step(build), self._ceiling(build)
        if ceiling < step:
            raise FerruleError(
                f"the ceiling of {ceiling:,} is less than one step of {step:,}",
                f"search build={step} or more",
            )
        return range(step, ceiling + 1, step)

    def _rung(self, build: str, qty: int) -> Rung:
        kept = sales_kept(self.under.plan, build, qty)
        settings = (*self.base, setting(f'build."{build}".qty', qty), *kept)
        cash, under = self._trial(settings)
        return rung_of(build, qty, cash, under.ground)

    def _trial(self, settings: tuple[Setting, ...]) -> tuple[Cash, Under]:
        cash, _ = cash_under(self.cashing, settings, "the value tried")
        return cash, plan_under(self.cashing, settings, "the value tried")

    def marks(self, cash: Cash, under: Under) -> tuple[Mark, ...]:
        """Return how the floor and the margins stand."""
        margins = margin_marks(under.product, under.plan, under.ground.costs, self.request.least)
        return (floor_mark(cash, self.home), *margins)

    def facts(self, name: str) -> Iterator[Solved]:
        """Yield the answers of one name."""
        if name == "build":
            return
        if name == "opening":
            yield self._opening()
            return
        asked = Asked(
            today=self.cashing.today,
            under=self.under,
            cash=self.cash,
            reach=self.request.reach.get(name),
            each=name in self.request.only,
        )
        for fact in facts_of(name, asked):
            if isinstance(fact, Unsolved):
                yield Solved(name=fact.name, subject=fact.subject, why=fact.why)
            else:
                yield self._solved(fact)

    def _opening(self) -> Solved:
        """Return the opening cash that is needed: known at once, for it lifts every week alike."""
        cash = self.cash
        mark = floor_mark(cash, self.home)
        first = cash.ledger.pay_first_low
        apart = cash.ledger.opening - first.low + (cash.floor or _ZERO)
        name = "the floor" if cash.floor is not None else "money above zero"
        return Solved(
            name="opening",
            subject="cash at the start",
            today=_money(cash.ledger.opening) if cash.opening_known else "not stated",
            value=_money(cash.ledger.opening - mark.room),
            room=mark.room,
            unit=self.home,
            binds=f"{name} in week {cash.ledger.trough.number}",
            left=mark,
            following=f"{name} in week {first.number}, payments before receipts",
            following_value=_money(apart),
        )

    def _marks_at(self, fact: Fact, at: int) -> tuple[Mark, ...]:
        if fact.days:
            under = plan_under(_on(self.cashing, fact, at), self.base, "the day tried")
            return tuple(date_marks(under.plan, under.ground))
        return self.marks(*self._trial((*self.base, *fact.sets(at))))

    def _solved(self, fact: Fact) -> Solved:
        limit = solve(
            len(fact.values), fact.today, lambda at: self._marks_at(fact, at), stepped=fact.name in _STEPPED
        )
        bound = limit.binding
        if bound is None:
            return Solved(
                name=fact.name,
                subject=fact.subject,
                today=fact.values[fact.today],
                why="it moves neither floor nor margin" if not fact.days else "it moves no date",
            )
        now = {mark.key: mark for mark in limit.now}
        after = limit.next
        return Solved(
            name=fact.name,
            subject=fact.subject,
            today=fact.values[fact.today],
            value=None if bound.at is None else fact.values[bound.at],
            beyond=bound.state == "beyond",
            room=_room(fact, bound),
            unit=fact.unit,
            binds="" if bound.state == "beyond" else bound.mark.words,
            left=now.get(bound.key),
            following=after.mark.words if after is not None else "",
            following_value=fact.values[after.at] if after is not None and after.at is not None else None,
            scanned=limit.scanned,
            again=bound.again,
        )


def _room(fact: Fact, bound: Bound) -> Fraction | None:
    """Return how far today's value is from the limit: above zero where there is room."""
    if bound.at is None:
        return None
    gap = abs(fact.numbers[bound.at] - fact.numbers[fact.today])
    return gap if bound.at >= fact.today else -gap


def _on(cashing: Cashing, fact: Fact, at: int) -> Cashing:
    """Return the same product and plan, asked on another day."""
    return Cashing(
        loaded=cashing.loaded,
        plan=cashing.plan,
        today=fact.days[at],
        hoped=cashing.hoped,
        holidays=cashing.holidays,
        grounds=Grounds(cashing.loaded, cashing.plan.plan.id, fact.days[at], cashing.holidays.days),
        faults=cashing.faults,
        label=cashing.label,
        where=cashing.where,
    )


def _money(amount: Fraction) -> str:
    return shown_amount(amount, 2)
