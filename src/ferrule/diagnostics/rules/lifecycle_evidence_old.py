"""A life-cycle status rests on old evidence, or on none.

## What it finds

Life-cycle records of bought items without `checked` or without `evidence`, and those checked longer ago
than the policy `lifecycle_max_age` (180 days if not said).

## Why it matters

A status rots: the notice that ends a part comes without asking.

## Example

Bad:

```toml
[part.U-AMP]
lifecycle = { status = "active", checked = 2025-11-02, evidence = "maker's page" }
```

Good:

```toml
[part.U-AMP]
lifecycle = { status = "active", checked = 2026-10-02, evidence = "maker's page" }
```

## How to fix

Look it up again and write down the day and where.

## Who may accept it

Nobody needs to: looking it up takes minutes.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.ages import is_older
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import bought
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield life-cycle records without a day or a basis, or too old."""
    oldest = product.policy.lifecycle_max_age
    for kind, number, item in bought(product):
        cycle = item.lifecycle
        if cycle is None:
            continue
        if cycle.checked is None or not cycle.evidence:
            missing = "day" if cycle.checked is None else "evidence"
            key = "checked" if cycle.checked is None else "evidence"
            place = place_of(product, kind, number, "lifecycle", key, key=True)
            yield Fault(
                message=f'the life-cycle status of {kind} "{number}" has no {missing}',
                place=place,
                facts=(missing,),
            )
        elif is_older(cycle.checked, oldest, setting.today):
            yield Fault(
                message=f'the life-cycle status of {kind} "{number}" was checked on {cycle.checked}, over {oldest} ago',
                place=place_of(product, kind, number, "lifecycle", "checked"),
                facts=(str(cycle.checked),),
            )


RULE = Rule(check=check, blocks_from="pvt", waivable=False)
