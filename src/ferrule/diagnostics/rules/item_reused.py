"""An item reference stands for another part than it did.

## What it finds

With `check --since`: lines whose `item` belonged to another part in the revision named. A part that only goes by a
new number is the same part, and one that follows another on the same item by `effective` is none either.

## Why it matters

An item is what links a drawing to its list (ISO 6433). Whoever works from an older drawing, quote or work
instruction finds the wrong part under it.

## Example

Bad:

```toml
# was: item = 290, part = "U-OPAMP-A"
[[line]]
item = 290
part = "U-OPAMP-B"
qty = 1
```

Good:

```toml
[[line]]
item = 300
part = "U-OPAMP-B"
qty = 1
```

## How to fix

Give the new line the next free item and leave the old one unused. `ferrule diff` shows both.

## Who may accept it

Who owns the documents, before the first drawing has left the house.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.compare_reuse import item_reused
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import line_place
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield each line whose item stood for another part in the product before; none without one."""
    if setting.before is None:
        return
    for reused in item_reused(setting.before, product):
        highest = max(line.item for line in product.lines[reused.assembly])
        yield Fault(
            message=reused.message,
            place=line_place(product, reused.assembly, reused.index, "item"),
            hint=f"write item = {(highest // 10 + 1) * 10}",
            facts=reused.facts,
        )


RULE = Rule(check=check, blocks_from="evt")
