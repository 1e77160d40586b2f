"""A safety-critical part, or a source of it, is not approved.

## What it finds

Items marked `safety_critical` without an approval of the item itself, or with an approved source that
carries no approval of its own, by a role that approves `safety`; and approvals by someone who is not among
that role's people. An emergency source is named in any case: for such a part there is none.

## Why it matters

A certificate lists such a part by maker and type. Another one may look the same and burn.

Ferrule only shows whether evidence is recorded. It never judges that a part is safe: the applicable
standard, the test laboratory, local codes and licensed practice do.

## Example

Bad:

```toml
[part.CELL]
safety_critical = true

[[part.CELL.source]]
maker = "korvel"
status = "approved"
```

Good:

```toml
[part.CELL]
safety_critical = true
approval = [{ role = "safety", by = "M. Tarn", date = 2026-09-30 }]

[[part.CELL.source]]
maker = "korvel"
status = "approved"
approval = [{ role = "safety", by = "M. Tarn", date = 2026-09-30 }]
```

## How to fix

Have the person responsible for safety look at the evidence and approve the part and each source of it, in a
pull request of its own. A source that is not approved stays `trial`.

## Who may accept it

Nobody. In an emergency the answer is to stop.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.product import Product
from ferrule.model.records.part import Approval

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield safety-critical items and sources without a valid approval."""
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if not item.safety_critical:
            continue
        what = f'the safety-critical {kind} "{number}"'
        yield from _judge(product, (kind, number, ()), what, item.approval)
        for index, source in enumerate(item.source):
            words = f"{source_name(index, source)} of {what}"
            if source.status == "approved":
                yield from _judge(product, (kind, number, ("source", index)), words, source.approval)
            elif source.status == "emergency":
                place = place_of(product, kind, number, "source", index, "status")
                yield Fault(
                    message=f"{words} is an emergency source", place=place, hint='write status = "trial"'
                )


def _judge(
    product: Product, at: tuple[str, str, Path], what: str, approvals: tuple[Approval, ...]
) -> Iterator[Fault]:
    kind, number, path = at
    roles = {name: role for name, role in product.roles.items() if "safety" in role.approves}
    meant = [(i, approval) for i, approval in enumerate(approvals) if approval.role in roles]
    if any(approval.by in roles[approval.role].people for _, approval in meant):
        return
    if meant:
        index, approval = meant[0]
        yield Fault(
            message=f'{approval.by}, who approved {what}, is not among the people of role "{approval.role}"',
            place=place_of(product, kind, number, *path, "approval", index, "by"),
            facts=(approval.by,),
        )
        return
    names = ", ".join(sorted(roles)) or "none yet: add one to product.toml"
    yield Fault(
        message=f"{what} has no approval for safety",
        place=place_of(product, kind, number, *path, "approval", key=True),
        hint=f"roles that approve safety: {names}",
    )


RULE = Rule(check=check, waivable=False)
