"""A quote runs out before the day on which a plan orders.

## What it finds

Orders of a plan that fall after the last day of the quote they rest on, within the age at which the policy
calls quotes stale (`quote_max_age`): a later order will be asked for anew in any case. Quotes of one seller
with one last day are told once, with the parts. A quote that has run out today is the business of quote-
expired; a verbal price held by a named person counts.

## Why it matters

The price in the plan is the one of the quote. On the day of the order the seller may ask another, and the
margin and the cash need that rest on it are gone.

## Example

Bad:

```toml
[[part.U-ADC.source]]
lead_time = "12 weeks"       # ordered in January
valid_until = 2026-12-15
```

Good:

```toml
[[part.U-ADC.source]]
lead_time = "12 weeks"
valid_until = 2027-02-28
```

## How to fix

Ask the seller to hold the price until the order, or order before the quote runs out.

## Who may accept it

Whoever answers for the cost. Usual exception: a verbal hold, named and dated.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ferrule.compute.buy import BuyRow, OrderLine
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._plans import Planned, place_of_source, planned, soon
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.product import Product

__all__ = ["RULE"]


_NAMED = 4
_Orders = Sequence[tuple[BuyRow, OrderLine]]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield quotes that do not last until an order, one for each plan, seller and last day."""
    for plan in planned(product, setting.today):
        for (seller, last), found in sorted(_groups(product, setting, plan).items()):
            yield _fault(product, plan.file.plan.id, seller, last, found)


def _groups(product: Product, setting: Setting, plan: Planned) -> dict[tuple[str, str], _Orders]:
    """Return the orders that come too late for their quotes, by seller and last day."""
    groups: dict[tuple[str, str], list[tuple[BuyRow, OrderLine]]] = {}
    for row in plan.bought.rows:
        for order in row.orders:
            source = order.quote.source
            if _runs_out(order, setting) and soon(product, order, setting.today):
                groups.setdefault((source.seller or "", str(source.valid_until)), []).append((row, order))
    return dict(groups)


def _runs_out(order: OrderLine, setting: Setting) -> bool:
    """Return whether a quote that is good today is not any more on the day of the order."""
    source = order.quote.source
    if source.basis == "contract" or (source.basis == "verbal" and source.held_by):
        return False
    return source.valid_until is not None and setting.today <= source.valid_until < order.order_day


def _fault(product: Product, plan: str, seller: str, until: str, found: _Orders) -> Fault:
    row, order = min(found, key=lambda pair: (pair[1].order_day, pair[0].part))
    parts = list(dict.fromkeys(each.part for each, _ in found))
    more = [f"{len(parts) - _NAMED} more"] if len(parts) > _NAMED else []
    whose = f'of "{seller}" ' if seller else ""
    return Fault(
        message=f"the quote {whose}for {listed([*parts[:_NAMED], *more])} runs out on {until},"
        f' plan "{plan}" orders from {order.order_day} on',
        place=place_of_source(product, row, order, "valid_until"),
        hint=f"ask {seller or 'the seller'} to hold the price, or order by {until}",
        facts=(plan, seller, until),
    )


RULE = Rule(check=check, blocks_from="pvt")
