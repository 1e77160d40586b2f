"""A line does not say how many.

## What it finds

Fitted lines without a quantity, or with a quantity of zero. As-required items with a `rate` need none.

## Why it matters

An absent quantity is unknown, not one: every total above it would only be a lower bound.

## Example

Bad:

```toml
[[line]]
item = 10
part = "BOLT"
```

Good:

```toml
[[line]]
item = 10
part = "BOLT"
qty = 4
```

## How to fix

Add `qty`; for glue, solder and the like add `rate`. A place that stays empty says `fitted = false`.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield fitted lines without a quantity or a rate, and those of zero."""
    for assembly, index, line in each_line(product):
        if not line.fitted or line.rate is not None:
            continue
        part = product.parts.get(line.part)
        if line.qty is None and part is not None and part.class_ == "as-required":
            continue  # the rate is missing, which is another rule's to say
        if line.qty is None:
            places = len(line.designators) if line.designators is not None else 0
            hint = f"add qty = {places}" if places else "add qty = 1, or fitted = false"
            place = line_place(product, assembly, index, "qty", key=True)
            yield Fault(
                message=f'item {line.item} of {assembly} does not say how many "{line.part}"',
                place=place,
                hint=hint,
            )
        elif line.qty.number == 0:
            place = line_place(product, assembly, index, "qty")
            hint = "write fitted = false for a place that stays empty"
            yield Fault(
                message=f'item {line.item} of {assembly} uses 0 of "{line.part}"', place=place, hint=hint
            )


RULE = Rule(check=check, waivable=False)
