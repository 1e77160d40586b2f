"""Two lines of one item hold for the same unit.

## What it finds

Lines with the same item whose effectivities (days, serials, builds) meet. All ends are inclusive.

## Why it matters

For the units in the overlap nobody can say which part goes in, and both are counted.

## Example

Bad:

```toml
[[line]]
item = 10
part = "OLD"
qty = 1
effective = { to_serial = 1500 }

[[line]]
item = 10
part = "NEW"
qty = 1
effective = { from_serial = 1500 }
```

Good:

```toml
[[line]]
item = 10
part = "OLD"
qty = 1
effective = { to_serial = 1500 }

[[line]]
item = 10
part = "NEW"
qty = 1
effective = { from_serial = 1501 }
```

## How to fix

Let the one end before the other begins.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import line_place, overlap
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield pairs of lines of one item, both limited, that meet."""
    for assembly in sorted(product.lines):
        lines = product.lines[assembly]
        limited = [index for index, line in enumerate(lines) if line.effective is not None]
        for position, second in enumerate(limited):
            for first in limited[:position]:
                one, other = lines[first], lines[second]
                if one.item == other.item and overlap(one.effective, other.effective):
                    yield Fault(
                        message=f'item {one.item} of {assembly} holds "{one.part}" and "{other.part}" for the same units',
                        place=line_place(product, assembly, second, "effective"),
                        related=(
                            Related(
                                place=line_place(product, assembly, first, "effective"), note="and this one"
                            ),
                        ),
                        facts=(one.part, other.part),
                    )


RULE = Rule(check=check, warns_from="prototype", blocks_from="pvt", waivable=False)
