"""`leave`: what moving away from a firm takes."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from ferrule.app.loading import Places, load_snapshot
from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.leaving import Leaving, leave
from ferrule.errors import FerruleError
from ferrule.model.product import Product
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = ["Left", "leave_firm"]


class Left(Struct, frozen=True, kw_only=True):
    """What leaving takes, of which product, and the way back to its files."""

    product: Product
    found: Leaving
    label: str
    faults: int
    where: Places


def leave_firm(snapshot: Snapshot, firm: str, today: dt.date) -> Left:
    """Return what leaving a firm takes; raises FerruleError for an unknown one."""
    loaded = load_snapshot(snapshot)
    product = loaded.product
    if firm not in product.firms:
        best = nearest(firm, product.firms)
        raise FerruleError(
            f"no firm is called {firm}",
            f"did you mean {best}?" if best else f"firms: {', '.join(product.firms)}",
        )
    try:
        found = leave(product, firm, today)
    except NoSuchDay as error:
        raise FerruleError(str(error), "look at the closures and weekends in product.toml") from None
    return Left(
        product=product,
        found=found,
        label=snapshot.label,
        faults=len(loaded.findings) + len(snapshot.problems),
        where=Places(loaded, snapshot),
    )
