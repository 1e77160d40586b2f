"""A part does not say what kind it is.

## What it finds

Parts without `class`. Many rules ask different things of a board, a cable, a battery and a box.

## Why it matters

Without a class a part escapes the rules that are meant for its kind.

## Example

Bad:

```toml
[part.GASKET]
name = "Gasket, housing"
```

Good:

```toml
[part.GASKET]
name = "Gasket, housing"
class = "fabricated"
```

## How to fix

Add `class`; the schema lists the kinds.

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
    """Yield parts without a class."""
    for number, part in sorted(product.parts.items()):
        if part.class_ is None:
            place = place_of(product, "part", number, "class", key=True)
            hint = 'add class = "mechanical", or another of the kinds'
            yield Fault(message=f'part "{number}" has no class', place=place, hint=hint)


RULE = Rule(check=check, blocks_from="evt")
