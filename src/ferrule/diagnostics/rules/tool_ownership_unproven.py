"""A tool is paid in advance without a paper that says whose it is.

## What it finds

Tools with an instalment due at the order (or at the start) and no `agreement` on ownership and return.
Tools made `in_house` and costs that leave no thing behind (certification, engineering, set-up) are left
aside.

## Why it matters

Payment alone is often not enough to own a tool: that hangs on the written agreement, local law and
language. Law firms report companies that paid more than the tool's price to get it back.

Ferrule records that a paper exists and does not interpret it; ask counsel.

## Example

Bad:

```toml
[tool.T-1]
name = "Mould"
kind = "mould"
amount = "27500 USD"
schedule = [{ share = "40 %", due = "order" }, { share = "rest", due = "approval" }]
```

Good:

```toml
[tool.T-1]
name = "Mould"
kind = "mould"
amount = "27500 USD"
schedule = [{ share = "40 %", due = "order" }, { share = "rest", due = "approval" }]
agreement = { title = "Tool ownership agreement", file = "docs/tools.txt", signed = 2026-08-03 }
```

## How to fix

Sign the agreement before the deposit, and name it.

## Who may accept it

Nobody. Usual exception: a tool made in house.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product

__all__ = ["RULE"]

_NOTHING_LEFT = ("certification", "engineering", "set-up")
_ADVANCE = ("order", "start", "kick-off")


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield tools with a deposit and no agreement."""
    for number, tool in sorted(product.tools.items()):
        if tool.in_house or tool.kind in _NOTHING_LEFT or tool.agreement is not None:
            continue
        deposits = [i for i, payment in enumerate(tool.schedule) if payment.due.event in _ADVANCE]
        if deposits:
            yield Fault(
                message=f'the {tool.kind} "{number}" is paid in advance without an agreement on who owns it',
                place=place_of(product, "tool", number, "schedule", deposits[0]),
                hint="add agreement = { title, file, signed }",
            )


RULE = Rule(check=check, blocks_from="dvt")
