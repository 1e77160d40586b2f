"""A plan accepts critical defects.

## What it finds

Quality plans whose limit for critical defects is anything but 0.

## Why it matters

A critical defect can hurt somebody. A sample that accepts one ships a known hazard, however small the limit.

## Example

Bad:

```toml
[assembly]
id = "W20-500"
quality = { critical = "0.10", major = "1.0" }
```

Good:

```toml
[assembly]
id = "W20-500"
quality = { critical = "0", major = "1.0" }
```

## How to fix

Write `critical = "0"`, and choose with `ferrule sample --bad --risk` how sure you must be to see one.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.lot_plan import accepts_none
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield plans that accept a critical defect."""
    for number, assembly in sorted(product.assemblies.items()):
        limit = assembly.quality.critical if assembly.quality is not None else None
        if limit is not None and not accepts_none(limit):
            yield Fault(
                message=f'the quality plan of "{number}" accepts critical defects: its limit is {limit}, not 0',
                place=place_of(product, "assembly", number, "quality", "critical"),
                hint='write critical = "0"',
                facts=(limit,),
            )


RULE = Rule(check=check, blocks_from="pvt", waivable=False)
