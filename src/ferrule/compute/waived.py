"""Until when a waiver holds."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal

from ferrule.model.records.counts import Made
from ferrule.model.records.waiver import Waiver

__all__ = ["in_force"]


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
