"""The columns of a sheet for quotes: written into requests, and looked for in answers."""

from __future__ import annotations

import re

from msgspec import Struct

from ferrule.exchange.words import folded

__all__ = [
    "FILLED",
    "LINE",
    "SHEET",
    "Filled",
    "amount_heading",
    "heading_key",
    "price_heading",
    "quantity_in",
]

LINE = "line id"
SHEET = "sheet"
_PRICE = re.compile(r"price of one at ([0-9][0-9,.' ]*)")
_AMOUNT = re.compile(r"quantity for ([0-9][0-9,.' ]*)")


class Filled(Struct, frozen=True):
    """A column that the recipient fills: its key, heading, and what to write there."""

    key: str
    heading: str
    about: str


#: In the order of the sheet; prices come before them.
FILLED: tuple[Filled, ...] = (
    Filled("currency", "currency", "Currency of the prices, three letters."),
    Filled("incoterm", "delivery term", "Rule of Incoterms 2020 and named place."),
    Filled("maker", "offered maker", "Whose article you offer."),
    Filled("number", "offered number", "The maker's own number of it."),
    Filled("moq", "least order", "Least quantity of an order."),
    Filled("multiple", "order step", "Orders go in steps of this."),
    Filled("lead_time", "lead time", "From order to ready, such as 12 weeks or 20 working days."),
    Filled("charge", "one-off charge", "Tools and set-up, once, in the same currency."),
    Filled("quoted", "quote date", "Day of your quote, such as 2026-11-30."),
    Filled("valid_until", "valid until", "Last day your price holds."),
    Filled("remark", "remark", "What differs from what is asked."),
)


def price_heading(qty: int) -> str:
    """Return the heading of the price asked at a quantity."""
    return f"price of one at {qty}"


def amount_heading(qty: int) -> str:
    """Return the heading of how much of a part is asked for a quantity."""
    return f"quantity for {qty}"


def heading_key(text: str) -> str:
    """Return a heading as it is compared."""
    return folded(text).strip(" :.*")


def quantity_in(text: str) -> tuple[str, int] | None:
    """Return ``price`` or ``amount`` and the quantity that a heading names, None for another heading."""
    for kind, pattern in (("price", _PRICE), ("amount", _AMOUNT)):
        found = pattern.fullmatch(heading_key(text))
        digits = re.sub(r"[^0-9]", "", found[1]) if found else ""
        if digits and len(digits) < 12:
            return kind, int(digits)
    return None
