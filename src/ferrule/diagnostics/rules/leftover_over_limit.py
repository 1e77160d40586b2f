"""A plan leaves more paid-for parts over than the policy allows.

## What it finds

Plans whose leftover (what is over of everything when all builds are made, stock on hand included) is worth
more than `leftover_share` of what the plan spends on material.

## Why it matters

Leftovers are cash that no unit pays back. They grow unseen out of packs, least quantities and price breaks, a
few percent at a time.

## Example

Bad:

```toml
[policy]
leftover_share = "5 %"          # and 9 % are left over
```

Good:

```toml
[[build]]
name = "spring"
sku = "W20-SINGLE"
qty = 1224        # empties two more reels
```

## How to fix

Look at the largest leftovers with `ferrule buy PLAN --sort left`: a build that empties the packs, a smaller
pack, or a later build that uses them.

## Who may accept it

Whoever answers for the money, with the amount.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.buy import BuyRow
from ferrule.compute.order_totals import by_seller, leftover
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import money, planned
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product

__all__ = ["RULE"]


_ZERO = Fraction(0)
_NAMED = 3


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield plans that leave too much over."""
    limit = Fraction(product.policy.leftover_share.fraction)
    for plan in planned(product, setting.today):
        rows = plan.bought.rows
        total = sum((seller.total for seller in by_seller(product, rows, "least cash now")), _ZERO)
        rest = leftover(plan.bought, total)
        if rest.of_spend is None or rest.of_spend <= limit:
            continue
        share = shown_amount(rest.of_spend * 100, 1)
        least = "at least " if rest.unknown else ""
        yield Fault(
            message=f'plan "{plan.file.plan.id}" leaves {least}{money(product, rest.value)} over,'
            f" {least}{share} % of its spend, above {product.policy.leftover_share}",
            place=place_of(product, "plan", plan.file.plan.id, "id"),
            hint=f"ask for smaller packs or least quantities, first of {_largest(product, rows)}",
            facts=(plan.file.plan.id,),
        )


def _largest(product: Product, rows: Sequence[BuyRow]) -> str:
    """Return the parts of which most is left over, with its value."""
    valued = [(value, row.part) for row in rows if (value := row.left_value)]
    largest = sorted(valued, key=lambda pair: (-pair[0], pair[1]))[:_NAMED]
    return listed(f"{part} ({money(product, value)})" for value, part in largest)


RULE = Rule(check=check, blocks_from="pvt")
