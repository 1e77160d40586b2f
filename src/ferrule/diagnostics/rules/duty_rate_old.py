"""A duty rate was checked too long ago, or nobody knows when.

## What it finds

Duty records checked longer ago than the policy `duty_max_age` (30 days if not said), and those whose ruling
has ended (`in_force_until`) and that were not checked since. A record without the day of its check
(`checked`) cannot be judged. A rate under a ruling in force does not age.

Where builds ship by lanes with a destination, only the duty at those destinations counts; else every
record does.

## Why it matters

Rates and further measures move, often within weeks, and duty is due on the day of entry and not of the
plan. One point of duty is one point of the price of every unit.

## Example

Bad:

```toml
[[duty]]
destination = "EU"
code = "8519 81 95"
rate = "2 %"
basis = "freight-inclusive"
checked = 2026-06-10
```

Good:

```toml
[[duty]]
destination = "EU"
code = "8519 81 95"
rate = "2 %"
basis = "freight-inclusive"
checked = 2026-11-10
checked_by = "broker Lindqvist"
```

## How to fix

Look the rate up in the destination's tariff or ask the broker, and write down the day. For a ruling write its
number under `evidence` and its last day under `in_force_until`.

## Who may accept it

Whoever answers for customs. Usual exception: a ruling in force.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from ferrule.compute.ages import is_older
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._shipping import destinations
from ferrule.model.product import Product
from ferrule.model.records.firms import Duty

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield duty records that are old or cannot be judged, in file order."""
    used = destinations(product)
    for index, duty in enumerate(product.duties):
        if not used or duty.destination in used:
            yield from _judge(product, setting.today, index, duty)


def _judge(product: Product, today: dt.date, index: int, duty: Duty) -> Iterator[Fault]:
    checked, last = duty.checked, duty.in_force_until
    words = f"the duty on {duty.code}{f' from {duty.origin}' if duty.origin else ''} into {duty.destination}"
    if last is not None and last >= today:
        return
    if last is not None and (checked is None or checked <= last):
        yield Fault(
            message=f"{words} rests on a ruling that ended on {last}, and was not checked since",
            place=place_of(product, "duty", index, "in_force_until"),
            facts=(str(last),),
        )
    elif checked is None:
        yield Fault(
            message=f"{words} has no day on which it was checked",
            place=place_of(product, "duty", index, "checked", key=True),
            hint="add checked = the day, and checked_by = who looked",
            undecided=True,
        )
    elif is_older(checked, product.policy.duty_max_age, today):
        yield Fault(
            message=f"{words} was checked on {checked}, over {product.policy.duty_max_age} ago",
            place=place_of(product, "duty", index, "checked"),
            facts=(str(checked),),
        )


RULE = Rule(check=check, blocks_from="pvt")
