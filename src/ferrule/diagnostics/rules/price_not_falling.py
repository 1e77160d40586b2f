"""Price breaks do not fall as the quantity rises.

## What it finds

In every list of price breaks (of a source, of its pack forms and of its offers): quantities that do not
rise strictly, prices that do not fall strictly, and neighbours in different currencies. Prices per pack are
compared for one unit. In the tiers of a factory price or of a step a price may stay the same, but not rise.
A price break with a `note` may be as high as it likes: the note says that the goods are scarce.

## Why it matters

A price that rises with the quantity is nearly always a typing error, a shifted column or the wrong
currency, and the order quantity is computed from it. Two breaks at the same quantity leave open which one
holds.

## Example

Bad:

```toml
price = [{ from = 1000, each = 0.0062 }, { from = 5000, each = 0.062 }]
```

Good:

```toml
price = [{ from = 1000, each = 0.0080 }, { from = 5000, each = 0.0062 }]
```

## How to fix

Compare with the quote. Leave out a break that changes nothing. Where more really costs more, say why:
`note = "allocation surcharge"`.

## Who may accept it

Whoever approves suppliers. Usual exception: prices in scarcity, with a note at the break.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._prices import price_lists, unit_price
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.money import Money
from ferrule.model.number import Count, plain
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity
from ferrule.model.records.assembly import Assembly
from ferrule.model.records.common import Tier
from ferrule.model.records.part import PriceBreak
from ferrule.model.text import quoted

__all__ = ["RULE"]


class _Entry(Struct, frozen=True):
    """One price from a quantity on, in its currency, with the key that holds it."""

    from_: Count
    each: Fraction | None
    currency: str
    shown: str
    key: str
    noted: bool = False


class _Ladder(Struct, frozen=True):
    """Entries in file order, where they stand and what they are called."""

    kind: str
    number: str
    path: Path
    words: str
    entries: Sequence[_Entry]
    may_stay: bool = False


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield every step of a price list that goes the wrong way."""
    for ladder in _ladders(product):
        for index, (low, high) in enumerate(zip(ladder.entries, ladder.entries[1:], strict=False), 1):
            fault = _step(product, ladder, index, (low, high))
            if fault is not None:
                yield fault


def _ladders(product: Product) -> Iterator[_Ladder]:
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        for index, source in enumerate(item.source):
            for prices in price_lists(source):
                entries = [
                    _of_break(step, prices.size, item.unit, source.currency or "") for step in prices.breaks
                ]
                words = f'{source_name(index, source)} of {kind} "{number}"{prices.words}'
                yield _Ladder(kind, number, ("source", index, *prices.path), words, entries)
        if isinstance(item, Assembly):
            yield from _of_assembly(product, number, item)


def _of_break(step: PriceBreak, size: Quantity | None, unit: str, currency: str) -> _Entry:
    known = unit_price(step, size, unit)
    each, amount = known or (None, Money(Decimal(0)))
    amount = amount.within(currency)
    pack = step.each is None
    shown = f"{amount} a pack of {size}" if pack else str(amount)
    return _Entry(step.from_, each, amount.currency, shown, "pack" if pack else "each", step.note is not None)


def _of_assembly(product: Product, number: str, item: Assembly) -> Iterator[_Ladder]:
    home = item.currency or product.head.currency
    if item.price is not None:
        entries = _of_tiers(item.price.tier, item.price.currency or home)
        words = f'the factory price of assembly "{number}"'
        yield _Ladder("assembly", number, ("price", "tier"), words, entries, may_stay=True)
    for index, step in enumerate(item.steps):
        words = f'step {quoted(step.name)} of assembly "{number}"'
        yield _Ladder(
            "assembly", number, ("steps", index, "tier"), words, _of_tiers(step.tier, home), may_stay=True
        )


def _of_tiers(tiers: Sequence[Tier], currency: str) -> list[_Entry]:
    amounts = [(tier.from_, tier.each.within(currency)) for tier in tiers]
    return [_Entry(from_, Fraction(each.number), each.currency, str(each), "each") for from_, each in amounts]


def _step(product: Product, ladder: _Ladder, index: int, pair: tuple[_Entry, _Entry]) -> Fault | None:
    low, high = pair
    start = f"price from {plain(high.from_)}"
    key, message = high.key, ""
    if high.from_ <= low.from_:
        key, message = "from", f"{start} follows price from {plain(low.from_)}, quantities must rise"
    elif low.each is None or high.each is None or high.noted:
        return None
    elif low.currency != high.currency:
        message = f"{start} is {high.shown}, the one before is {low.shown}"
    elif high.each > low.each or (high.each == low.each and not ladder.may_stay):
        message = f"{start} is {high.shown}, not below {low.shown} from {plain(low.from_)}"
    if not message:
        return None
    return Fault(
        message=f"{ladder.words}: {message}",
        place=place_of(product, ladder.kind, ladder.number, *ladder.path, index, key),
        facts=(low.shown, high.shown),
    )


RULE = Rule(check=check, blocks_from="evt")
