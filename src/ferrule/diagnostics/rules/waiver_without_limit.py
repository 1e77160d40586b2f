"""A waiver has no limit.

## What it finds

Waivers with neither a last day nor a quantity nor serial numbers. Such a waiver covers nothing.

## Why it matters

A permanent exception is a decision to change the rule or the design; it deserves to be made as one.

## Example

Bad:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
```

Good:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
until = 2027-04-30
```

## How to fix

Add `until`, `quantity` or `serials`.

## Who may accept it

Nobody.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield waivers without any limit."""
    quarter = setting.today + dt.timedelta(days=90)
    for index, waiver in enumerate(product.waivers):
        if waiver.until is None and waiver.quantity is None and waiver.serials is None:
            yield Fault(
                message=f"the waiver of {waiver.rule} for {waiver.subject} has no limit, so it covers nothing",
                place=place_of(product, "waiver", index, "until", key=True),
                hint=f"add until = {quarter}, or quantity or serials",
            )


RULE = Rule(check=check, blocks_from="evt", waivable=False)
