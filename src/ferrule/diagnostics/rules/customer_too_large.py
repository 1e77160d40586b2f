"""One customer owes more than its credit limit, or is most of what comes in before the trough.

## What it finds

Customers who by a plan's sales and terms owe us more on some day than their credit limit (`firm.credit_limit`),
and customers from whom more than the policy's share (`customer_share`) of all receipts from sales comes up to the
week in which the plan's money is lowest. Sales to end customers, settled at once, are many buyers; only who buys on
terms is one.

## Why it matters

One late payer then ends it: the money for the weeks before the trough hangs on a single signature in somebody else's
accounts office.

## Example

Bad:

```toml
[firm.larkfield]
roles = ["customer"]
credit_limit = "40000 EUR"

[[sales]]
channel = "larkfield"
share = "100 %"
```

Good:

```toml
[firm.larkfield]
roles = ["customer"]
credit_limit = "120000 EUR"

[[sales]]
channel = "larkfield"
share = "40 %"
```

## How to fix

Deliver in parts, ask for a deposit, insure the receivable and raise the limit to what is insured, or sell more
elsewhere first.

## Who may accept it

Whoever answers for the money. Usual exception: the receivable is insured.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from fractions import Fraction

from ferrule.compute.cash import Cash
from ferrule.compute.ledger import CashEvent
from ferrule.compute.rates import rates_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of, severity_at
from ferrule.diagnostics.rules._money import plan_money, plans_ahead
from ferrule.diagnostics.rules._plans import money
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product
from ferrule.model.records.plan import PlanFile

__all__ = ["RULE"]

_ZERO = Fraction(0)
_NAME = "customer-too-large"


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield customers above their credit limit, then those that are too much of the receipts."""
    if severity_at(RULE, setting.stage, product.severities.get(_NAME)) is None:
        return  # the cash of a plan is much work for a finding that nobody sees
    for plan in plans_ahead(product, setting.today):
        on_terms = [sale for sale in plan.sales if _on_terms(product, sale.channel)]
        cash = plan_money(product, plan, setting) if on_terms else None
        if cash is not None:
            yield from _over_limit(product, plan, cash)
            yield from _over_share(product, plan, cash)


def _on_terms(product: Product, channel: str) -> bool:
    record = product.channels.get(channel)
    return record is not None and (record.kind != "direct" or bool(record.payment))


def _by_customer(cash: Cash) -> Mapping[str, list[CashEvent]]:
    """Return the receipts of sales on terms by who pays them, those after the plan too."""
    found: dict[str, list[CashEvent]] = {}
    for event in (*cash.ledger.before, *cash.ledger.events, *cash.ledger.after):
        if event.since is not None:
            found.setdefault(event.payer, []).append(event)
    return dict(sorted(found.items()))


def _over_limit(product: Product, plan: PlanFile, cash: Cash) -> Iterator[Fault]:
    rates, home = rates_of(product), product.head.currency
    for customer, events in _by_customer(cash).items():
        firm = product.firms.get(customer)
        if firm is None or firm.credit_limit is None:
            continue
        limit = rates.money(firm.credit_limit, firm.currency or home, home)
        owed, day = _most_owed(events)
        if limit is not None and owed > limit:
            yield Fault(
                message=f'customer "{customer}" owes {money(product, owed)} on {day} in plan "{plan.plan.id}", '
                f"more than its limit of {money(product, limit)}",
                place=place_of(product, "firm", customer, "credit_limit"),
                hint="deliver in parts, ask for a deposit, or insure it and raise the limit",
                facts=(plan.plan.id, customer, "limit"),
            )


def _most_owed(events: list[CashEvent]) -> tuple[Fraction, dt.date | None]:
    """Return the most that is owed at the end of a day, and the first such day."""
    steps: dict[dt.date, Fraction] = {}
    for event in events:
        if event.since is not None and event.day is not None and event.amount is not None:
            steps[event.since] = steps.get(event.since, _ZERO) + event.amount
            steps[event.day] = steps.get(event.day, _ZERO) - event.amount
    most, first, owed = _ZERO, None, _ZERO
    for day, step in sorted(steps.items()):
        owed += step
        if owed > most:
            most, first = owed, day
    return most, first


def _over_share(product: Product, plan: PlanFile, cash: Cash) -> Iterator[Fault]:
    trough = cash.ledger.trough
    end = trough.monday + dt.timedelta(weeks=1)
    early = [
        event
        for event in cash.ledger.events
        if event.day is not None and event.day < end and event.kind == "sales" and (event.amount or _ZERO) > 0
    ]
    total = sum((event.amount or _ZERO for event in early), _ZERO)
    for customer in sorted({event.payer for event in early if event.since is not None}):
        paid = sum((event.amount or _ZERO for event in early if event.payer == customer), _ZERO)
        if paid > total * Fraction(product.policy.customer_share.fraction):
            yield Fault(
                message=f'customer "{customer}" brings {shown_amount(paid / total * 100, 0)} % of the receipts '
                f'up to the trough of plan "{plan.plan.id}" in week {trough.number}; '
                f"more than {product.policy.customer_share} hangs on one payer",
                place=place_of(
                    product, "plan", plan.plan.id, "sales", _index(product, plan, customer), "channel"
                ),
                hint="ask what happens if it pays four weeks late: a scenario of the plan says",
                facts=(plan.plan.id, customer, "share"),
            )


def _index(product: Product, plan: PlanFile, customer: str) -> int:
    return next(
        index
        for index, sale in enumerate(plan.sales)
        if (record := product.channels.get(sale.channel)) is not None
        and customer in (record.customer, sale.channel)
    )


RULE = Rule(check=check, warns_from="pvt", blocks_from=None)
