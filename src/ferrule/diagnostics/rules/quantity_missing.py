"""A line does not say how many.

## What it finds

Fitted lines without a quantity, or with a quantity, a rate or a cut length of zero. As-required items
with a `rate` need no quantity.

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
from ferrule.model.records.assembly import Line

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield fitted lines without a quantity or a rate, and those of zero."""
    for assembly, index, line in each_line(product):
        if not line.fitted:
            continue
        zero = _zero(line)
        if zero is not None:
            yield Fault(
                message=f'item {line.item} of {assembly} uses 0 of "{line.part}"',
                place=line_place(product, assembly, index, zero),
                hint="write fitted = false for a place that stays empty" if zero == "qty" else "",
                facts=(zero,),
            )
        if line.qty is not None or line.rate is not None:
            continue
        part = product.parts.get(line.part)
        if part is not None and part.class_ == "as-required":
            continue  # the rate is missing, which is another rule's to say
        places = len(line.designators) if line.designators is not None else 0
        yield Fault(
            message=f'item {line.item} of {assembly} does not say how many "{line.part}"',
            place=line_place(product, assembly, index, "qty", key=True),
            hint=f"add qty = {places}" if places else "add qty = 1, or fitted = false",
        )


def _zero(line: Line) -> str | None:
    """Return the key whose zero makes the line use nothing, or None; the rate goes before the others."""
    if line.rate is not None:
        return "rate" if line.rate.number == 0 else None
    if line.qty is not None and line.qty.number == 0:
        return "qty"
    return "cut" if line.cut is not None and line.cut.number == 0 else None


RULE = Rule(check=check, waivable=False)
