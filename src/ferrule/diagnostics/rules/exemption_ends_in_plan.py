"""An exemption for a restricted substance ends while the part is still needed.

## What it finds

Parts bought for a plan whose statement claims an exemption (`exemption`) with a last day (`exemption_until`)
before the plan ends, for a market where the product is sold.

## Why it matters

From that day on the part, and every unit with it, may not be placed on the market there. Stock bought for
later is stranded. Which exemption holds how long is for a qualified person to say.

## Example

Bad:

```toml
substances = [{ rule = "2011/65/EU", markets = ["EU"], exemption = "7(c)-I", exemption_until = 2027-03-31 }]
```

Good:

```toml
substances = [{ rule = "2011/65/EU", markets = ["EU"], statement = "docs/statement.pdf", date = 2026-05-04 }]
```

## How to fix

Find a part that needs no exemption, or confirm the renewal and write down its day.

## Who may accept it

Whoever answers for compliance. Usual exception: a replacement is approved.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.outlays import last_day
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import planned
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield exemptions that end within a plan, each once with the plan that ends first."""
    told: set[tuple[str, int]] = set()
    for plan in planned(product, setting.today):
        end = last_day(plan.file.plan)
        for row in plan.bought.rows:
            item = product.item(row.part)
            for index, each in enumerate(item.substances if item is not None else ()):
                until = each.exemption_until
                sold = (
                    not each.markets
                    or not product.head.markets
                    or set(each.markets) & set(product.head.markets)
                )
                if until is None or until >= end or not sold or (row.part, index) in told:
                    continue
                told.add((row.part, index))
                kind = "part" if row.part in product.parts else "assembly"
                claimed = f" {each.exemption}" if each.exemption else ""
                yield Fault(
                    message=f'exemption{claimed} of "{row.part}" ends on {until}, plan "{plan.file.plan.id}" runs to {end}',
                    place=place_of(product, kind, row.part, "substances", index, "exemption_until"),
                    hint="find a part that needs none, or confirm the renewal",
                    facts=(str(until),),
                )


RULE = Rule(check=check, blocks_from="pvt")
