"""Weekly cash of a plan: every document as dated payments, from what buy, cost and schedule work out.

Nothing is typed here that those compute: a dearer part, a longer lead time or a larger least order moves the payments.
Terms never change quantities. Only signed funding counts unless asked.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.bills import Bill, Facts, bills_of
from ferrule.compute.buy import Ask, Bought, buy
from ferrule.compute.cost import CostAsk, UnitCost, unit_cost
from ferrule.compute.covers import jobs_of
from ferrule.compute.economics import margins_of
from ferrule.compute.ledger import CashEvent, Ledger, ledger
from ferrule.compute.outlays import last_day
from ferrule.compute.owners import Book, book_of
from ferrule.compute.rates import Rates, rates_of
from ferrule.compute.runs import PlanRuns, PublicDays, runs_of
from ferrule.compute.schedule import PlanDates, books_of, schedule
from ferrule.compute.selling import Weekly, usual_weeks, weekly_units
from ferrule.compute.takings import takings
from ferrule.compute.terms import instalments, to_coin
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["Cash", "Ground", "Moved", "exposure", "ground_of", "plan_cash"]

_ZERO = Fraction(0)


class Ground(Struct, frozen=True, kw_only=True):
    """What terms of payment cannot change: purchases, the cost of each build's unit, dates. Worked out once."""

    today: dt.date
    bought: Bought
    costs: Mapping[str, UnitCost]
    dates: PlanDates
    book: Book


class Cash(Struct, frozen=True, kw_only=True):
    """The cash of a plan under one scenario: its weeks, and what they rest on.

    ``floor`` is the plan's, None where it states none; ``opening_known`` says whether it states opening cash.
    ``hoped`` is funding that is not signed and does not count.
    """

    plan: str
    scenario: str
    ledger: Ledger
    floor: Fraction | None
    opening_known: bool
    unknown: tuple[str, ...]
    hoped: Fraction

    @property
    def needed(self) -> Fraction:
        """Return the opening cash that keeps every week at the floor or above."""
        return self.ledger.needed(self.floor or _ZERO)


class Moved(Struct, frozen=True, kw_only=True):
    """What one lever, a pair or all of them do, against the plan as agreed.

    ``freed`` is the rise of the trough, ``profit`` the change in profit over all events. ``words`` say what
    is set. ``add`` is what the single levers free together, for pairs and all.
    """

    names: tuple[str, ...]
    words: tuple[str, ...]
    cash: Cash
    freed: Fraction
    profit: Fraction
    add: Fraction

    @property
    def cost_per_thousand(self) -> Fraction | None:
        """Return what a thousand freed costs in profit; None where nothing is freed."""
        return -self.profit * 1000 / self.freed if self.freed > 0 else None


def ground_of(product: Product, plan: PlanFile, today: dt.date, public: PublicDays | None = None) -> Ground:
    """Return what a plan buys, costs and when.

    Raises ValueError where assemblies contain themselves, and NoSuchDay.
    """
    runs = runs_of(product, plan, (), public)
    bought = buy(product, runs, Ask(today=today))
    return Ground(
        today=today,
        bought=bought,
        costs=_costs(product, plan, runs, today),
        dates=schedule(jobs_of(product, plan, bought), books_of(product, public), today),
        book=runs.book or book_of(product, public),
    )


def plan_cash(
    product: Product, plan: PlanFile, ground: Ground, *, scenario: str = "as-agreed", hoped: bool = False
) -> Cash:
    """Return the cash of a plan; ``hoped`` counts funding that is not signed.

    ``product`` may differ from the one the ground was worked out for in terms of payment.
    """
    rates, home = rates_of(product), product.head.currency
    facts = Facts(
        product=product,
        plan=plan,
        rates=rates,
        book=ground.book,
        bought=ground.bought,
        costs=ground.costs,
        dates=ground.dates,
    )
    bills = bills_of(facts)
    weekly = weekly_units(plan, _arrivals(bills, plan), usual=usual_weeks(product))
    margins = {(m.sku, m.channel): m for cost in ground.costs.values() for m in margins_of(product, cost)}
    kept = [bill for bill in bills if bill.signed or hoped]
    events = [*_events(kept, rates, home), *takings(product, plan, rates, weekly, margins)]
    stated = plan.plan
    opening = rates.money(stated.opening, home, home) if stated.opening is not None else None
    found = ledger(events, stated.start, last_day(stated), opening or _ZERO)
    return Cash(
        plan=stated.id,
        scenario=scenario,
        ledger=found,
        floor=rates.money(stated.floor, home, home) if stated.floor is not None else None,
        opening_known=opening is not None,
        unknown=tuple(_unknown(found, ground.bought, weekly)),
        hoped=sum((bill.amount or _ZERO for bill in bills if not bill.signed and bill.incoming), _ZERO),
    )


