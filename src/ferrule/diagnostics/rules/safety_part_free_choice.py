"""The factory may choose a safety-critical part.

## What it finds

Lines of safety-critical items with `choice = "factory"`, and alternates on such lines that are not
approved or are not marked safety-critical themselves.

## Why it matters

A free choice ends at the cheapest. What the certificate lists is not for choosing.

Ferrule only shows whether evidence is recorded. It never judges that a part is safe: the applicable
standard, the test laboratory, local codes and licensed practice do.

## Example

Bad:

```toml
[[line]]
item = 10
part = "CELL"
qty = 1
choice = "factory"
alternates = [{ part = "CELL-B" }]
```

Good:

```toml
[[line]]
item = 10
part = "CELL"
qty = 1
alternates = [{ part = "CELL-B", approved = 2026-09-30 }]
```

## How to fix

Keep the choice, and list only alternates that the certificate lists.

## Who may accept it

Nobody. Usual exception: certified equivalents, listed one by one.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield free choices and unapproved alternates of safety-critical items."""
    for assembly, index, line in each_line(product):
        item = product.item(line.part)
        if item is None or not item.safety_critical:
            continue
        if line.choice == "factory" and line.alternates:
            yield Fault(
                message=f'the factory may choose an alternate of the safety-critical "{line.part}"',
                place=line_place(product, assembly, index, "choice"),
                hint='write choice = "ours"',
            )
        for position, alternate in enumerate(line.alternates):
            place = line_place(product, assembly, index, "alternates", position)
            other = product.item(alternate.part)
            if alternate.approved is None:
                message = (
                    f'"{alternate.part}" may stand in for the safety-critical "{line.part}" without approval'
                )
                yield Fault(message=message, place=place, facts=(alternate.part,))
            elif other is not None and not other.safety_critical:
                message = f'"{alternate.part}" stands in for the safety-critical "{line.part}" but is not marked so itself'
                yield Fault(
                    message=message,
                    place=place,
                    facts=(alternate.part,),
                    hint="set safety_critical = true on it",
                )


RULE = Rule(check=check, blocks_from="dvt", waivable=False)
