"""Money: an exact number with a currency. Never a number alone, never two currencies in one sum."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from ferrule.model.bad_value import BadValue, usable
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.exact import exact
from ferrule.model.number import figures, parse_number, plain
from ferrule.model.text import quoted
from ferrule.model.value import Value

__all__ = [
    "EXAMPLES",
    "PATTERN",
    "CurrencyMismatch",
    "Money",
    "SignedMoney",
    "parse_price",
    "parse_signed_money",
]

PATTERN = r"^-?[0-9]+(\.[0-9]+)? ?[A-Z]{3}$"
EXAMPLES: tuple[Any, ...] = (3.1, "48000 USD")
_WRITTEN = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?) ?([A-Z]{3})")
#: What stands before a group of three figures; before more or fewer a comma may be a decimal one.
_SEPARATOR = re.compile(r"(?<=[0-9])[,' ](?=[0-9]{3}(?![0-9]))")


class CurrencyMismatch(ValueError):
    """Two amounts of different currencies were to be added."""


class Money(Value):
    """An amount. ``currency`` is an ISO 4217 code, or empty where the record around it states it."""

    number: Decimal
    currency: str = ""

    def within(self, currency: str) -> Money:
        """Return the amount with its own currency, or with ``currency`` where it has none."""
        return self if self.currency else Money(self.number, currency)

    def __add__(self, other: Money) -> Money:
        if self.currency != other.currency:
            raise CurrencyMismatch(f"{self} and {other} cannot be added without a rate")
        with exact():
            return Money(self.number + other.number, self.currency)

    def __str__(self) -> str:
        return f"{plain(self.number)} {self.currency}".rstrip()


class SignedMoney(Money):
    """An amount that may be below zero."""


def parse_signed_money(written: Any) -> SignedMoney:
    """Return the amount that is written; raises BadValue."""
    number, currency = _read(written)
    return SignedMoney(number, currency)


def parse_price(written: Any) -> Money:
    """Return the amount that is written, which must not be negative; raises BadValue."""
    try:
        number, currency = _read(written)
    except BadValue as error:
        forms = tuple(form for form in error.forms if not str(form).startswith("-"))
        raise BadValue(error.message, forms or EXAMPLES) from None
    if number < 0:
        raise BadValue(f"{quoted(written)} is negative", EXAMPLES)
    return Money(number, currency)


def _read(written: Any) -> tuple[Decimal, str]:
    if not isinstance(written, str):
        return Decimal(parse_number(written)), ""
    found = _WRITTEN.fullmatch(written)
    if found is None:
        joined = _SEPARATOR.sub("", written)
        if joined != written:
            forms = usable(parse_signed_money, [joined], EXAMPLES)
            raise BadValue(f"{quoted(written)} has a thousands separator", forms)
        raise BadValue(f"{quoted(written)} is not an amount of money", EXAMPLES)
    if found[2] not in MINOR_UNITS:
        raise BadValue(f"{found[2]} is no currency of ISO 4217 that one can pay with", EXAMPLES)
    return figures(found[1], EXAMPLES), found[2]
