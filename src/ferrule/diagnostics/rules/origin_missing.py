"""A source does not say where the part is made.

## What it finds

Approved sources of bought parts without a country of `origin`. Two sources of one part often differ,
which is why the fact belongs to the source.

## Why it matters

Duty, extra measures and marking go by the country of origin. It is the country of the last substantial
transformation, and not always that of the maker or the seller; have doubtful cases confirmed by a
customs adviser.

## Example

Bad:

```toml
[[part.BOLT.source]]
maker = "boltrow"
seller = "norholt"
status = "approved"
```

Good:

```toml
[[part.BOLT.source]]
maker = "boltrow"
seller = "norholt"
status = "approved"
origin = "CZ"
```

## How to fix

Ask the seller for a declaration and write down the country with its evidence.

## Who may accept it

Whoever answers for customs. Usual exception: a part wholly transformed before it ships, on an adviser's
note.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import approved, bought
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield approved sources without an origin."""
    for kind, number, item in bought(product):
        for index, source in approved(item):
            if source.origin is None:
                yield Fault(
                    message=f'{source_name(index, source)} of {kind} "{number}" states no country of origin',
                    place=place_of(product, kind, number, "source", index, "origin", key=True),
                    hint='add origin = "JP", by the maker\'s declaration',
                )


RULE = Rule(check=check, blocks_from="pvt")
