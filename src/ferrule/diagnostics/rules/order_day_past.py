"""The latest day to order has passed.

## What it finds

Parts and tools of a plan that are not ordered and whose latest order day lies before today, worked back from
the build's date in every owner's calendar. An expedite quote that is still valid and in time clears it.

## Why it matters

Each day from here on moves the delivery, and across a closure one day can cost four weeks. Nobody looks for
the date until the part is missing.

## Example

Bad:

```toml
[[build]]
receive_by = 2027-02-01

[[part.U-ADC.source]]
lead_time = "16 weeks"
```

Good:

```toml
[[part.U-ADC.source]]
lead_time = "16 weeks"
expedite = [{ lead_time = "5 weeks", fee = "350 USD", valid_until = 2026-12-31 }]
```

## How to fix

Order today, ask for an expedited delivery and write it down, take a faster source, or move the build.
`ferrule schedule PLAN --why ITEM` shows the chain.

## Who may accept it

Whoever answers for the date. Usual exception: an expedite quote.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.schedule import OrderDates
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import planned
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield what should have been ordered before today, each item once with the build that needs it first."""
    for plan in planned(product, setting.today):
        told: set[str] = set()
        for order in plan.dates.orders if plan.dates is not None else ():
            if order.item not in told and _is_late(order):
                told.add(order.item)
                yield _fault(product, order)


def _is_late(order: OrderDates) -> bool:
    if order.order.ordered is not None or order.latest is None or not order.late_by:
        return False
    return not any(faster.in_time and faster.valid is not False for faster in order.faster)


def _fault(product: Product, order: OrderDates) -> Fault:
    kind = (
        order.order.kind
        if order.order.kind == "tool"
        else "part"
        if order.item in product.parts
        else "assembly"
    )
    path = ("source", order.order.source) if order.order.source is not None else ()
    days = "day" if order.late_by == 1 else "days"
    return Fault(
        message=f'"{order.item}" had to be ordered by {order.latest} for build "{order.build}": {order.late_by} {days} late',
        place=place_of(product, kind, order.item, *path),
        hint="order it today, or ask for an expedited delivery",
        facts=(order.build, str(order.latest)),
    )


RULE = Rule(check=check, blocks_from="dvt")
