"""A stated lead time is not what deliveries took.

## What it finds

Approved sources whose last deliveries took longer or shorter (`lead_observed`) than the stated lead time by
more than the policy allows (`lead_time_deviation`). Working days count as seven for five.

## Why it matters

Sellers are optimistic. A schedule on promises is late by exactly the difference; one on an old, longer figure
buys too early and ties up cash.

## Example

Bad:

```toml
[[part.U-ADC.source]]
lead_time = "8 weeks"
lead_observed = "13 weeks"
```

Good:

```toml
[[part.U-ADC.source]]
lead_time = "12 weeks"
lead_observed = "13 weeks"
```

## How to fix

Plan on what was seen, or get the seller to confirm the stated time in writing.

## Who may accept it

Whoever buys. Usual exception: a one-off event, noted.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.leads import rough_days
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import approved, bought
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield sources that deliver in another time than they say."""
    limit = Fraction(product.policy.lead_time_deviation.fraction)
    for kind, number, item in bought(product):
        for index, source in approved(item):
            stated, seen = source.lead_time, source.lead_observed
            if stated is None or seen is None or not rough_days(stated):
                continue
            change = rough_days(seen) / rough_days(stated) - 1
            if abs(change) > limit:
                yield Fault(
                    message=f'{source_name(index, source)} of {kind} "{number}" states {stated} and took {seen}',
                    place=place_of(product, kind, number, "source", index, "lead_time"),
                    hint=f'write lead_time = "{seen}", or have the stated time confirmed',
                    facts=(str(stated), str(seen)),
                )


RULE = Rule(check=check, warns_from="pvt", blocks_from=None)
