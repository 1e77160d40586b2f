"""An item reference stands on two lines.

## What it finds

Lines of one assembly with the same `item` whose effectivities do not exclude each other.

## Why it matters

Drawings, quotes and work instructions refer to the item (ISO 6433). Identical parts share one item and
one line; different parts never do, and an item is not used again for something else.

## Example

Bad:

```toml
[[line]]
item = 10
part = "BOLT"
qty = 4

[[line]]
item = 10
part = "NUT"
qty = 4
```

Good:

```toml
[[line]]
item = 10
part = "BOLT"
qty = 4

[[line]]
item = 20
part = "NUT"
qty = 4
```

## How to fix

Give the newer line the next free item. Where one part follows another on the same item, say from when
with `effective`.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import each_line, line_place, overlap
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield each line whose item a line before it has, for the same units."""
    seen: dict[tuple[str, int], int] = {}
    for assembly, index, line in each_line(product):
        first = seen.setdefault((assembly, line.item), index)
        other = product.lines[assembly][first]
        # two lines that both say when they hold are judged by effectivity-overlap
        if first == index or (other.effective is not None and line.effective is not None):
            continue
        if overlap(other.effective, line.effective):
            highest = max(each.item for each in product.lines[assembly])
            yield Fault(
                message=f'item {line.item} of {assembly} stands on two lines, "{other.part}" and "{line.part}"',
                place=line_place(product, assembly, index, "item"),
                related=(Related(place=line_place(product, assembly, first, "item"), note="first here"),),
                hint=f"write item = {(highest // 10 + 1) * 10}",
                facts=(line.part,),
            )


RULE = Rule(check=check, waivable=False)
