"""The written values: for each type its parser, its place in the schemas, its examples."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from msgspec import Struct

from ferrule.model import (
    designators,
    due,
    duration,
    exchange,
    incoterms,
    money,
    number,
    percent,
    quantity,
    serials,
    shares,
    when,
)

__all__ = ["VALUES", "ValueKind", "read_value"]


class ValueKind(Struct, frozen=True, kw_only=True):
    """One kind of written value."""

    name: str
    read: Callable[[Any], Any]
    description: str
    json_types: tuple[str, ...]
    examples: tuple[Any, ...]
    pattern: str = ""
    not_negative: bool = False
    #: A bare date is a value of this kind too.
    or_day: bool = False


#: Type of a record's field → how it is read and described. This is the only list of them.
VALUES: dict[type, ValueKind] = {
    number.Number: ValueKind(
        name="number",
        read=number.parse_number,
        json_types=("number",),
        examples=(12, 0.5),
        description="An exact decimal number.",
    ),
    number.Count: ValueKind(
        name="count",
        read=number.parse_count,
        json_types=("number",),
        examples=(5000, 0.35),
        not_negative=True,
        description="An exact decimal number, not negative.",
    ),
    quantity.Quantity: ValueKind(
        name="quantity",
        read=quantity.parse_quantity,
        json_types=("number", "string"),
        pattern=quantity.PATTERN,
        examples=quantity.EXAMPLES,
        not_negative=True,
        description="A number in the part's own unit, or a number with a unit in quotes.",
    ),
    money.Money: ValueKind(
        name="money",
        read=money.parse_price,
        json_types=("number", "string"),
        pattern=money.PATTERN,
        examples=money.EXAMPLES,
        not_negative=True,
        description="An amount: a number in the currency of its record, or a number with a currency in quotes.",
    ),
    money.SignedMoney: ValueKind(
        name="signed-money",
        read=money.parse_signed_money,
        json_types=("number", "string"),
        pattern=money.PATTERN,
        examples=money.EXAMPLES,
        description="An amount that may be negative, such as an overdrawn account.",
    ),
    percent.Percent: ValueKind(
        name="percent",
        read=percent.parse_percent,
        json_types=("string",),
        pattern=percent.PATTERN,
        examples=percent.EXAMPLES,
        description="A percentage in quotes with its sign.",
    ),
    duration.Duration: ValueKind(
        name="duration",
        read=duration.parse_duration,
        json_types=("string",),
        pattern=duration.PATTERN,
        examples=duration.EXAMPLES,
        description="A length of time in quotes; working days count in a calendar.",
    ),
    due.Due: ValueKind(
        name="due",
        read=due.parse_due,
        json_types=("string",),
        pattern=due.PATTERN,
        examples=due.EXAMPLES,
        description="An event and a lag that make a payment due.",
    ),
    shares.Share: ValueKind(
        name="share",
        read=shares.parse_share,
        json_types=("string",),
        pattern=shares.PATTERN,
        examples=shares.EXAMPLES,
        description="A part of an amount: a percentage, the rest, or money for each unit.",
    ),
    when.When: ValueKind(
        name="when",
        read=when.parse_when,
        or_day=True,
        json_types=("string",),
        pattern=when.PATTERN,
        examples=when.EXAMPLES,
        description="A day (2027-01-31, no quotes) or a plan week in quotes, counted from 0.",
    ),
    designators.Designators: ValueKind(
        name="designators",
        read=designators.parse_designators,
        json_types=("string",),
        pattern=designators.PATTERN,
        examples=designators.EXAMPLES,
        description="Reference designators, listed or in ranges.",
    ),
    serials.Serials: ValueKind(
        name="serials",
        read=serials.parse_serials,
        json_types=("string",),
        pattern=serials.PATTERN,
        examples=serials.EXAMPLES,
        description="Serial numbers, listed or in ranges, both ends included.",
    ),
    incoterms.Incoterm: ValueKind(
        name="incoterm",
        read=incoterms.parse_incoterm,
        json_types=("string",),
        pattern=incoterms.PATTERN,
        examples=incoterms.EXAMPLES,
        description="A rule of Incoterms 2020 and its named place.",
    ),
    exchange.Exchange: ValueKind(
        name="exchange",
        read=exchange.parse_exchange,
        json_types=("string",),
        pattern=exchange.PATTERN,
        examples=exchange.EXAMPLES,
        description="An exchange rate with its direction.",
    ),
}


def read_value(wanted: type, written: Any) -> Any:
    """Return a written value as ``wanted``; the decode hook of the reader. Raises BadValue.

    The same few texts stand thousands of times in a product; values are immutable, so each is read once.
    """
    if type(written) not in _REPEATED:
        return VALUES[wanted].read(written)
    key = (wanted, type(written), str(written) if type(written) is Decimal else written)
    found = _READ.get(key)
    if found is None:
        if len(_READ) >= _MOST_KEPT:
            _READ.clear()
        found = _READ[key] = VALUES[wanted].read(written)
    return found


#: Values read so far, by type and text: 1.0 and 1.00 are told apart, for a value keeps its zeros.
_READ: dict[tuple[type, type, Any], Any] = {}
_REPEATED = (str, int, Decimal)
_MOST_KEPT = 100_000
