"""The public holidays that the calendars of a product ask for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from msgspec import Struct

from ferrule.model.product import Product

__all__ = ["Holidays", "holidays_of"]


class Holidays(Struct, frozen=True):
    """Public holidays by name of calendar, and in words where they come from or why they are missing."""

    days: Mapping[str, frozenset[dt.date]]
    notes: tuple[str, ...]


def holidays_of(product: Product) -> Holidays:
    """Return the public holidays of every calendar that names a country and years."""
    from ferrule.source.public_holidays import public_holidays

    days, notes = {}, []
    for name, record in sorted(product.calendars.items()):
        if record.country is None:
            continue
        if not record.years:
            notes.append(
                f"calendar {name} names {record.country} but no years: its public holidays are not counted"
            )
            continue
        found = public_holidays(record.country, record.years)
        years = f"{min(record.years)} to {max(record.years)}"
        if found.days is None:
            notes.append(
                f"calendar {name}: public holidays of {record.country} are not counted, {found.reason}"
            )
            continue
        days[name] = found.days
        estimated = f"; {len(found.estimated)} of them estimated" if found.estimated else ""
        notes.append(
            f"calendar {name}: public holidays of {record.country} {years} by {found.library}{estimated}"
        )
    return Holidays(days, tuple(notes))
