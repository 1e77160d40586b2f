"""Something ends before it begins.

## What it finds

Closures, seasonal surcharges, quotes, agreements, waivers, orders, life-cycle dates and plans whose last day
lies before the first, and plans that do not start on a Monday.

## Why it matters

Two days swapped make a closure that never closes or a quote that never held, and nothing else would say
so.

## Example

Bad:

```toml
[calendar.south]
closures = [{ name = "new year", from = 2027-02-19, to = 2027-02-01 }]
```

Good:

```toml
[calendar.south]
closures = [{ name = "new year", from = 2027-02-01, to = 2027-02-19 }]
```

## How to fix

Swap or correct the days. Plans count weeks from a Monday (ISO 8601).

## Who may accept it

Nobody.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE"]

_Span = tuple[str, str | int, Path, dt.date | None, dt.date | None]


def _spans(product: Product) -> Iterator[_Span]:
    """Yield kind, id, path of the last day, first and last day."""
    for number, calendar in product.calendars.items():
        for i, closure in enumerate(calendar.closures):
            yield "calendar", number, ("closures", i, "to"), closure.from_, closure.to
    for number, lane in product.lanes.items():
        yield "lane", number, ("valid_until",), lane.quoted, lane.valid_until
        for i, surcharge in enumerate(lane.surcharge):
            yield "lane", number, ("surcharge", i, "to"), surcharge.from_, surcharge.to
    yield from _items(product)
    yield from _papers(product)
    for number, plan in product.plans.items():
        yield "plan", number, ("end",), plan.plan.start, plan.plan.end.on(plan.plan.start)


def _items(product: Product) -> Iterator[_Span]:
    for kind, number, item in product.items():
        for i, source in enumerate(item.source):
            yield kind, number, ("source", i, "valid_until"), source.quoted, source.valid_until
            for j, faster in enumerate(source.expedite):
                path = ("source", i, "expedite", j, "valid_until")
                yield kind, number, path, faster.quoted, faster.valid_until
        life = item.lifecycle
        if life is not None:
            yield kind, number, ("lifecycle", "last_shipment"), life.last_order, life.last_shipment
    for number, assembly in product.assemblies.items():
        if assembly.price is not None:
            yield (
                "assembly",
                number,
                ("price", "valid_until"),
                assembly.price.quoted,
                assembly.price.valid_until,
            )


def _papers(product: Product) -> Iterator[_Span]:
    for number, firm in product.firms.items():
        for i, paper in enumerate(firm.agreement):
            yield "firm", number, ("agreement", i, "valid_until"), paper.signed, paper.valid_until
    for number, tool in product.tools.items():
        yield "tool", number, ("valid_until",), tool.quoted, tool.valid_until
        if tool.agreement is not None:
            path = ("agreement", "valid_until")
            yield "tool", number, path, tool.agreement.signed, tool.agreement.valid_until
    for index, order in enumerate(product.orders):
        yield "order", index, ("due",), order.ordered, order.due
    for index, waiver in enumerate(product.waivers):
        yield "waiver", index, ("until",), waiver.accepted, waiver.until


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield reversed days, then plans that start on another day than a Monday."""
    for kind, number, path, first, last in _spans(product):
        if first is not None and last is not None and last < first:
            message = f"this ends on {last}, before it begins on {first}"
            yield Fault(
                message=message, place=place_of(product, kind, number, *path), facts=(str(first), str(last))
            )
    for number, plan in product.plans.items():
        start, end = plan.plan.start, plan.plan.end
        if end.is_beyond(start):
            message = f"{end} after {start} is beyond {dt.date.max}, the last day a date can have"
            place = place_of(product, "plan", number, "end")
            yield Fault(message=message, place=place, facts=(str(start), str(end)))
        if start.weekday() != 0:
            monday = start - dt.timedelta(days=start.weekday())
            message = f'the plan "{number}" starts on a {start:%A}, and weeks count from a Monday'
            place = place_of(product, "plan", number, "start")
            yield Fault(message=message, place=place, hint=f"write start = {monday}", facts=(str(start),))


RULE = Rule(check=check, waivable=False)
