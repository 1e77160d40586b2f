"""A part goes into a build before its first article passed.

## What it finds

Parts and assemblies of a planned build with a characteristic whose first article is open, failed or not begun, or
is said to have passed although what was measured lies outside the limits.

## Why it matters

A tool nobody verified makes a thousand wrong parts as fast as right ones.

## Example

Bad:

```toml
[part.HOUSING]
characteristic = [{ name = "groove depth", low = "1.55 mm", high = "1.65 mm", first_article = "open" }]
```

Good:

```toml
[part.HOUSING]
characteristic = [{ name = "groove depth", low = "1.55 mm", high = "1.65 mm", measured = ["1.61 mm"], first_article = "passed" }]
```

## How to fix

Measure the first pieces and write down the values. `ferrule sample ASSEMBLY --first-article` lists what is open.

## Who may accept it

Whoever answers for quality, with a waiver for a stated quantity.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.first_article import first_articles
from ferrule.compute.structure import Context, structure_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._built import built_items
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield characteristics that are open, and those whose values contradict what was decided."""
    structure = structure_of(product, Context(day=setting.today))
    seen: set[tuple[str, int]] = set()
    for sku in built_items(product, setting.today):
        for one in first_articles(product, structure, sku):
            state = one.characteristic.first_article
            if (one.part, one.index) in seen or (state == "passed" and not one.contradicts):
                continue
            seen.add((one.part, one.index))
            kind = "part" if one.part in product.parts else "assembly"
            words = (
                "passed its first article with values outside the limits"
                if state == "passed"
                else f"has its first article {state or 'not begun'}"
            )
            yield Fault(
                message=f'{one.characteristic.name} of "{one.part}" {words}, and the plan builds it',
                place=place_of(product, kind, one.part, "characteristic", one.index),
                facts=(one.characteristic.name, state or ""),
            )


RULE = Rule(check=check, blocks_from="pvt")
