"""A source does not say how long it takes, or in whose days.

## What it finds

Approved sources of bought parts without `lead_time` and without legs, or with a leg that states no time;
lead times and the seller's own legs in working days without a calendar that counts them (the leg's,
`lead_calendar`, or that of the seller); and lead times without the day on which they were stated. The day
of the quote counts as that day.

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

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import approved, bought
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.duration import Duration
from ferrule.model.product import Product
from ferrule.model.records.common import Leg
from ferrule.model.records.part import Source
from ferrule.model.text import quoted

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield approved sources whose time cannot be used."""
    for kind, number, item in bought(product):
        for index, source in approved(item):
            yield from _judge(product, (kind, number, index), source)


def _judge(product: Product, at: tuple[str, str, int], source: Source) -> Iterator[Fault]:
    kind, number, index = at
    words = f'{source_name(index, source)} of {kind} "{number}"'
    if source.lead_time is None and not source.leg:
        yield Fault(
            message=f"{words} states no lead time",
            place=place_of(product, kind, number, "source", index, "lead_time", key=True),
            hint='add lead_time = "6 weeks" and lead_stated, as the seller says',
            facts=("lead_time",),
        )
        return
    for position, leg in enumerate(source.leg):
        if not _times(leg):
            yield Fault(
                message=f"leg {quoted(leg.name)} of {words} states no time",
                place=place_of(product, kind, number, "source", index, "leg", position, "likely", key=True),
                hint="add likely = the time to plan with",
                facts=("leg", leg.name),
            )
    for path in _uncounted(product, source):
        yield Fault(
            message=f"{words} counts in working days, but no calendar says which",
            place=place_of(product, kind, number, "source", index, *path),
            hint="add lead_calendar, or a calendar to the seller",
            facts=("calendar", *map(str, path)),
        )
    if source.lead_stated is None and source.quoted is None:
        yield Fault(
            message=f"the lead time of {words} has no day on which it was stated",
            place=place_of(product, kind, number, "source", index, "lead_stated", key=True),
            hint="add lead_stated = the day on which the seller said it",
            facts=("lead_stated",),
        )


def _times(leg: Leg) -> list[tuple[str, Duration]]:
    stated = (("likely", leg.likely), ("worst", leg.worst), ("best", leg.best))
    return [(key, time) for key, time in stated if time is not None]


def _uncounted(product: Product, source: Source) -> Iterator[Path]:
    """Yield the paths of times in working days that no calendar counts."""
    seller = product.firms.get(source.seller or "")
    if source.lead_calendar or (seller is not None and seller.calendar):
        return
    if source.lead_time is not None and source.lead_time.unit == "working days":
        yield ("lead_time",)
    for position, leg in enumerate(source.leg):
        working = [key for key, time in _times(leg) if time.unit == "working days"]
        if working and leg.owner == "seller" and not leg.calendar:
            yield "leg", position, working[0]


RULE = Rule(check=check, blocks_from="evt")
