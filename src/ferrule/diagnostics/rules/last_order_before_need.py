"""A part's last order day comes before a plan orders it.

## What it finds

Parts of a plan with a last order day (`lifecycle.last_order`) before the day on which the plan orders them,
or a last shipment (`last_shipment`) before the day they are needed.

## Why it matters

After the last order day the maker takes no more. Notices commonly give about six months to order and twelve
to the last shipment, and such orders cannot be cancelled.

## Example

Bad:

```toml
lifecycle = { status = "last-time-buy", last_order = 2026-12-31 }   # ordered in March
```

Good:

```toml
lifecycle = { status = "last-time-buy", last_order = 2027-06-30 }
```

## How to fix

Order what is needed to the end before the last order day, or qualify a replacement.

## Who may accept it

Whoever answers for supply. Usual exception: a last-time buy that covers the plan.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from ferrule.compute.buy import BuyRow
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import planned
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield parts that can no longer be ordered or delivered when a plan needs them."""
    for plan in planned(product, setting.today):
        for row in plan.bought.rows:
            item = product.item(row.part)
            life = item.lifecycle if item is not None else None
            if life is None or not row.orders:
                continue
            ordered = min(order.order_day for order in row.orders)
            needed = _needed(row)
            if life.last_order is not None and ordered > life.last_order:
                words = (
                    f'can be ordered until {life.last_order}, plan "{plan.file.plan.id}" orders on {ordered}'
                )
                yield _fault(product, row.part, "last_order", words, str(life.last_order))
            elif life.last_shipment is not None and needed is not None and needed > life.last_shipment:
                words = f'ships until {life.last_shipment}, plan "{plan.file.plan.id}" needs it on {needed}'
                yield _fault(product, row.part, "last_shipment", words, str(life.last_shipment))


def _needed(row: BuyRow) -> dt.date | None:
    """Return the last day on which something of the part is short."""
    days = [each.day for (_, each), net in zip(row.wanted, row.netted.nets, strict=True) if net and each.day]
    return max(days, default=None)


def _fault(product: Product, part: str, key: str, words: str, fact: str) -> Fault:
    kind = "part" if part in product.parts else "assembly"
    return Fault(
        message=f'"{part}" {words}',
        place=place_of(product, kind, part, "lifecycle", key),
        hint="order what is needed to the end before that day, or qualify a replacement",
        facts=(fact,),
    )


RULE = Rule(check=check, blocks_from="dvt")
