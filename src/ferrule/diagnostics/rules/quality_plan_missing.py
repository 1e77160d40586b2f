"""Nothing fixed ahead says what makes us refuse a lot.

## What it finds

SKUs that a plan builds without a quality plan with limits and a day of signature, on the SKU or on an assembly
below it; and plans signed only after a lot of it was made.

## Why it matters

After the lot is made every limit is an argument. Before it, it is a rule that both sides signed.

## Example

Bad:

```toml
[assembly]
id = "W20-500"
```

Good:

```toml
[assembly]
id = "W20-500"
quality = { file = "docs/quality-plan.txt", signed = 2026-10-30, critical = "0", major = "1.0", minor = "4.0" }
```

## How to fix

Agree the classes of defects and their limits, let both sides sign, commit the plan. `ferrule sample` shows what it
lets pass.

## Who may accept it

Whoever answers for quality.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._built import built_items
from ferrule.diagnostics.rules._wording import none_of
from ferrule.model.product import Product
from ferrule.model.records.assembly import Quality

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield SKUs built without a plan, plans that leave something open, and plans signed too late."""
    for sku, below in built_items(product, setting.today).items():
        plans = {
            number: product.assemblies[number].quality
            for number in (sku, *below)
            if number in product.assemblies and product.assemblies[number].quality is not None
        }
        if not plans:
            yield Fault(
                message=f'the plan builds "{sku}", and nothing says what makes us refuse a lot',
                place=place_of(product, "assembly", sku, "id"),
            )
    for number, assembly in sorted(product.assemblies.items()):
        if assembly.quality is not None:
            yield from _faults(product, number, assembly.quality)


def _faults(product: Product, number: str, quality: Quality) -> Iterator[Fault]:
    limits = {"limit for critical defects": quality.critical, "limit for major defects": quality.major}
    missing = [words for words, value in limits.items() if value is None]
    if quality.signed is None:
        missing.append("day of signature")
    if missing:
        yield Fault(
            message=f'the quality plan of "{number}" states {none_of(missing)}',
            place=place_of(product, "assembly", number, "quality", key=True),
            facts=tuple(missing),
        )
    late = [
        made.date
        for made in product.made
        if made.sku == number and quality.signed and made.date < quality.signed
    ]
    if late:
        yield Fault(
            message=(
                f'the quality plan of "{number}" was signed on {quality.signed}, after a lot was made on {min(late)}'
            ),
            place=place_of(product, "assembly", number, "quality", "signed"),
            facts=(str(quality.signed), str(min(late))),
        )


RULE = Rule(check=check, blocks_from="pvt")
