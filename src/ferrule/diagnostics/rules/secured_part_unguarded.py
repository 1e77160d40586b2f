"""A part that holds our secrets is not handled as one.

## What it finds

Items with a `secured` table that leave open, or deny, that they travel in sealed lots and lie in a
locked store; that leave open whether blank parts can be bought by others; or that leave open who issues
the identities.

## Why it matters

A secured processor is what keeps others from building the product unseen. The control is the handling,
and a blank part that anyone can buy controls nothing: counts of it then prove nothing about extra units.

## Example

Bad:

```toml
[part.U-MCU]
secured = { sealed_lots = true }
```

Good:

```toml
[part.U-MCU]
secured = { sealed_lots = true, locked_store = true, blank_buyable = false, identities_by = "us" }
```

## How to fix

Agree the handling with the factory and the maker and write it down as it is.

## Who may accept it

Whoever answers for the secrets, for a processor that anyone can buy and with the reason. Usual exception: a
variant without secrets, which then has no `secured` table.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield secured items whose handling is open or too weak."""
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        secured = item.secured
        if secured is None:
            continue
        states = {
            "sealed_lots": secured.sealed_lots,
            "locked_store": secured.locked_store,
            "blank_buyable": secured.blank_buyable,
            "identities_by": secured.identities_by,
        }
        missing = [key for key, value in states.items() if value is None]
        if missing:
            yield Fault(
                message=f'the secured {kind} "{number}" leaves open {listed(missing)}',
                place=place_of(product, kind, number, "secured", missing[0], key=True),
                facts=tuple(missing),
            )
        for key, words in (
            ("sealed_lots", "does not travel in sealed lots"),
            ("locked_store", "does not lie in a locked store"),
        ):
            if states[key] is False:
                place = place_of(product, kind, number, "secured", key)
                yield Fault(message=f'the secured {kind} "{number}" {words}', place=place, facts=(key,))
        if secured.blank_buyable:
            place = place_of(product, kind, number, "secured", "blank_buyable")
            message = f'anyone can buy "{number}" blank, so counting it proves nothing about extra units'
            yield Fault(message=message, place=place, facts=("blank_buyable",))


RULE = Rule(check=check, blocks_from="dvt")
