"""A plan's money falls below its floor.

## What it finds

Plans whose lowest balance at the end of a week lies below the stated floor (`plan.floor`), or below zero where
none is stated, with all payments as agreed and only signed funding counted. A plan that states a floor and no
opening cash cannot be decided, and neither can one with a payment of unknown day or amount where the rest stays
above the floor. A plan that states neither is left aside.

## Why it matters

The commonest way such a company ends: the goods are paid, the customers have not, and it is a matter of weeks, not
of margin.

## Example

Bad:

```toml
[plan]
opening = "180000 EUR"
floor = "20000 EUR"

[[funding]]
name = "second closing"
signed = false
```

Good:

```toml
[plan]
opening = "180000 EUR"
floor = "20000 EUR"

[[funding]]
name = "second closing"
signed = true
```

## How to fix

`ferrule levers` shows which terms move the trough and what each costs; a smaller or later build moves it too.
Funding counts once it is signed.

## Who may accept it

Whoever answers for the money. Usual exception: none; a hoped-for payment is no money.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.cash import Cash
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._money import plan_money, plans_ahead
from ferrule.diagnostics.rules._plans import money
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["RULE"]

_NAMED = 3


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield plans whose trough lies below the floor, or of which that cannot be said."""
    for plan in plans_ahead(product, setting.today):
        stated = plan.plan
        if stated.floor is not None and stated.opening is None:
            yield Fault(
                message=f'plan "{stated.id}" states a floor and no opening cash',
                place=place_of(product, "plan", stated.id, "floor"),
                hint='state the money at the start: opening = "185000 EUR"',
                facts=(stated.id,),
                undecided=True,
            )
        elif stated.opening is not None:
            cash = plan_money(product, plan, setting)
            fault = None if cash is None else _fault(product, plan, cash)
            if fault is not None:
                yield fault


def _fault(product: Product, plan: PlanFile, cash: Cash) -> Fault | None:
    floor, book = cash.floor, cash.ledger
    if plan.plan.floor is not None and floor is None:
        return None  # no rate leads home from its currency: another rule speaks
    short = (floor or Fraction(0)) - book.trough.balance
    if short > 0 and book.bound in ("exact", "at most"):
        return _below(product, plan, cash, short)
    if short > 0 or cash.unknown or book.bound in ("at most", "open"):
        return _open(product, plan, cash)
    return None


def _below(product: Product, plan: PlanFile, cash: Cash, short: Fraction) -> Fault:
    trough, number = cash.ledger.trough, plan.plan.id
    floor = "zero" if cash.floor is None else f"its floor of {money(product, cash.floor)}"
    most = "" if cash.ledger.bound == "exact" else "at most "
    hoped = f"; {money(product, cash.hoped)} of funding is not signed" if cash.hoped else ""
    return Fault(
        message=f'plan "{number}" falls to {most}{money(product, trough.balance)} in week {trough.number} '
        f"({trough.monday}), {money(product, short)} below {floor}{hoped}",
        place=place_of(product, "plan", number, "floor" if cash.floor is not None else "opening"),
        hint=f"`ferrule levers {number}` shows which terms move it; funding counts once it is signed",
        facts=(number, str(trough.balance)),
    )


def _open(product: Product, plan: PlanFile, cash: Cash) -> Fault:
    number = plan.plan.id
    named = list(dict.fromkeys(cash.unknown))
    more = f" and {len(named) - _NAMED} more" if len(named) > _NAMED else ""
    return Fault(
        message=f'plan "{number}" rests on what is not known: {"; ".join(named[:_NAMED])}{more}',
        place=place_of(product, "plan", number, "floor" if cash.floor is not None else "opening"),
        hint=f"`ferrule cash {number}` names all of it",
        facts=(number, *named),
        undecided=True,
    )


RULE = Rule(check=check, blocks_from="dvt")
