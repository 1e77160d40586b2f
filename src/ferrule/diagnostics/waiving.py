"""Which findings a waiver in force covers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from decimal import Decimal

from ferrule.diagnostics.finding import Located
from ferrule.diagnostics.registry import all_rules
from ferrule.model.product import Product
from ferrule.model.records.counts import Made
from ferrule.model.records.waiver import Waiver

__all__ = ["covers", "in_force", "unwaived"]


def in_force(waiver: Waiver, today: dt.date, made: Iterable[Made] = ()) -> bool:
    """Return whether a waiver still holds: it has a limit, and none of its limits is passed.

    A limit by quantity is passed when more good units were reported since the waiver was accepted.
    """
    if waiver.until is None and waiver.quantity is None and waiver.serials is None:
        return False
    if waiver.until is not None and today > waiver.until:
        return False
    if waiver.quantity is None:
        return True
    since = waiver.accepted
    good = sum((m.good for m in made if since is None or m.date >= since), Decimal(0))
    return good <= waiver.quantity


def covers(waiver: Waiver, finding: Located) -> bool:
    """Return whether a waiver speaks of this finding: same rule, and the same subject or one below it."""
    if waiver.rule != finding.finding.rule:
        return False
    return finding.subject == waiver.subject or finding.subject.startswith(waiver.subject + "/")


def unwaived(product: Product, findings: Sequence[Located], today: dt.date) -> tuple[list[Located], int]:
    """Return the findings no waiver in force covers, and how many were covered.

    A fault that nobody may accept stays, whatever a waiver says.
    """
    rules = all_rules()
    active = [waiver for waiver in product.waivers if in_force(waiver, today, product.made)]
    kept = [
        found
        for found in findings
        if not rules[found.finding.rule].rule.waivable or not any(covers(waiver, found) for waiver in active)
    ]
    return kept, len(findings) - len(kept)
