"""What a change does to money and days: unit costs by cause, dates, cash, stock made idle.

Every figure is one that `cost`, `schedule` and `cash` give at its revision; only differences are made here. Both
revisions are judged on one day.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.cash import Cash
from ferrule.compute.effects_cost import CostEffect, cost_effects
from ferrule.compute.figures import Figures
from ferrule.compute.idle import IdleStock, idle_stock
from ferrule.compute.schedule import BuildDates, OrderDates

__all__ = ["CashEffect", "DatesEffect", "Effects", "effects_of"]


class DatesEffect(Struct, frozen=True, kw_only=True):
    """The dates of one build before and after; None where the plan did not or does not build it.

    ``newly_late`` are orders whose last day is past now and was not.
    """

    plan: str
    build: str
    before: BuildDates | None
    after: BuildDates | None
    newly_late: tuple[OrderDates, ...] = ()

    @property
    def later(self) -> int | None:
        """Return the days by which the build arrives later at the earliest; None where there is nothing to compare."""
        return (
            None
            if self.before is None or self.after is None
            else (self.after.earliest - self.before.earliest).days
        )


class CashEffect(Struct, frozen=True, kw_only=True):
    """The cash of one plan before and after; None where there is no such plan."""

    plan: str
    before: Cash | None
    after: Cash | None

    @property
    def change(self) -> Fraction | None:
        """Return the rise of the trough; None where there is nothing to compare."""
        if self.before is None or self.after is None:
            return None
        return self.after.ledger.trough.balance - self.before.ledger.trough.balance


class Effects(Struct, frozen=True, kw_only=True):
    """What a change does; rows without any difference are left out and counted in ``same``."""

    costs: tuple[CostEffect, ...]
    dates: tuple[DatesEffect, ...]
    cash: tuple[CashEffect, ...]
    idle: tuple[IdleStock, ...]
    same: tuple[int, int, int]
    #: Why some figures could not be made, in words.
    failed: tuple[str, ...]

    @property
    def is_empty(self) -> bool:
        """Return whether nothing moved."""
        return not (self.costs or self.dates or self.cash or self.idle)


def effects_of(before: Figures, after: Figures) -> Effects:
    """Return what the change from one revision to another does. Figures of unlike currencies are not compared."""
    failed = dict.fromkeys((*before.failed, *after.failed))
    homes = before.product.head.currency, after.product.head.currency
    if before.plans and homes[0] != homes[1]:
        words = f"the home currency changed from {homes[0]} to {homes[1]}: cost and cash cannot be compared"
        return Effects(
            costs=(),
            dates=_dates(before, after)[0],
            cash=(),
            idle=(),
            same=(0, 0, 0),
            failed=(*failed, words),
        )
    costs = cost_effects(before, after)
    dates, all_dates = _dates(before, after)
    cash = tuple(_cash(before, after))
    moved = tuple(row for row in cash if not _same_cash(row))
    builds = len(dict.fromkeys((plan, build) for side in (before, after) for plan, build, _ in side.costs()))
    return Effects(
        costs=costs,
        dates=dates,
        cash=moved,
        idle=idle_stock(before, after),
        same=(builds - len(costs), all_dates - len(dates), len(cash) - len(moved)),
        failed=tuple(failed),
    )


def _dates(before: Figures, after: Figures) -> tuple[tuple[DatesEffect, ...], int]:
    """Return the builds whose dates differ, and how many builds there are."""
    names = dict.fromkeys(
        (plan, build.build)
        for side in (after, before)
        for plan, figures in side.plans.items()
        for build in figures.ground.dates.builds
    )
    rows = [_dates_of(plan, build, before, after) for plan, build in names]
    return tuple(row for row in rows if not _same_dates(row)), len(rows)


def _dates_of(plan: str, build: str, before: Figures, after: Figures) -> DatesEffect:
    one, other = (side.plans[plan].dates(build) if plan in side.plans else None for side in (before, after))
    was_late = {order.item for order in one.orders if order.late_by} if one is not None else set()
    late = () if other is None else tuple(o for o in other.orders if o.late_by and o.item not in was_late)
    return DatesEffect(plan=plan, build=build, before=one, after=other, newly_late=late)


def _same_dates(row: DatesEffect) -> bool:
    one, other = row.before, row.after
    if one is None or other is None or row.newly_late:
        return False
    return _dated(one) == _dated(other)


def _dated(dates: BuildDates) -> tuple[object, ...]:
    critical = dates.critical
    path = (critical.items, critical.slack) if critical is not None else None
    return dates.due, dates.earliest, dates.earliest_bound, dates.kickoff, dates.cumulative, path


def _cash(before: Figures, after: Figures) -> Iterator[CashEffect]:
    for plan in dict.fromkeys([*after.plans, *before.plans]):
        one, other = (side.plans[plan].cash if plan in side.plans else None for side in (before, after))
        yield CashEffect(plan=plan, before=one, after=other)


def _same_cash(row: CashEffect) -> bool:
    one, other = row.before, row.after
    if one is None or other is None:
        return False
    return _figures(one) == _figures(other)


def _figures(cash: Cash) -> tuple[object, ...]:
    book = cash.ledger
    return (
        book.trough.balance,
        book.trough.monday,
        book.pay_first_low.low,
        book.ending,
        cash.floor,
        cash.opening_known,
        cash.unknown,
    )
