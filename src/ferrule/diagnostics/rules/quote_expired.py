"""A price rests on a quote that has run out or has no date.

## What it finds

Quotes whose last day (`valid_until`) has passed: of the approved sources and offers of needed parts, of
factory prices, lanes, and tools that are not yet ordered. A quote without a day (`quoted`), or without a
last day and older than the policy `quote_max_age`, cannot be judged. A verbal price counts while it is held
by a named person (`held_by`). A contract price does not run out with a quote.

This rule compares with today; whether the quote still holds on the planned order date depends on the plan.

## Why it matters

A price that has run out is a memory. The seller may ask anything on the day of the order, and the cost, the
margin and the cash need all rest on it. Quotes valid for 30 to 90 days are common practice.

## Example

Bad:

```toml
[[part.R-10K.source]]
seller = "norholt"
status = "approved"
currency = "USD"
price = [{ from = 5000, each = 0.0011 }]
quoted = 2026-06-01
valid_until = 2026-08-31
```

Good:

```toml
[[part.R-10K.source]]
seller = "norholt"
status = "approved"
currency = "USD"
price = [{ from = 5000, each = 0.0011 }]
quote = "Q-26-1187"
quoted = 2026-11-02
valid_until = 2027-01-31
```

## How to fix

Ask for a new quote and write down its day and last day. For a price given by word of mouth, say
`basis = "verbal"` and who holds it; for an agreed price, `basis = "contract"`.

## Who may accept it

Whoever answers for the cost. Usual exception: a verbal hold with name and day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct

from ferrule.compute.ages import is_older
from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._amounts import amounts
from ferrule.diagnostics.rules._prices import price_lists
from ferrule.diagnostics.rules._use import approved, bought, use_of
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.product import Product
from ferrule.model.records.part import Source

__all__ = ["RULE"]


class _Quote(Struct, frozen=True):
    """A quote: whose it is, where it stands, its day and its last day."""

    kind: str
    number: str
    path: Path
    words: str
    quoted: dt.date | None
    valid_until: dt.date | None


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield quotes that have run out or cannot be judged."""
    yield from _sources(product, setting)
    for quote in _other_quotes(product):
        yield from _judge(product, setting, quote)


def _sources(product: Product, setting: Setting) -> Iterator[Fault]:
    for kind, number, item in bought(product):
        for index, source in approved(item):
            if source.basis == "contract" or not any(prices.breaks for prices in price_lists(source)):
                continue
            words = f'{source_name(index, source)} of {kind} "{number}"'
            quote = _Quote(kind, number, ("source", index), words, source.quoted, source.valid_until)
            if source.basis == "verbal":
                yield from _verbal(product, setting, source, quote)
            else:
                yield from _judge(product, setting, quote)
            for place, offer in enumerate(source.offer):
                path: Path = ("source", index, "offer", place)
                if offer.valid_until is not None:
                    own = _Quote(
                        kind, number, path, f"{words} under {offer.incoterm}", None, offer.valid_until
                    )
                    yield from _judge(product, setting, own)


def _verbal(product: Product, setting: Setting, source: Source, quote: _Quote) -> Iterator[Fault]:
    if quote.valid_until is not None and quote.valid_until < setting.today:
        yield from _judge(product, setting, quote)
    elif not source.held_by:
        yield Fault(
            message=f"the verbal price of {quote.words} is held by nobody named",
            place=place_of(product, quote.kind, quote.number, *quote.path, "basis"),
            hint='add held_by = "who, how and when"',
        )


def _other_quotes(product: Product) -> Iterator[_Quote]:
    for number, assembly in sorted(product.assemblies.items()):
        price = assembly.price
        if price is not None and price.tier and number in use_of(product).needed:
            words = f'the factory price of assembly "{number}"'
            yield _Quote("assembly", number, ("price",), words, price.quoted, price.valid_until)
    for number, lane in sorted(product.lanes.items()):
        if any(amounts(lane)):
            yield _Quote("lane", number, (), f'lane "{number}"', lane.quoted, lane.valid_until)
    for number, tool in sorted(product.tools.items()):
        if tool.amount is not None and tool.ordered is None and not tool.in_house:
            yield _Quote("tool", number, (), f'tool "{number}"', tool.quoted, tool.valid_until)


def _judge(product: Product, setting: Setting, quote: _Quote) -> Iterator[Fault]:
    if quote.valid_until is not None:
        if quote.valid_until < setting.today:
            yield Fault(
                message=f"the quote of {quote.words} ran out on {quote.valid_until}",
                place=place_of(product, quote.kind, quote.number, *quote.path, "valid_until"),
                facts=(str(quote.valid_until),),
            )
        elif quote.quoted is None and "offer" not in quote.path:
            yield _undecided(product, quote, "has no day on which it was quoted")
    elif quote.quoted is None:
        yield _undecided(product, quote, "has no day on which it was quoted")
    elif is_older(quote.quoted, product.policy.quote_max_age, setting.today):
        yield _undecided(product, quote, f"is of {quote.quoted} and has no last day")


def _undecided(product: Product, quote: _Quote, what: str) -> Fault:
    key = "quoted" if quote.quoted is None else "valid_until"
    place = place_of(product, quote.kind, quote.number, *quote.path, key, key=True)
    return Fault(message=f"the quote of {quote.words} {what}", place=place, facts=(what,), undecided=True)


RULE = Rule(check=check, blocks_from="pvt")
