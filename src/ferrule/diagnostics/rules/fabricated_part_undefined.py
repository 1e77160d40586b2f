"""A fabricated part leaves open what it is made of or how it is judged.

## What it finds

Parts of class fabricated without `material`, without `finish`, or without a critical characteristic that
has a limit. A surface left as it comes is a finish too: say so.

## Why it matters

Whatever the drawing leaves open, every quote fills differently, and the cheapest fills it worst.

## Example

Bad:

```toml
[part.HOUSING]
class = "fabricated"
material = "PC/ABS"
```

Good:

```toml
[part.HOUSING]
class = "fabricated"
material = "PC/ABS, UL 94 V-0"
finish = "as moulded, moss green"
characteristic = [{ name = "groove depth", nominal = "1.60 mm", low = "1.55 mm", high = "1.65 mm" }]
```

## How to fix

Add what is missing from the drawing.

## Who may accept it

Whoever answers for the drawing. Usual exception: an early concept.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._wording import none_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield fabricated parts with what they leave open."""
    for number, part in sorted(product.parts.items()):
        if part.class_ != "fabricated":
            continue
        limited = any(c.critical and (c.low is not None or c.high is not None) for c in part.characteristic)
        states = {
            "material": bool(part.material),
            "finish": bool(part.finish),
            "critical dimension with limits": limited,
        }
        missing = [name for name, stated in states.items() if not stated]
        if missing:
            key = missing[0] if missing[0] in ("material", "finish") else "characteristic"
            yield Fault(
                message=f'the fabricated part "{number}" states {none_of(missing)}',
                place=place_of(product, "part", number, key, key=True),
                facts=tuple(missing),
            )


RULE = Rule(check=check, blocks_from="dvt")
