"""A document is not the one that was approved.

## What it finds

Documents whose content differs from the stated `sha256`, and documents said to be approved without a
`sha256` to hold them to.

## Why it matters

A drawing exchanged after its approval builds something that nobody approved, and nothing on it shows
that.

## Example

Bad:

```toml
[[part.HOUSING.document]]
kind = "drawing"
file = "docs/housing.txt"
sha256 = "0000000000000000000000000000000000000000000000000000000000000000"
```

Good:

```toml
[[part.HOUSING.document]]
kind = "drawing"
file = "docs/housing.txt"
sha256 = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
approved_by = "M. Tarn"
approved = 2026-09-14
```

## How to fix

Look at what changed (`git log -p` on the file). If the new content is right, have it approved and write
down its sum; `sha256sum FILE` prints it.

## Who may accept it

Nobody: approve the new content instead.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules.document_missing import documents
from ferrule.model.product import Product

__all__ = ["RULE"]

_SHOWN = 12


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield documents that differ from their approval, or that nothing holds to it."""
    for kind, number, path, document in documents(product):
        found = product.digests.get(document.file)
        if found is None:
            continue
        if document.sha256 is None:
            if document.approved is not None or document.approved_by is not None:
                yield Fault(
                    message=f'the approval of "{document.file}" for {number} states no sha256 to hold it to',
                    place=place_of(product, kind, number, *path, "sha256", key=True),
                    hint=f'add sha256 = "{found}" if this is the approved content',
                    undecided=True,
                )
        elif document.sha256.lower() != found:
            yield Fault(
                message=f'"{document.file}" of {number} is {found[:_SHOWN]}…, approved was {document.sha256[:_SHOWN]}…',
                place=place_of(product, kind, number, *path, "sha256"),
                hint=f'write sha256 = "{found}" once the new content is approved',
                facts=(found, document.sha256),
            )


RULE = Rule(check=check, blocks_from="dvt", waivable=False)
