"""Amounts stand without a currency.

## What it finds

A source, a lane or a quoted factory price with at least one amount that names no currency itself
(`each = 0.0062`), where the record around it states none either. A factory price takes the currency of its
assembly file.

## Why it matters

A number without a currency is read in somebody's own: 100 yen taken for 100 dollars is wrong by two orders
of magnitude, and the total shows no sign of it.

## Example

Bad:

```toml
[[part.R-10K.source]]
seller = "norholt"
price = [{ from = 5000, each = 0.0011 }]
```

Good:

```toml
[[part.R-10K.source]]
seller = "norholt"
currency = "USD"
price = [{ from = 5000, each = 0.0011 }]
```

## How to fix

Add `currency` to the record, as the quote states it, or write the currency with the amount: `"45 USD"`.

## Who may accept it

Whoever answers for the cost; there is no usual exception, for the quote always says it.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Place
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._amounts import amounts
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.about import Record
from ferrule.model.records.assembly import Assembly

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield sources, factory prices and lanes with an amount in no currency."""
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        for index, source in enumerate(item.source):
            bare = _bare(source)
            if bare is not None and not source.currency:
                place = place_of(product, kind, number, "source", index, "currency", key=True)
                yield _fault(f'{source_name(index, source)} of {kind} "{number}"', bare, place)
        if isinstance(item, Assembly) and item.price is not None:
            bare = _bare(item.price)
            if bare is not None and not item.price.currency and not item.currency:
                place = place_of(product, kind, number, "price", "currency", key=True)
                yield _fault(f'the factory price of assembly "{number}"', bare, place)
    for number, lane in sorted(product.lanes.items()):
        bare = _bare(lane)
        if bare is not None and not lane.currency:
            yield _fault(f'lane "{number}"', bare, place_of(product, "lane", number, "currency", key=True))


def _bare(record: Record) -> Money | None:
    """Return the first amount that names no currency itself."""
    return next((amount for _, amount in amounts(record) if not amount.currency), None)


def _fault(words: str, bare: Money, place: Place) -> Fault:
    return Fault(
        message=f"{words} has the amount {bare} in no currency",
        place=place,
        hint='add currency = "..." as the quote states it',
    )


RULE = Rule(check=check, blocks_from="evt")
