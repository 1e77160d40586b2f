"""Which findings a waiver in force covers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from ferrule.compute.waived import in_force
from ferrule.diagnostics.finding import Located
from ferrule.diagnostics.registry import all_rules
from ferrule.model.product import Product
from ferrule.model.records.waiver import Waiver

__all__ = ["covers", "unwaived"]


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
