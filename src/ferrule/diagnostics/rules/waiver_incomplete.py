"""A waiver does not say who answers for it or what ends it.

## What it finds

Waivers and deviations that lack the risk, its owner, who accepted them and when, or the corrective action.
A waiver that covers nothing is the matter of `waiver-unknown-rule`.

## Why it matters

A waiver is a decision to carry a risk. If nobody owns the risk and nothing ends it, it was not decided.

## Example

Bad:

```toml
[[waiver]]
rule = "sole-source"
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
risk = "26 weeks to qualify another"
risk_owner = "R. Alder"
accepted_by = "M. Tarn"
accepted = 2026-10-20
until = 2027-04-30
corrective_action = "qualify a second maker"
```

## How to fix

Add what is missing; the hint names it.

## Who may accept it

Nobody: a waiver for a waiver would have no end.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product
from ferrule.model.records.waiver import Waiver

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield waivers that lack what makes them a decision."""
    from ferrule.diagnostics.registry import all_rules  # noqa: PLC0415  the registry imports this module

    for index, waiver in enumerate(product.waivers):
        entry = all_rules().get(waiver.rule)
        missing = _missing(waiver)
        if missing and entry is not None and entry.rule.waivable:
            yield Fault(
                message=f"the {waiver.kind} of {waiver.rule} for {waiver.subject} does not say {', '.join(missing)}",
                place=place_of(product, "waiver", index, "rule"),
                hint=f"add {', '.join(missing)}",
                facts=tuple(missing),
            )


def _missing(waiver: Waiver) -> list[str]:
    """Return the keys of a waiver that are not stated."""
    stated = {
        "risk": waiver.risk,
        "risk_owner": waiver.risk_owner,
        "accepted_by": waiver.accepted_by,
        "accepted": waiver.accepted,
        "corrective_action": waiver.corrective_action,
        "reason": waiver.reason,
    }
    return [key for key, value in stated.items() if not value]


RULE = Rule(check=check, blocks_from="evt", waivable=False)
