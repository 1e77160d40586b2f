"""The quantity of a line is not the number of its designators.

## What it finds

Lines with designators whose quantity for one assembly is another number. Ranges are counted out.

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
from decimal import Decimal

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.product import Product
from ferrule.model.records.assembly import Line
from ferrule.model.units import UNITS

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield lines whose quantity and designators count differently."""
    for assembly, index, line in each_line(product):
        pieces = _pieces(product, line)
        if line.designators is None or not pieces:
            continue  # a quantity of zero is another rule's to say
        count = len(line.designators)
        if pieces != count * (line.per or 1):
            words = "1 designator" if count == 1 else f"{count} designators"
            per = f" per {line.per}" if line.per not in (None, 1) else ""
            yield Fault(
                message=f'{words} for a quantity of {line.qty}{per} of "{line.part}"',
                place=line_place(product, assembly, index, "qty"),
                hint=f"write qty = {count * (line.per or 1)} if the designators are right",
                facts=(str(line.qty), str(count)),
            )


def _pieces(product: Product, line: Line) -> Decimal | None:
    """Return the stated quantity in pieces, or None where there is none or it is no number of pieces."""
    if line.qty is None:
        return None
    item = product.item(line.part)
    unit = UNITS.get(line.qty.unit or (item.unit if item is not None else "each"))
    return line.qty.number * unit.factor if unit is not None and unit.dimension == "count" else None


RULE = Rule(check=check, waivable=False)
