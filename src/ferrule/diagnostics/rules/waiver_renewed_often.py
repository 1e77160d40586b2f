"""A waiver was renewed again and again.

## What it finds

Waivers whose `renewals` are more than the product's policy allows: `policy.waiver_renewals`, two unless the
product says otherwise. So the third renewal is said aloud.

## Why it matters

A waiver that is renewed for the third time is a design change that nobody wrote: drawings, tests and
certificates still describe another product.

## Example

Bad:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
until = 2027-04-30
renewals = 3
```

Good:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
until = 2027-04-30
renewals = 2
```

## How to fix

Make the change it stands for: in the list, the drawings and the rules of this product. Or end it.

## Who may accept it

Nobody: a waiver for a waiver would have no end. It never blocks.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield waivers renewed more often than the policy allows."""
    allowed = product.policy.waiver_renewals
    for index, waiver in enumerate(product.waivers):
        if waiver.renewals > allowed:
            message = (
                f"the {waiver.kind} of {waiver.rule} for {waiver.subject} was renewed {waiver.renewals} times: "
                "a design change that nobody wrote"
            )
            place = place_of(product, "waiver", index, "renewals")
            yield Fault(message=message, place=place, facts=(str(waiver.renewals),))


RULE = Rule(check=check, blocks_from=None, waivable=False)
