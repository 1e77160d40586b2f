"""Exact decimal numbers."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from ferrule.model.bad_value import BadValue
from ferrule.model.text import quoted

__all__ = [
    "Count",
    "Number",
    "digits",
    "figures",
    "parse_count",
    "parse_number",
    "plain",
    "without_separators",
]

_DIGITS = 40
_EXPONENT = 30


class Number(Decimal):
    """A number of a file. A type of its own so that text is never taken for one."""

    __slots__ = ()

    def __str__(self) -> str:
        return plain(self)


class Count(Number):
    """A number that is not negative."""

    __slots__ = ()


def plain(number: Decimal) -> str:
    """Return a number without exponent, its zeros kept as written."""
    return format(number, "f")


def digits(written: str) -> Decimal | None:
    """Return the number spelled by plain digits with an optional point and sign, else None."""
    if not re.fullmatch(r"[+-]?[0-9]+(\.[0-9]+)?", written) or _too_long(written):
        return None
    return Decimal(written)


def figures(written: str, forms: tuple[object, ...]) -> Decimal:
    """Return the number that figures with an optional point spell.

    Raises BadValue with ``forms`` for more than 40 of them: so long a number is a slip, and arithmetic
    outside `exact` would round it in silence.
    """
    if _too_long(written):
        raise BadValue(f"{quoted(written)} has more than {_DIGITS} digits", forms)
    return Decimal(written)


def _too_long(written: str) -> bool:
    return len(written.lstrip("+-").replace(".", "", 1)) > _DIGITS


def without_separators(written: str) -> list[str]:
    """Return how a number with a comma, blank or apostrophe in it may have been meant; often nothing.

    ``1,250`` is 1250 to some and 1.250 to others, so it has two readings.
    """
    grouped = re.sub(r"(?<=[0-9])[,' ](?=[0-9]{3}(?![0-9]))", "", written)
    pointed = re.sub(r"(?<=[0-9]),(?=[0-9]+(?![0-9,]))", ".", written)
    return [reading for reading in (grouped, pointed) if reading != written]


def parse_number(written: Any) -> Number:
    """Return the number that is written; raises BadValue."""
    if isinstance(written, str):
        hint = digits(written)
        raise BadValue(f"{quoted(written)} is text, not a number", (hint,) if hint is not None else (12, 0.5))
    if isinstance(written, bool) or not isinstance(written, int | Decimal):
        raise BadValue(f"{quoted(written)} is not a number", (12, 0.5))
    number = Decimal(written) if not isinstance(written, int) or abs(written) < 10**_DIGITS else None
    if number is None or not number.is_finite():
        raise BadValue(f"{quoted(written)} is not a number one can count with", (12, 0.5))
    sign_digits_exponent = number.as_tuple()
    if len(sign_digits_exponent.digits) > _DIGITS or abs(number.adjusted()) > _EXPONENT:
        raise BadValue(
            f"{quoted(written)} has more than {_DIGITS} digits or an exponent over {_EXPONENT}", (12, 0.5)
        )
    if int(sign_digits_exponent.exponent) > 0:
        number = Decimal(plain(number))
    return Number(number)


def parse_count(written: Any) -> Count:
    """Return the number that is written, which must not be negative; raises BadValue."""
    number = parse_number(written)
    if number < 0:
        raise BadValue(f"{plain(number)} is negative", (5000,))
    return Count(number)
