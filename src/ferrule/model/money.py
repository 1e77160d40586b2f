"""Money: an exact number with a currency. Never a number alone, never two currencies in one sum."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from ferrule.model.bad_value import BadValue, usable
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.exact import exact
from ferrule.model.number import digits, figures, parse_number, plain, without_separators
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
        forms = usable(_signed, _readings(written), _bare(written) or EXAMPLES)
        if re.search(r"[0-9][,' ][0-9]{3}(?![0-9])", written):
            raise BadValue(
                f"{quoted(written)} has a thousands separator", forms if forms == EXAMPLES else forms[:1]
            )
        raise BadValue(f"{quoted(written)} is not an amount of money", forms)
    if found[2] not in MINOR_UNITS:
        raise BadValue(f"{found[2]} is no currency of ISO 4217 that one can pay with", EXAMPLES)
    return figures(found[1], EXAMPLES), found[2]


def _signed(written: str) -> SignedMoney:
    found = _WRITTEN.fullmatch(written)
    if found is None:
        raise BadValue(f"{quoted(written)} is not an amount of money")
    return parse_signed_money(written)


def _readings(written: str) -> list[str]:
    """Return what may have been meant: the code after the number, in capitals, no commas."""
    turned = re.sub(r"([A-Za-z]{3}) ?(.*)", r"\2 \1", written) if written[:1].isalpha() else written
    return [turned.upper(), *without_separators(turned.upper())]


def _bare(written: str) -> tuple[object, ...]:
    """Return the numbers that text without a currency may mean, as they stand in a file without quotes."""
    numbers = [digits(reading) for reading in (written, *without_separators(written))]
    return tuple(number for number in numbers if number is not None)
