"""A least quantity or a pack forces an order far over the need.

## What it finds

Orders of a plan above the policy's multiple of the gross need (`order_to_need`, twice by default) whose
excess is worth more than `leftover_ignored`. An excess that a firm later build uses up is left aside.

## Why it matters

The rest is paid for and lies there. Small parts with large least quantities are where a first build's cash
goes unnoticed.

## Example

Bad:

```toml
[[part.PKG-BOX.source]]          # 120 are needed
moq = 1000
```

Good:

```toml
[[part.PKG-BOX.source]]
moq = 200
```

## How to fix

Ask for a smaller least quantity or a cut pack, share the part between products, or take another source.

## Who may accept it

Whoever answers for the cost. Usual exceptions: a later firm build uses it; it is worth little.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.buy import BuyRow
from ferrule.compute.rates import rates_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._plans import money, place_of_source, planned
from ferrule.model.exact import in_full, shown_amount
from ferrule.model.product import Product

__all__ = ["RULE"]


_ZERO = Fraction(0)


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield orders far over the need."""
    ignored = _ignored(product)
    for plan in planned(product, setting.today):
        for row in plan.bought.rows:
            excess = row.ordered - row.netted.net - row.later.qty
            worth = _worth(row, excess)
            if _is_far_over(product, row) and excess > 0 and (worth is None or worth > ignored):
                yield _fault(product, plan.file.plan.id, row, worth)


def _ignored(product: Product) -> Fraction:
    stated = product.policy.leftover_ignored
    home = product.head.currency
    return (rates_of(product).money(stated, home, home) if stated is not None else None) or _ZERO


def _worth(row: BuyRow, excess: Fraction) -> Fraction | None:
    baskets = [order.basket for order in row.orders]
    if any(basket is None for basket in baskets) or not row.ordered:
        return None
    goods = sum((basket.goods for basket in baskets if basket is not None), _ZERO)
    return max(_ZERO, excess) * goods / row.ordered


def _is_far_over(product: Product, row: BuyRow) -> bool:
    return bool(row.orders) and row.ordered > Fraction(product.policy.order_to_need) * row.gross.total


def _fault(product: Product, plan: str, row: BuyRow, worth: Fraction | None) -> Fault:
    order = row.orders[0]
    source = order.quote.source
    key = next((key for key in ("moq", "multiple", "price") if getattr(source, key)), "price")
    need = shown_amount(row.gross.total, 0)
    known = f", {money(product, worth)} of it too much" if worth is not None else ""
    return Fault(
        message=f'plan "{plan}" needs {need} of "{row.part}" and has to order {shown_amount(row.ordered, 0)}{known}',
        place=place_of_source(product, row, order, key),
        hint=f"ask {source.seller or 'the seller'} for less, or find a later build that uses it",
        facts=(plan, in_full(row.ordered)),
    )


RULE = Rule(check=check, blocks_from="pvt", warns_from="evt")
