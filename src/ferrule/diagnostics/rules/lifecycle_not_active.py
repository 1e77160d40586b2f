"""A part is going out of production, or nobody knows.

## What it finds

Bought parts and assemblies whose life-cycle status is not for new design, last-time buy, obsolete or
unknown, unless `covered_by` says what covers the rest of the plan; and bought electrical parts and
batteries without any status.

## Why it matters

A part that ends within the plan means a redesign within the year. Makers commonly give about six months
to the last order and twelve to the last shipment (common practice; the notice itself has the dates).

## Example

Bad:

```toml
[part.U-AMP]
class = "electrical"
lifecycle = { status = "last-time-buy", last_order = 2027-06-30 }
```

Good:

```toml
[part.U-AMP]
class = "electrical"
lifecycle = { status = "last-time-buy", last_order = 2027-06-30, covered_by = "last-time buy of 9,000 in stock" }
```

## How to fix

Look for a replacement, or buy for the rest of the product's life and say so under `covered_by`.

## Who may accept it

Whoever answers for the design. Usual exception: a last-time buy covers the life of the plan.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import bought
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Part

__all__ = ["RULE"]

_WATCHED = ("electrical", "battery")
_WORDS = {
    "not-for-new-design": "is not for new designs",
    "last-time-buy": "can be ordered a last time",
    "obsolete": "is no longer made",
}


def _is_watched(item: Item) -> bool:
    return isinstance(item, Part) and item.class_ in _WATCHED


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield bought items that end, and those of which nobody knows."""
    for kind, number, item in bought(product):
        cycle = item.lifecycle
        if cycle is None:
            if _is_watched(item):
                place = place_of(product, kind, number, "lifecycle", key=True)
                hint = 'add lifecycle = { status = "active", checked = 2026-10-02, evidence = "..." }'
                yield Fault(
                    message=f'{kind} "{number}" has no life-cycle status',
                    place=place,
                    hint=hint,
                    undecided=True,
                )
            continue
        if cycle.status == "active" or cycle.covered_by:
            continue
        until = f" until {cycle.last_order}" if cycle.last_order is not None else ""
        words = _WORDS.get(cycle.status, "has an unknown life-cycle status")
        yield Fault(
            message=f'{kind} "{number}" {words}{until}',
            place=place_of(product, kind, number, "lifecycle", "status"),
            facts=(cycle.status,),
            undecided=cycle.status == "unknown",
        )


RULE = Rule(check=check, blocks_from="dvt")
