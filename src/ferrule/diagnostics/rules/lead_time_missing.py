"""A source does not say how long it takes, or in whose days.

## What it finds

Approved sources of bought parts without `lead_time` and without legs; lead times in working days without
a calendar that counts them (`lead_calendar`, or that of the seller); and lead times without the day on
which they were stated.

## Why it matters

A lead time that is not known is not zero: the order-by date of the part, and the schedule above it, is
fiction. Lead times change within weeks, so the day belongs to the figure.

## Example

Bad:

```toml
[[part.BOLT.source]]
seller = "norholt"
status = "approved"
```

Good:

```toml
[[part.BOLT.source]]
seller = "norholt"
status = "approved"
lead_time = "6 weeks"
lead_stated = 2026-10-01
```

## How to fix

Ask the seller and write down the figure and its day.

## Who may accept it

Whoever buys. Usual exception: stock on hand covers the plan.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import approved, bought
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield approved sources whose time cannot be used."""
    for kind, number, item in bought(product):
        for index, source in approved(item):
            words = f'{source_name(index, source)} of {kind} "{number}"'
            if source.lead_time is None and not source.leg:
                yield Fault(
                    message=f"{words} states no lead time",
                    place=place_of(product, kind, number, "source", index, "lead_time", key=True),
                    hint='add lead_time = "6 weeks" and lead_stated, as the seller says',
                    facts=("lead_time",),
                )
                continue
            seller = product.firms.get(source.seller or "")
            known = source.lead_calendar or (seller.calendar if seller is not None else None)
            if source.lead_time is not None and source.lead_time.unit == "working days" and known is None:
                yield Fault(
                    message=f"{words} counts in working days, but no calendar says which",
                    place=place_of(product, kind, number, "source", index, "lead_time"),
                    hint="add lead_calendar, or a calendar to the seller",
                    facts=("calendar",),
                )
            if source.lead_stated is None and source.quoted is None:
                yield Fault(
                    message=f"the lead time of {words} has no day on which it was stated",
                    place=place_of(product, kind, number, "source", index, "lead_stated", key=True),
                    hint="add lead_stated = 2026-10-01",
                    facts=("lead_stated",),
                )


RULE = Rule(check=check, blocks_from="evt")
