"""A waiver has passed its limit.

## What it finds

Waivers whose last day has passed, or whose quantity is used up by the good units reported since they
were accepted.

## Why it matters

A waiver without an end becomes the way things are done, and nobody decided that. What it covered is
shown again.

## Example

Bad:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
until = 2026-06-30   # past
```

Good:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
until = 2027-04-30
renewals = 1
```

## How to fix

End it: make the correction it promised and take it out. Or renew it, with a new limit and `renewals`
counted up; a third renewal is a design change that nobody wrote.

## Who may accept it

Nobody: a waiver for a waiver would have no end.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.waived import in_force
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield waivers that no longer hold."""
    for index, waiver in enumerate(product.waivers):
        if waiver.until is not None and waiver.until < setting.today:
            place = place_of(product, "waiver", index, "until")
            message = f"the waiver of {waiver.rule} for {waiver.subject} ended on {waiver.until}"
            yield Fault(message=message, place=place, facts=(str(waiver.until),))
        elif waiver.quantity is not None and not in_force(waiver, setting.today, product.made):
            place = place_of(product, "waiver", index, "quantity")
            message = f"the waiver of {waiver.rule} for {waiver.subject} held for {waiver.quantity} units, and more are made"
            yield Fault(message=message, place=place, facts=(str(waiver.quantity),))


RULE = Rule(check=check, blocks_from="evt", waivable=False)
