"""A waiver has passed its limit.

## What it finds

Waivers whose last day has passed, whose quantity is used up by the good units reported since they were
accepted, or under which units with other serial numbers than the agreed ones were built.

## Why it matters

A waiver without an end becomes the way things are done, and nobody decided that. What it covered is
shown again.

## Example

Bad:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
until = 2026-06-30   # past
```

Good:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
until = 2027-04-30
renewals = 1
```

## How to fix

End it: make the correction it promised and take it out. Or renew it, with a new limit and `renewals`
counted up; a third renewal is a design change that nobody wrote.

## Who may accept it

Nobody: a waiver for a waiver would have no end.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.waived import in_force
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product
from ferrule.model.records.waiver import Waiver
from ferrule.model.serials import Serials

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield waivers that no longer hold."""
    for index, waiver in enumerate(product.waivers):
        if waiver.until is not None and waiver.until < setting.today:
            place = place_of(product, "waiver", index, "until")
            message = f"the waiver of {waiver.rule} for {waiver.subject} ended on {waiver.until}"
            yield Fault(message=message, place=place, facts=(str(waiver.until),))
        elif waiver.quantity is not None and not in_force(waiver, setting.today, product.made):
            place = place_of(product, "waiver", index, "quantity")
            message = f"the waiver of {waiver.rule} for {waiver.subject} held for {waiver.quantity} units, and more are made"
            yield Fault(message=message, place=place, facts=(str(waiver.quantity),))
        elif waiver.serials is not None:
            yield from _other_serials(product, index, waiver, waiver.serials)


def _other_serials(product: Product, index: int, waiver: Waiver, agreed: Serials) -> Iterator[Fault]:
    for name, file in sorted(product.as_built.items()):
        for row in file.built_under:
            beyond = row.serials.without(agreed)
            if (row.rule, row.subject) == (waiver.rule, waiver.subject) and len(beyond):
                message = (
                    f"the waiver of {waiver.rule} for {waiver.subject} holds for serial numbers {agreed}, "
                    f"and {beyond} of {name} were built under it"
                )
                place = place_of(product, "waiver", index, "serials")
                yield Fault(message=message, place=place, facts=(str(beyond),))


RULE = Rule(check=check, blocks_from="evt", waivable=False)
