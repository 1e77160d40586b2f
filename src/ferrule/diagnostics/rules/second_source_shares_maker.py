"""Two sources of a part are one in truth.

## What it finds

Bought items with two or more approved sources that all come from one maker, or, with different makers,
all from one `plant`.

## Why it matters

It looks like safety and is none: the fire that stops the one stops the other.

## Example

Bad:

```toml
[[part.BOLT.source]]
maker = "boltrow"
seller = "norholt"
status = "approved"

[[part.BOLT.source]]
maker = "boltrow"
seller = "mirefen"
status = "approved"
```

Good:

```toml
[[part.BOLT.source]]
maker = "boltrow"
seller = "norholt"
status = "approved"

[[part.BOLT.source]]
maker = "hexby"
seller = "mirefen"
status = "approved"
```

## How to fix

Look for a maker with a plant of its own, or accept that the part has one source.

## Who may accept it

Whoever answers for supply.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.makers import shared_by
from ferrule.compute.use import approved, bought
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield items whose sources share a maker or a plant."""
    for kind, number, item in bought(product):
        sources = list(approved(item))
        shared = shared_by(source for _, source in sources)
        if shared is not None:
            what, name = shared
            words = "are one maker" if what == "maker" else "come from one plant"
            yield Fault(
                message=f'all {len(sources)} sources of {kind} "{number}" {words}: {name}',
                place=place_of(product, kind, number, "source", sources[1][0], key=True),
                facts=(what,),
            )


RULE = Rule(check=check, warns_from="pvt", blocks_from=None)
