"""What became of waivers between two days: opened, closed, renewed, expired."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Literal

from ferrule.compute.compare_records import pair_list
from ferrule.compute.fields import Differing, changes
from ferrule.compute.meaning import NOTHING
from ferrule.compute.waived import in_force
from ferrule.model.product import Product
from ferrule.model.records.waiver import Waiver

__all__ = ["WaiverChange", "WaiverEvent", "compare_waivers"]

WaiverEvent = Literal["opened", "closed", "renewed", "expired", "in force again", "changed"]


class WaiverChange(Differing[Waiver], frozen=True, kw_only=True):
    """A waiver that came, went, changed, or passed one of its limits; whether it held on either day."""

    held: bool
    holds: bool

    @property
    def events(self) -> tuple[WaiverEvent, ...]:
        """Return what happened to it, at least one thing."""
        return tuple(_events(self))


def compare_waivers(
    before: Product, after: Product, days: tuple[dt.date, dt.date]
) -> tuple[WaiverChange, ...]:
    """Return what became of the waivers from the first day to the second, by rule and subject."""
    found = pair_list("waiver", before.waivers, after.waivers)
    pairs = [*found.pairs, *((one, None) for one in found.gone), *((None, one) for one in found.new)]
    rows = [row for one, other in pairs if (row := _change(before, after, days, one, other)) is not None]
    return tuple(sorted(rows, key=lambda row: (row.record.rule, row.record.subject, row.sign)))


def _change(
    before: Product, after: Product, days: tuple[dt.date, dt.date], one: Waiver | None, other: Waiver | None
) -> WaiverChange | None:
    held = one is not None and in_force(one, days[0], before.made)
    holds = other is not None and in_force(other, days[1], after.made)
    both = one is not None and other is not None
    fields = tuple(changes(one, other, (NOTHING, NOTHING))) if one is not None and other is not None else ()
    if both and not fields and held == holds:
        return None
    return WaiverChange(before=one, after=other, fields=fields, held=held, holds=holds)


def _events(change: WaiverChange) -> Iterator[WaiverEvent]:
    before, after = change.before, change.after
    if before is None or after is None:
        yield "opened" if before is None else "closed"
        if before is None and not change.holds:
            yield "expired"
        return
    renewed = after.renewals > before.renewals or _extended(before, after)
    if renewed:
        yield "renewed"
    if change.held != change.holds:
        yield "expired" if change.held else "in force again"
    elif not renewed:
        yield "changed"


def _extended(before: Waiver, after: Waiver) -> bool:
    """Return whether a limit was put off."""
    later = before.until is not None and after.until is not None and after.until > before.until
    more = before.quantity is not None and after.quantity is not None and after.quantity > before.quantity
    return later or more
