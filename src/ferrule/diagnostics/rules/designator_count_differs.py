"""The quantity of a line is not the number of its designators.

## What it finds

Lines with designators whose quantity is another number. Ranges are counted out.

## Why it matters

The classic miscount. The placement program follows the designators, the order follows the quantity, and
the difference stops the line or lies in a drawer.

## Example

Bad:

```toml
[[line]]
item = 10
part = "C-100N"
qty = 14
designators = "C1-C9, C12-C15"   # these are 13
```

Good:

```toml
[[line]]
item = 10
part = "C-100N"
qty = 14
designators = "C1-C9, C12-C16"
```

## How to fix

Correct the one that is wrong, by the drawing.

## Who may accept it

Nobody. Mechanical lines simply have no designators.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield lines whose quantity and designators count differently."""
    for assembly, index, line in each_line(product):
        if line.designators is None or line.qty is None or line.qty.unit not in ("", "each"):
            continue
        count = len(line.designators)
        if line.qty.number != count:
            words = "1 designator" if count == 1 else f"{count} designators"
            yield Fault(
                message=f'{words} for a quantity of {line.qty} of "{line.part}"',
                place=line_place(product, assembly, index, "qty"),
                hint=f"write qty = {count} if the designators are right",
                facts=(str(line.qty), str(count)),
            )


RULE = Rule(check=check, waivable=False)
