"""An order that cannot be cancelled is larger than firm builds need.

## What it finds

Orders due within `quote_max_age` from a source that takes nothing back (`ncnr = true`), or of a part made for
us (fabricated parts, boards, labels and packaging count as such unless `ncnr = false`), that exceed what
would be ordered for the firm builds of the plan (`firm`) alone. A source approved for it (`approval`, not
older than the quote, with its `evidence`) by somebody of a role that approves `money` is left aside.

## Why it matters

A forecast can be dropped, such an order cannot. If the build does not come, the whole order is still to be
paid.

## Example

Bad:

```toml
[[build]]
name = "autumn"
qty = 2400
firm = false        # and its boards are ordered next week
```

Good:

```toml
[[build]]
name = "autumn"
qty = 2400
firm = true
```

## How to fix

Order for the firm builds only, get the right to cancel, or decide the build.

## Who may accept it

Whoever answers for the money, with the amount at risk: as an approval of the source, or as a waiver. Usual
exception: a part with a long lead time, ordered before the build is decided.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.buy import BuyRow, OrderLine
from ferrule.compute.purchase import purchase
from ferrule.compute.regret_terms import MADE_FOR_US
from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import Planned, money, place_of_source, planned, quantity, soon
from ferrule.model.exact import in_full
from ferrule.model.product import Product
from ferrule.model.records.part import Part, Source

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield orders beyond firm demand that cannot be cancelled."""
    for plan in planned(product, setting.today):
        if all(run.firm for run in plan.bought.runs.runs):
            continue
        for row in plan.bought.rows:
            for order in row.orders:
                if _binds(product, row, order) and soon(product, order, setting.today):
                    yield from _judge(product, plan, row, order)


def _binds(product: Product, row: BuyRow, order: OrderLine) -> bool:
    source = order.quote.source
    if _approved(product, source):
        return False
    if source.ncnr is not None:
        return source.ncnr
    part = product.item(row.part)
    return isinstance(part, Part) and part.class_ in MADE_FOR_US


def _approved(product: Product, source: Source) -> bool:
    """Return whether somebody who answers for money took on the risk of this quote, and where that is kept."""
    for approval in source.approval:
        role = product.roles.get(approval.role)
        answers = role is not None and "money" in role.approves and approval.by in role.people
        if answers and approval.evidence and approval.date >= (source.quoted or dt.date.min):
            return True
    return False


def _judge(product: Product, plan: Planned, row: BuyRow, order: OrderLine) -> Iterator[Fault]:
    forecast = {run.name for run in plan.bought.runs.runs if not run.firm}
    nets = zip(row.wanted, row.netted.nets, strict=True)
    needed = sum((net for (name, _), net in nets if name not in forecast), Fraction(0)) * order.share
    alone = _ordered_for(plan, row, order, needed)
    over = order.qty - alone
    if over <= 0:
        return
    each = order.basket.each if order.basket is not None else None
    risk = f": {money(product, over * each)} at risk" if each is not None else ""
    ordered, firm, less = (quantity(product, row.part, number) for number in (order.qty, needed, alone))
    yield Fault(
        message=f'plan "{plan.file.plan.id}" orders {ordered} of "{row.part}", which cannot be cancelled, and its'
        f" firm builds need {firm}{risk}",
        place=place_of_source(product, row, order, "ncnr"),
        related=tuple(_forecasts(product, plan, row, forecast)),
        hint=f"order {less}" if alone else "wait until the build is firm",
        facts=(plan.file.plan.id, in_full(order.qty), in_full(needed)),
    )


def _ordered_for(plan: Planned, row: BuyRow, order: OrderLine, needed: Fraction) -> Fraction:
    """Return what would be ordered of a source for a smaller need."""
    if not needed or order.basket is None:
        return order.quote.bare.rounded(needed)
    smaller = purchase(order.quote, lambda _: needed, row.later)
    return smaller.baskets[plan.bought.ask.strategy].qty


def _forecasts(product: Product, plan: Planned, row: BuyRow, forecast: set[str]) -> Iterator[Related]:
    using = {name for name, _ in row.wanted}
    for index, build in enumerate(plan.file.build):
        if build.name in forecast & using:
            place = place_of(product, "plan", plan.file.plan.id, "build", index, "firm")
            yield Related(place=place, note=f'build "{build.name}" is a forecast')


RULE = Rule(check=check, blocks_from="dvt")
