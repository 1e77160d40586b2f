"""A currency is no currency.

## What it finds

Currency codes of the product, of sources, assemblies, firms, channels and lanes that ISO 4217 does not
list as money one can pay with. Amounts with a currency of their own are read strictly and never get this
far.

## Why it matters

A wrong code has no rate, so nothing that rests on it can be added up.

## Example

Bad:

```toml
[product]
id = "W20"
name = "Recorder"
currency = "EURO"
stage = "evt"
```

Good:

```toml
[product]
id = "W20"
name = "Recorder"
currency = "EUR"
stage = "evt"
```

## How to fix

Write the three-letter code.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.product import Product
from ferrule.model.text import nearest

__all__ = ["RULE"]


def _codes(product: Product) -> Iterator[tuple[str, str, Path, str | None]]:
    yield "product", product.head.id, ("currency",), product.head.currency
    for kind, number, item in product.items():
        yield from (
            (kind, number, ("source", i, "currency"), source.currency) for i, source in enumerate(item.source)
        )
    for number, assembly in product.assemblies.items():
        yield "assembly", number, ("currency",), assembly.currency
        if assembly.price is not None:
            yield "assembly", number, ("price", "currency"), assembly.price.currency
    yield from (("firm", number, ("currency",), firm.currency) for number, firm in product.firms.items())
    yield from (
        ("channel", number, ("currency",), channel.currency) for number, channel in product.channels.items()
    )
    yield from (("lane", number, ("currency",), lane.currency) for number, lane in product.lanes.items())


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield codes that are no currency."""
    for kind, number, path, code in _codes(product):
        if code is None or code in MINOR_UNITS or (kind, number) not in product.homes:
            continue
        best = nearest(code.upper(), MINOR_UNITS)
        hint = f'did you mean "{best}"?' if best else 'write it as "EUR", "USD", "JPY" ...'
        message = f'"{code}" is no currency of ISO 4217'
        yield Fault(message=message, place=place_of(product, kind, number, *path), hint=hint, facts=(code,))


RULE = Rule(check=check, waivable=False)
