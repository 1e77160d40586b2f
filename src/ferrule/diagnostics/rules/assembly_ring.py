"""Assemblies contain themselves.

## What it finds

Rings of assemblies, fitted or effective or not. Each ring is named once for every line that closes one.

## Why it matters

A ring has no end: any quantity below it would be infinite, so nothing can be counted until it is cut.

## Example

Bad:

```toml
# assemblies/housing.toml
[assembly]
id = "HOUSING"
[[line]]
item = 10
part = "HOUSING"
qty = 1
```

Good:

```toml
[assembly]
id = "HOUSING"
[[line]]
item = 10
part = "HOUSING-FRONT"
qty = 1
```

## How to fix

Take out the line that leads back up, or give the lower assembly a number of its own.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.structure import rings
from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import line_place
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield one fault for each ring, at the line that closes it."""
    for ring in rings(product):
        names = " > ".join([*(edge.parent for edge in ring), ring[0].parent])
        last = ring[-1]
        yield Fault(
            message=f"assemblies contain themselves: {names}",
            place=line_place(product, last.parent, last.index, "part"),
            related=tuple(
                Related(
                    place=line_place(product, edge.parent, edge.index, "part"),
                    note=f"{edge.parent} uses {edge.child}",
                )
                for edge in ring[:-1]
            ),
            facts=(names,),
        )


RULE = Rule(check=check, waivable=False)
