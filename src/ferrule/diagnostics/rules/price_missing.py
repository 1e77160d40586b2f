"""An approved source has no price.

## What it finds

Approved sources of needed parts that state no price at all: neither price breaks of their own nor any in a
pack form or an offer. A price break that has neither `each` nor `pack`, and a price per pack where the size
of the pack is not stated, are named too. Not asked for a price is free issue with a `customs_value`.

## Why it matters

A blank price read as zero is the commonest silent error of a cost sheet: the sum looks finished and is too
low. Here the cost stays partial until the price is known.

## Example

Bad:

```toml
[[part.R-10K.source]]
seller = "norholt"
status = "approved"
currency = "USD"
price = [{ from = 5000 }]
```

Good:

```toml
[[part.R-10K.source]]
seller = "norholt"
status = "approved"
currency = "USD"
price = [{ from = 5000, each = 0.0011 }]
```

## How to fix

Ask for the price and write it down with the quote's number and day. A price per pack needs
`pack = [{ form = "reel", size = 5000 }]`. A price that really is zero is written as `each = 0`.

## Who may accept it

Whoever answers for the cost, with a last day. Usual exception: free issue with its value for customs given.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._prices import PriceList, price_lists
from ferrule.diagnostics.rules._use import approved, bought
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.number import plain
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield approved sources without price, and breaks whose price is not known."""
    for kind, number, item in bought(product):
        for index, source in approved(item):
            words = f'{source_name(index, source)} of {kind} "{number}"'
            lists = [prices for prices in price_lists(source) if prices.breaks]
            if not lists:
                place = place_of(product, kind, number, "source", index, "price", key=True)
                yield Fault(message=f"{words} has no price", place=place)
            for prices in lists:
                yield from _holes(product, (kind, number, index), words, prices)


def _holes(product: Product, owner: tuple[str, str, int], words: str, prices: PriceList) -> Iterator[Fault]:
    kind, number, source = owner
    for index, step in enumerate(prices.breaks):
        path: Path = ("source", source, *prices.path, index)
        where = f"the price of {words} from {plain(step.from_)}{prices.words}"
        if step.each is None and step.pack is None:
            yield Fault(
                message=f"{where} has no amount",
                place=place_of(product, kind, number, *path),
                hint="add each = or pack = to this price",
            )
        elif step.each is None and prices.size is None:
            yield Fault(
                message=f"{where} is for a pack of unknown size",
                place=place_of(product, kind, number, *path, "pack"),
                hint="state the size of the source's first pack",
            )


RULE = Rule(check=check, blocks_from="evt")
