"""Stopping the plan in some week would leave more owed than there is money.

## What it finds

Plans with opening cash in which, on the Monday of a week, what is owed if everything not begun is dropped
exceeds the money there is, lines of credit open that week (`[[loan]]`) included. Owed are orders that cannot
be cancelled or stand within their fee steps, factory stock we must take over, builds begun or bound by their
forecast, and what is not paid on tools. What states no terms of cancelling counts in full.

## Why it matters

A plan may end in the black and still pass a week in which it can neither go on nor be stopped. Whoever signs
orders in such a week cannot pay for them if the sales do not come.

## Example

Bad:

```toml
[plan]
opening = "9000 EUR"
# and in week 4 boards for 14,000 EUR are ordered that nobody takes back
```

Good:

```toml
[plan]
opening = "9000 EUR"

[[loan]]
name = "bank overdraft"
limit = "6000 EUR"
```

## How to fix

Order later or less, get the right to cancel, or have a line of credit for those weeks. `ferrule regret PLAN`
shows every week and what is owed in it.

## Who may accept it

Whoever answers for the money. Usual exception: a backed line of credit that is not in the plan yet.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.rates import rates_of
from ferrule.compute.regret import Stopped, stops_by_week
from ferrule.compute.regret_commitments import commitments_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._money import Moneyed, moneyed
from ferrule.diagnostics.rules._plans import money
from ferrule.model.product import Product
from ferrule.model.records.plan import Loan, PlanFile

__all__ = ["RULE"]

_ZERO = Fraction(0)


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield plans that could not be stopped in some week still to come."""
    for found in moneyed(product, setting.today):
        try:
            weeks = _weeks(product, found)
        except NoSuchDay:  # the rules of calendars speak
            continue
        plan = found.plan.file
        short = [
            (week, lent)
            for week in weeks
            if week.day >= setting.today and week.left + (lent := _credit(product, plan, week.day)) < 0
        ]
        if short:
            yield _fault(product, plan, short)


def _weeks(product: Product, found: Moneyed) -> tuple[Stopped, ...]:
    bound = commitments_of(product, found.plan.file, found.ground, found.cash)
    return stops_by_week(product, bound, found.cash.ledger)


def _credit(product: Product, plan: PlanFile, day: dt.date) -> Fraction:
    """Return what may be drawn on a day on the plan's lines of credit."""
    home, rates = product.head.currency, rates_of(product)
    limits = (rates.money(loan.limit, home, home) for loan in plan.loan if _is_open(loan, plan, day))
    return sum((limit for limit in limits if limit is not None), _ZERO)


def _is_open(loan: Loan, plan: PlanFile, day: dt.date) -> bool:
    start = plan.plan.start
    first = loan.from_.on(start) if loan.from_ is not None else start
    return first <= day and (loan.to is None or day <= loan.to.on(start))


def _fault(product: Product, plan: PlanFile, short: list[tuple[Stopped, Fraction]]) -> Fault:
    week, lent = short[0]
    credit = f" and {money(product, lent)} of credit" if lent else ""
    others = len(short) - 1
    more = f", nor in {others} other{'s' if others > 1 else ''}" if others else ""
    most = max(-stop.left - extra for stop, extra in short)
    return Fault(
        message=f'plan "{plan.plan.id}" could not be stopped in week {week.number}: {money(product, week.owed)}'
        f" owed, {money(product, week.cash)}{credit} there{more}; {money(product, most)} lacking at most",
        place=place_of(product, "plan", plan.plan.id, "opening"),
        hint=f"`ferrule regret {plan.plan.id} --stop {week.number}` lists what is owed",
        facts=(plan.plan.id, str(week.number)),
    )


RULE = Rule(check=check, blocks_from="dvt")
