"""A part that has to be bought has no approved source.

## What it finds

Every part the structure needs that has no source with `status = "approved"`. A bought assembly (one with
sources and without lines) counts as a part here. Trial, emergency and denied sources are named, but do not
count. Not asked for a source are: firmware and documents, parts made by ourselves (`in_house = true`), free
issue with a `customs_value`, parts that a quoted factory price already holds, and parts that no assembly
uses.

## Why it matters

Without an approved source nobody can order the part, and the order is what starts its lead time. A sample
bought once from a trial source proves that the part exists, not that it can be had in quantity.

## Example

Bad:

```toml
[part.GASKET]
class = "fabricated"

[[part.GASKET.source]]
seller = "tarnrubber"
status = "trial"
```

Good:

```toml
[part.GASKET]
class = "fabricated"

[[part.GASKET.source]]
maker = "tarnrubber"
seller = "tarnrubber"
status = "approved"
```

## How to fix

Add a source with seller and terms and approve it, or approve the trial source once its samples passed. For
a part you make yourselves, say `in_house = true`.

## Who may accept it

Whoever approves suppliers, with a last day before the part must be ordered. Usual exception: fabricated in
house.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import approved, bought
from ferrule.diagnostics.rules._wording import listed, toml_key
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield what has to be bought and has no approved source."""
    for kind, number, item in bought(product):
        if any(approved(item)):
            continue
        place = place_of(product, kind, number, "source", key=True)
        if not item.source:
            hint = f'add [[part.{toml_key(number)}.source]] with seller, price and status = "approved"'
            yield Fault(message=f'{kind} "{number}" has no source', place=place, hint=hint)
            continue
        states = sorted({source.status for source in item.source})
        yield Fault(
            message=f'{kind} "{number}" has no approved source, only {listed(states)}',
            place=place,
            hint='set status = "approved" on a source once it may be bought',
            facts=tuple(states),
        )


RULE = Rule(check=check, blocks_from="evt")
