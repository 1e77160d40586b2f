"""An invoice as a seller writes it: lines of parts, charges beside them, and the day of the order it belongs to."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from msgspec import Struct

__all__ = ["Invoice", "InvoiceCharge", "InvoiceLine"]


class InvoiceLine(Struct, frozen=True, kw_only=True):
    """One part: how many at which price of one, in the invoice's currency. ``order`` is the order number, if said."""

    part: str
    qty: Decimal
    each: Decimal
    order: str = ""

    @property
    def amount(self) -> Decimal:
        """Return what the line comes to."""
        return self.qty * self.each


class InvoiceCharge(Struct, frozen=True, kw_only=True):
    """One amount beside the parts, by name."""

    name: str
    amount: Decimal


class Invoice(Struct, frozen=True, kw_only=True):
    """One invoice. ``ordered`` is the day whose quotes count; None where it is not said."""

    number: str
    seller: str
    date: dt.date
    currency: str
    ordered: dt.date | None = None
    lines: tuple[InvoiceLine, ...] = ()
    charges: tuple[InvoiceCharge, ...] = ()