def _costs(product: Product, plan: PlanFile, runs: PlanRuns, today: dt.date) -> dict[str, UnitCost]:
    """Return the cost of a unit of each build at the plan's pooled prices."""
    pooled = buy(product, runs, Ask(today=today), netted=False)
    days = {run.name: run.day for run in runs.runs}
    found = {}
    for build in plan.build:
        if build.sku not in product.assemblies:
            continue
        planned = sum((run.qty for run in runs.runs if run.sku == build.sku), _ZERO)
        ask = CostAsk(
            sku=build.sku,
            qty=Fraction(build.qty),
            name=build.name,
            day=days[build.name],
            factory=build.factory,
            lane=build.lane,
            planned=planned,
        )
        found[build.name] = unit_cost(product, ask, pooled, effects=False)
    return found


def _arrivals(bills: Iterable[Bill], plan: PlanFile) -> dict[str, dt.date]:
    """Return the day each build arrives, by the days its factory bill is made with."""
    found = {}
    for build in plan.build:
        for bill in bills:
            day = bill.events.get("arrival")
            if bill.name == f"factory, {build.name}" and day is not None:
                found[build.name] = day
    return found


def _events(bills: Iterable[Bill], rates: Rates, home: str) -> Iterator[CashEvent]:
    """Yield the payments of bills; what was paid before is taken off the first instalments.

    In the home currency what is paid up to an instalment is rounded, not the instalment: terms change no total.
    """
    for bill in bills:
        if bill.amount is None:
            yield _event(bill, None, None, "amount not known")
            continue
        settled = so_far = to_coin(bill.amount * bill.paid, bill.currency)
        for part in instalments(
            bill.amount, bill.currency, bill.payments, bill.events, bill.units, convert=rates.convert
        ):
            rest = max(_ZERO, part.amount - settled)
            settled = max(_ZERO, settled - part.amount)
            if not rest:
                continue
            before, so_far = so_far, so_far + rest
            step = [rates.convert(each, bill.currency, home) for each in (before, so_far)]
            amount = None if None in step else _between(step, home)
            yield _event(bill, part.day, (rest, amount), part.words)


def _between(step: Iterable[Fraction | None], currency: str) -> Fraction:
    before, after = (to_coin(each or _ZERO, currency) for each in step)
    return after - before


def _event(
    bill: Bill,
    day: dt.date | None,
    amounts: tuple[Fraction, Fraction | None] | None,
    words: str,
) -> CashEvent:
    sign = 1 if bill.incoming else -1
    own, amount = amounts if amounts is not None else (None, None)
    return CashEvent(
        day=day,
        amount=None if amount is None else sign * amount,
        own=None if own is None else sign * own,
        currency=bill.currency,
        kind=bill.kind,
        document=bill.name,
        payer=bill.payer,
        payee=bill.payee,
        words=words,
        reason=bill.reason,
        home=bill.home,
        facts=bill.facts,
        financing=bill.financing,
    )


def _unknown(found: Ledger, bought: Bought, weekly: Weekly) -> Iterator[str]:
    for event in found.unknown:
        what = "day" if event.amount is not None else "amount"
        yield f"{what} of {event.document} ({event.words})"
    yield from bought.unknown
    yield from weekly.unknown


def exposure(found: Ledger, home: str) -> tuple[tuple[str, Fraction, Fraction], ...]:
    """Return for each other currency what is still to come in and to go out in it within the plan."""
    sums: dict[str, list[Fraction]] = {}
    for event in found.events:
        if event.currency != home and event.own is not None:
            pair = sums.setdefault(event.currency, [_ZERO, _ZERO])
            pair[0 if event.own > 0 else 1] += abs(event.own)
    return tuple((currency, pair[0], pair[1]) for currency, pair in sorted(sums.items()))
