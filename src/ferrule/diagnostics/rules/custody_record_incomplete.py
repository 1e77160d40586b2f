"""A consigned part has no complete record of custody.

## What it finds

Items that we buy and send (`supply = "consigned"`, on the item or on a line) without custodian, day of
the last count, loss allowance or unit value. Items worth less than the policy `consigned_ignored` are
left aside.

## Why it matters

What nobody counts is lost without a trace: the loss is invisible, and so is what was built with it.

## Example

Bad:

```toml
[part.U-MCU]
supply = "consigned"
```

Good:

```toml
[part.U-MCU]
supply = "consigned"
consigned = { custodian = "harbour", counted = 2026-11-02, allowance = "0.5 %", value = "5.60 USD" }
```

## How to fix

Agree the allowance with the factory, count, and write it down.

## Who may accept it

Whoever answers for stock. Usual exception: low value.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import supplies
from ferrule.diagnostics.rules._wording import none_of
from ferrule.model.product import Product
from ferrule.model.records.part import Consigned

__all__ = ["RULE", "worth_little"]


def worth_little(product: Product, consigned: Consigned | None) -> bool:
    """Return whether a part is worth less than what the policy ignores."""
    limit = product.policy.consigned_ignored
    value = consigned.value if consigned is not None else None
    return (
        limit is not None
        and value is not None
        and value.currency == limit.currency
        and value.number < limit.number
    )


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield consigned items with what their record lacks."""
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if "consigned" not in supplies(product, number) or worth_little(product, item.consigned):
            continue
        record = item.consigned or Consigned()
        states = {
            "custodian": record.custodian,
            "day of the last count": record.counted,
            "loss allowance": record.allowance,
            "unit value": record.value,
        }
        missing = [words for words, value in states.items() if value is None]
        if missing:
            yield Fault(
                message=f'the consigned {kind} "{number}" states {none_of(missing)}',
                place=place_of(product, kind, number, "consigned", key=True),
                facts=tuple(missing),
            )


RULE = Rule(check=check, blocks_from="dvt")
