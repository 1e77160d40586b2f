"""How long an assembly takes to build in one run: its steps, and the rest of the run behind the first batch.

The model is simple and stated. Units move in batches. The first batch goes through all steps, each taking its
stated time; the rest follows at the rate of the slowest. That rate is the smallest capacity per week that is
stated, for the assembly, a step or (for what is shipped) the factory, and the whole run never goes faster than
it. Where no capacity is stated, a step takes one batch after the other, so that the slowest step repeats. With
no batch stated, all units move together. Parts are due when the first batch begins their step; an assembly is
there for its parent when its last unit is.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil

from ferrule.compute.calendars import LegTime, WorkCalendar
from ferrule.compute.leads import rough_days, working_week
from ferrule.compute.owners import Book
from ferrule.model.duration import Duration
from ferrule.model.exact import shown
from ferrule.model.number import Count
from ferrule.model.records.assembly import Assembly, Step

__all__ = ["at_step", "run_legs"]


def run_legs(
    assembly: Assembly | None, units: Fraction, factory: str | None, book: Book, most: Count | None = None
) -> tuple[LegTime, ...]:
    """Return the legs of building ``units`` that start: one for each timed step, then the rest of the run.

    Where a step states no time, the assembly's `lead_time` stands for all steps together; without one the
    step's leg is unknown. ``most`` is the factory's capacity a week.
    """
    calendar = _calendar(assembly, None, factory, book)
    if assembly is None or not (assembly.steps or assembly.lead_time):
        return (LegTime(name="building", calendar=calendar, duration=None),)
    if _as_one(assembly):
        legs: tuple[LegTime, ...] = (
            LegTime(name="building", calendar=calendar, duration=assembly.lead_time),
        )
    else:
        legs = tuple(
            LegTime(name=step.name, calendar=_calendar(assembly, step, factory, book), duration=step.time)
            for step in assembly.steps
        )
    return (*legs, *_rest(assembly, units, legs, calendar, most))


def at_step(assembly: Assembly | None, step: int) -> int:
    """Return the index of the leg of `run_legs` before which the parts of a step are due."""
    return 0 if assembly is None or _as_one(assembly) else step


def _as_one(assembly: Assembly) -> bool:
    """Return whether the steps are taken as one leg: their times have a hole and their sum is stated."""
    return not assembly.steps or (
        assembly.lead_time is not None and any(step.time is None for step in assembly.steps)
    )


def _calendar(assembly: Assembly | None, step: Step | None, factory: str | None, book: Book) -> WorkCalendar:
    if step is not None and step.firm is not None:
        return book.of_firm(step.firm)
    if assembly is not None and assembly.calendar is not None:
        return book.calendar(assembly.calendar)
    return book.of_firm(factory)


def _rest(
    assembly: Assembly,
    units: Fraction,
    legs: Sequence[LegTime],
    calendar: WorkCalendar,
    most: Count | None,
) -> tuple[LegTime, ...]:
    first = min(units, Fraction(assembly.batch or units))
    stated = [assembly.capacity_per_week, *(step.capacity_per_week for step in assembly.steps), most]
    rates = [Fraction(rate) for rate in stated if rate]
    if rates:
        return _at_rate(units, first, min(rates), legs, calendar)
    times = [leg for leg in legs if leg.duration is not None]
    batches = ceil(units / first) if first else 1
    if batches < 2 or not times:
        return ()
    slowest = max(times, key=lambda leg: rough_days(leg.duration) if leg.duration is not None else 0)
    name = f"{batches - 1} more {'batch' if batches == 2 else 'batches'} of {shown(first)}"
    return (LegTime(name=name, calendar=slowest.calendar, duration=slowest.duration, loops=batches - 1),)


def _at_rate(
    units: Fraction, first: Fraction, rate: Fraction, legs: Sequence[LegTime], calendar: WorkCalendar
) -> tuple[LegTime, ...]:
    """Return what capacity adds: the rest at its rate, or more where the steps claim to be faster than it."""
    week = working_week(calendar)
    through = sum((_working_days(leg.duration, week) for leg in legs), Fraction(0))
    days = ceil(max((units - first) / rate * week, units / rate * week - through))
    if days <= 0:
        return ()
    name = f"rest of the run at {shown(rate)} a week"
    return (LegTime(name=name, calendar=calendar, duration=Duration(Decimal(days), "working days")),)


def _working_days(time: Duration | None, week: int) -> Fraction:
    if time is None:
        return Fraction(0)
    return Fraction(time.count) if time.unit == "working days" else rough_days(time) * week / 7
