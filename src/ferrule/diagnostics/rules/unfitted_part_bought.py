"""A part that is fitted nowhere is still bought.

## What it finds

Parts all of whose lines are not fitted, and that are on an open order or come in the kit. Alternates of a
fitted line and parts kept for service are left aside.

## Why it matters

When a place on the board is left empty the order often runs on, and the reel arrives for nothing.

## Example

Bad:

```toml
[[line]]
item = 40
part = "LED-RED"
qty = 1
fitted = false
kitted = true
```

Good:

```toml
[[line]]
item = 40
part = "LED-RED"
qty = 1
fitted = false
```

## How to fix

Cancel the order, or take the part out of the kit.

## Who may accept it

Whoever buys. Usual exception: a kit shared with another product, said in the line's `note`.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield kitted lines and open orders of parts that are fitted nowhere."""
    empty: dict[str, tuple[str, int]] = {}
    fitted: set[str] = set()
    for assembly, index, line in each_line(product):
        if line.fitted:
            fitted |= {line.part, *(alternate.part for alternate in line.alternates)}
        else:
            empty.setdefault(line.part, (assembly, index))
    fitted |= {number for _, number, item in product.items() if item.service}
    unfitted = empty.keys() - fitted
    for assembly, index, line in each_line(product):
        if line.part in unfitted and line.kitted and not line.note:
            place = line_place(product, assembly, index, "kitted")
            yield Fault(
                message=f'"{line.part}" is fitted nowhere, but item {line.item} of {assembly} has it in the kit',
                place=place,
            )
    for index, order in enumerate(product.orders):
        if order.part in unfitted:
            related = Related(place=line_place(product, *empty[order.part], "fitted"), note="not fitted here")
            message = f'"{order.part}" is fitted nowhere, but {order.qty} are on order {order.id}'
            yield Fault(message=message, place=place_of(product, "order", index, "part"), related=(related,))


RULE = Rule(check=check, warns_from="evt", blocks_from=None)
