"""A part has no name.

## What it finds

Parts and assemblies without `name`.

## Why it matters

A number alone tells a buyer, an inspector or a customs officer nothing, and nobody notices the wrong
one.

## Example

Bad:

```toml
[part.P-1042]
class = "mechanical"
```

Good:

```toml
[part.P-1042]
name = "Screw M3 x 8, pan head, stainless"
class = "mechanical"
```

## How to fix

Say what it is, the kind first: "Capacitor 100 nF 16 V X7R 0603".

## Who may accept it

Whoever answers for the list.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield records without a name."""
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if not item.name:
            place = place_of(product, kind, number, "name", key=True)
            yield Fault(
                message=f'{kind} "{number}" has no name',
                place=place,
                hint='add name = "what it is, kind first"',
            )


RULE = Rule(check=check, blocks_from="evt")
