"""More of a consigned part is unproven than the allowance forgives.

## What it finds

Consigned parts of which more is missing at a custodian than the agreed share of what was used, and parts of which
more was seen than was ever sent. Parts worth less than the policy `consigned_ignored` are left aside. Where no
allowance is agreed nothing can be decided; `custody-record-incomplete` says so.

## Why it matters

What nobody can show may be lost, scrapped, lying in a drawer, or inside units you never saw. A month later nobody
remembers.

## Example

Bad:

```toml
# 500 were sent and 400 are in good units; of the 100 others the allowance of 0.5 % forgives 2
[[movement]]
part = "U-MCU"
custodian = "harbour"
kind = "scrap claimed"
qty = 98
date = 2026-11-16
```

Good:

```toml
# a count and carcasses prove what a claim does not
[[movement]]
part = "U-MCU"
custodian = "harbour"
kind = "counted"
qty = 96
date = 2026-11-16

[[movement]]
part = "U-MCU"
custodian = "harbour"
kind = "scrap with carcass"
qty = 2
date = 2026-11-16
```

## How to fix

Count, ask for the carcasses, and write both down as movements. `ferrule reconcile` shows the account and what the
open pieces leave room for.

## Who may accept it

Whoever answers for stock. Usual exception: a count in progress, with its date.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.reconcile import Account, reconcile
from ferrule.compute.structure import Context, structure_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules.custody_record_incomplete import worth_little
from ferrule.model.exact import shown
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield every account that does not close."""
    if not product.movements:
        return
    structure = structure_of(product, Context(day=setting.today))
    if structure.order is None:
        return
    for custody in reconcile(product, structure):
        for account in custody.accounts:
            item = product.item(account.part)
            if item is None or worth_little(product, item.consigned):
                continue
            words = _words(account)
            if words:
                yield Fault(
                    message=f'of "{account.part}" at {account.custodian}, {words}',
                    place=place_of(product, "movement", account.movements[-1]),
                    facts=(account.custodian, shown(account.unproven), shown(account.surplus)),
                )


def _words(account: Account) -> str:
    if account.surplus:
        return f"{shown(account.surplus)} more were seen than ever issued"
    if account.chargeable:
        return (
            f"{shown(account.unproven)} of {shown(account.issued)} issued are unproven, "
            f"{shown(account.chargeable)} beyond the allowance"
        )
    return ""


RULE = Rule(check=check, blocks_from="production")
