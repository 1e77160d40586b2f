"""The factory buys a part for us and has not said who makes it.

## What it finds

Sources whose seller is one of our factories and that name no maker. Classes in the policy `commodities` are left
aside.

## Why it matters

Whoever alone knows where a part comes from cannot be left, and can change it without telling you.

## Example

Bad:

```toml
[[part.CONN-8.source]]
seller = "harbour"
status = "approved"
```

Good:

```toml
[[part.CONN-8.source]]
maker = "tarnock"
maker_part = "TK-8P-125"
seller = "harbour"
status = "approved"
```

## How to fix

Ask for maker and maker's number, and have both in the contract. `ferrule leave FACTORY` lists all there is to ask.

## Who may accept it

Whoever answers for supply. Usual exception: commodities such as screws and tape.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.leaving import gaps_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE", "factories"]


def factories(product: Product) -> list[str]:
    """Return the firms that build something for us or have a factory's terms, sorted."""
    built = {assembly.factory for assembly in product.assemblies.values()}
    return sorted(
        number
        for number, firm in product.firms.items()
        if number in built or firm.factory is not None or "factory" in firm.roles
    )


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield items whose maker a factory keeps to itself."""
    for factory in factories(product):
        for gap in gaps_of(product, factory):
            if gap.kind == "maker unknown":
                kind, number = gap.record
                yield Fault(
                    message=f'{factory} buys "{number}" for us, and nobody says who makes it',
                    place=place_of(product, kind, number, "source", key=True),
                    facts=(factory,),
                )


RULE = Rule(check=check, blocks_from="dvt")
