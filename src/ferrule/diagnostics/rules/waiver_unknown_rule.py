"""A waiver speaks of a rule that does not exist or that nobody may waive.

## What it finds

Waivers whose `rule` is no rule, and waivers of faults that cannot be accepted, such as a part number
that leads nowhere.

## Why it matters

It looks as if something were accepted, and nothing is.

## Example

Bad:

```toml
[[waiver]]
rule = "sole-sorce"
subject = "part/U-MCU"
reason = "only maker"
until = 2027-04-30
```

Good:

```toml
[[waiver]]
rule = "sole-source"
subject = "part/U-MCU"
reason = "only maker"
until = 2027-04-30
```

## How to fix

Correct the name; `ferrule explain` lists the rules.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product
from ferrule.model.text import nearest

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield waivers of no rule, and of rules that admit none."""
    from ferrule.diagnostics.registry import all_rules  # noqa: PLC0415  the registry imports this module

    for index, waiver in enumerate(product.waivers):
        place = place_of(product, "waiver", index, "rule")
        entry = all_rules().get(waiver.rule)
        if entry is None:
            best = nearest(waiver.rule, all_rules())
            hint = f'did you mean "{best}"?' if best else "`ferrule explain` lists the rules"
            yield Fault(message=f'"{waiver.rule}" is no rule', place=place, hint=hint, facts=(waiver.rule,))
        elif not entry.rule.waivable:
            message = f"{waiver.rule} cannot be waived; the waiver for {waiver.subject} covers nothing"
            yield Fault(message=message, place=place, facts=(waiver.rule,))


RULE = Rule(check=check, blocks_from="evt", waivable=False)
