"""The only copy of a fixture, program or test limit is at the factory.

## What it finds

Tools held by a factory of which neither a document nor a second copy of ours is named, and tests done there whose
program is neither in our files nor kept with a tool of which we hold a copy.

## Why it matters

A process that only they can run is a hostage, and a fire away from being nobody's.

## Example

Bad:

```toml
[tool.T-7]
name = "Fixture, seal test"
kind = "fixture"
custodian = "harbour"
```

Good:

```toml
[tool.T-7]
name = "Fixture, seal test"
kind = "fixture"
custodian = "harbour"
copy_held = "our repository, test/seal"
```

## How to fix

Get drawings, programs and limits, keep them with the product, and name them.

## Who may accept it

Whoever answers for supply. Usual exception: a copy held in escrow.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.leaving import gaps_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules.maker_unknown import factories
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield tools and tests that only a factory could rebuild."""
    for factory in factories(product):
        for gap in gaps_of(product, factory):
            if gap.kind in {"only copy is theirs", "program not held"}:
                kind, number = gap.record
                yield Fault(
                    message=f"the only copy is at {factory}: {gap.words}",
                    place=place_of(product, kind, number, *(() if kind == "tool" else ("steps",))),
                    facts=(factory, gap.words),
                )


RULE = Rule(check=check, blocks_from="pvt")
