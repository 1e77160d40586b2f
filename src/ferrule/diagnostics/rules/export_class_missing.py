"""Something sent abroad has no export classification.

## What it finds

Parts that we send to a factory in another country (consigned or free issue), firmware, and parts defined
by our drawings and board files (fabricated, board), when a factory that builds an assembly of the
product lies in another country than we do, without `export.classification`.

## Why it matters

Drawings, firmware and keys sent to a factory are exports like parcels. Sending a listed one without a
licence is an offence in many countries.

Ferrule stores the classification and its day and never infers one. Determining it, and screening the
parties, is licensed and professional work.

## Example

Bad:

```toml
[part.FW-W20]
class = "firmware"
```

Good:

```toml
[part.FW-W20]
class = "firmware"
export = { classification = "not listed", regime = "EU dual-use list", checked = 2026-08-20, checked_by = "export adviser" }
```

## How to fix

Have it determined and write down class, list, day and person.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import supplies, use_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def _abroad(product: Product) -> bool:
    """Return whether a factory that builds something lies elsewhere than we do; True where that is not known."""
    ours = {firm.country for firm in product.firms.values() if "us" in firm.roles}
    named = {assembly.factory for assembly in product.assemblies.values()}
    named |= {build.factory for plan in product.plans.values() for build in plan.build}
    theirs = {product.firms[name].country for name in named if name is not None and name in product.firms}
    return bool(theirs) and (not ours or None in theirs | ours or theirs != ours)


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield what leaves the country without a classification."""
    if not _abroad(product):
        return
    used = use_of(product).spots
    images = {part.programmed.image for part in product.parts.values() if part.programmed is not None}
    for number, part in sorted(product.parts.items()):
        if part.export is not None or (number not in used and number not in images):
            continue
        sent = supplies(product, number) & {"consigned", "free-issue"}
        if part.class_ == "firmware" or (part.class_ in ("fabricated", "board") and part.document) or sent:
            what = f"{part.class_} part" if not sent else "part we send"
            if part.class_ == "firmware":
                what = "firmware"
            yield Fault(
                message=f'the {what} "{number}" goes to a factory abroad without an export classification',
                place=place_of(product, "part", number, "export", key=True),
                hint="have it determined, then add export = { classification, regime, checked, checked_by }",
            )


RULE = Rule(check=check, blocks_from="dvt", waivable=False)
