"""An approval was given by the one who made the change.

## What it finds

Approvals in a role that approves safety, money or supplier, given by the person who, by git, last changed
the record they approve. An approval by someone else in that role heals it: recorded in the file, or as a
trailer `Approved-by: NAME <ADDRESS>` of the commit. Changed blanks are no change, and neither is the
approval itself.

Without git nothing is known of authors, and the rule is silent. So it is in a company of one person
(`people = 1`), where nobody else could approve: a frozen build then records that.

## Why it matters

A second pair of eyes finds the slip in a price, the wrong maker, the certificate of another cell. The one
who made the change has just not seen it.

## Example

Bad:

```toml
# committed by m.tarn@wrenfield.example
[part.CELL]
safety_critical = true
approval = [{ role = "safety", by = "m.tarn@wrenfield.example", date = 2026-09-30 }]
```

Good:

```toml
# committed by k.reed@wrenfield.example
[part.CELL]
safety_critical = true
approval = [{ role = "safety", by = "m.tarn@wrenfield.example", date = 2026-09-30 }]
```

## How to fix

Have another person of the role look at it and record the approval.

## Who may accept it

The person responsible for the product, with a limit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.frozen import LastChange, RecordKey
from ferrule.model.product import Product
from ferrule.model.records.part import Approval
from ferrule.model.records.product import Role

__all__ = ["RULE"]

_KINDS = frozenset({"safety", "money", "supplier"})


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield approvals that only the author of the change gave."""
    if product.head.people == 1:
        return
    for key, change in product.last_changes.items():
        approvals = _approvals(product, key)
        for index, approval in enumerate(approvals):
            role = product.roles.get(approval.role)
            if role is None or not _KINDS & set(role.approves) or not change.is_by(approval.by):
                continue
            if not _second(approvals, approval.role, role, change):
                yield _fault(product, key, index, approval)


def _approvals(product: Product, key: RecordKey) -> Sequence[Approval]:
    item = product.item(key[1])
    if item is None:
        return ()
    return item.source[int(key[2][1])].approval if key[2] else item.approval


def _second(approvals: Sequence[Approval], name: str, role: Role, change: LastChange) -> bool:
    """Return whether someone else of the role approved too, in the file or by a trailer of the commit."""
    others = [each.by for each in approvals if each.role == name]
    others += [each for each in change.approvers if any(_same(each, person) for person in role.people)]
    return any(not change.is_by(other) for other in others)


def _same(written: str, person: str) -> bool:
    """Return whether a trailer names a person of the product, by name or by address."""
    return person.casefold() in (part.strip(" <>").casefold() for part in (written, *written.split("<")))


def _fault(product: Product, key: RecordKey, index: int, approval: Approval) -> Fault:
    kind, number, path = key
    what = f'source {int(path[1]) + 1} of "{number}"' if path else f'{kind} "{number}"'
    return Fault(
        message=f"{approval.by} approved {what} as {approval.role}, and is the one who last changed it",
        place=place_of(product, kind, number, *path, "approval", index, "by"),
        hint="have another person of the role approve it",
        facts=(approval.role, approval.by),
    )


RULE = Rule(check=check, blocks_from="dvt")
