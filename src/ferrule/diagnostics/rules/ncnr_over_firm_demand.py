"""An order that cannot be cancelled is larger than firm builds need.

## What it finds

Orders due within `quote_max_age` from a source that takes nothing back (`ncnr = true`), or of a part made for
us (fabricated parts, boards, labels and packaging count as such unless `ncnr = false`), that exceed what the
firm builds of the plan (`firm`) need, rounded to what can be ordered.

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

Whoever answers for the money, with the amount at risk.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.buy import BuyRow, OrderLine
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._plans import Planned, money, place_of_source, planned, soon
from ferrule.model.exact import in_full, shown_amount
from ferrule.model.product import Product
from ferrule.model.records.part import Part

__all__ = ["RULE"]


#: Parts made to our drawing or print: nobody takes them back.
_OURS = ("fabricated", "board", "label", "packaging")


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield orders beyond firm demand that cannot be cancelled."""
    for plan in planned(product, setting.today):
        for row in plan.bought.rows:
            for order in row.orders:
                if _binds(product, row, order) and soon(product, order, setting.today):
                    yield from _judge(product, plan, row, order)


def _binds(product: Product, row: BuyRow, order: OrderLine) -> bool:
    stated = order.quote.source.ncnr
    if stated is not None:
        return stated
    part = product.item(row.part)
    return isinstance(part, Part) and part.class_ in _OURS


def _judge(product: Product, plan: Planned, row: BuyRow, order: OrderLine) -> Iterator[Fault]:
    firm = {run.name for run in plan.bought.runs.runs if run.firm}
    nets = zip(row.wanted, row.netted.nets, strict=True)
    needed = sum((net for (name, _), net in nets if name in firm), Fraction(0)) * order.share
    lawful = order.quote.bare.rounded(needed)
    over = order.qty - lawful
    if over <= 0 or len(firm) == len(plan.bought.runs.runs):
        return
    each = order.basket.each if order.basket is not None else None
    risk = f", {money(product, over * each)} at risk" if each is not None else ""
    yield Fault(
        message=f'the order of {shown_amount(order.qty, 0)} "{row.part}" cannot be cancelled and firm builds need'
        f" {shown_amount(needed, 0)}{risk}",
        place=place_of_source(product, row, order, "ncnr"),
        hint=f"order {shown_amount(lawful, 0)}" if lawful else "wait until the build is firm",
        facts=(plan.file.plan.id, in_full(order.qty), in_full(needed)),
    )


RULE = Rule(check=check, blocks_from="dvt")
