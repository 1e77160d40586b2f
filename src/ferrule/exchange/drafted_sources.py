# ruff: noqa: RUF001 - the signs people write are data
"""Sources and firms as a sheet tells them, in the fields of our files."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from msgspec import Struct

from ferrule.exchange.cells import Amount, Price
from ferrule.exchange.drafted_lines import number_value
from ferrule.exchange.headings import Column
from ferrule.exchange.naming import number_for
from ferrule.exchange.recognised import Line, Supply
from ferrule.exchange.words import folded
from ferrule.model.exact import as_decimal

__all__ = ["Firms", "draft_source", "firms_named", "lead_unit", "read_lead_time"]

_LEAD = re.compile(
    r"(?P<count>[0-9]{1,4})(?:\s*(?:-|–|to|bis|à|\.\.)\s*(?P<most>[0-9]{1,4}))?\s*(?P<word>[^\W\d_]*)\.?"
)
_TIMES = {
    word: unit
    for unit, words in {
        "days": "d day days tag tage tagen jour jours dia dias giorno giorni dag dagen dni den dny",
        "weeks": "w wk wks week weeks wo woche wochen semaine semaines semana semanas settimana settimane weken tygodni",
        "months": "month months monat monate monaten mois mes meses mese mesi maand maanden",
    }.items()
    for word in words.split()
}


class Firms(Struct, frozen=True, kw_only=True):
    """Numbers of firms by folded name, and the records of them; ``existing`` are those the product has."""

    numbers: Mapping[str, str]
    records: Mapping[str, Mapping[str, Any]]
    existing: frozenset[str]


def firms_named(lines: Iterable[Line], known: Mapping[str, str]) -> Firms:
    """Return every maker and seller that lines name, in their order, those the product has by their number."""
    numbers: dict[str, str] = {}
    records: dict[str, dict[str, Any]] = {}
    taken = {number.casefold() for number in known.values()}
    for line in lines:
        for supply in line.supplies:
            for name, role in ((supply.maker, "maker"), (supply.seller, "seller")):
                key = folded(name)
                if not key:
                    continue
                if key not in numbers:
                    numbers[key] = known.get(key) or number_for(name.lower(), taken)
                    taken.add(numbers[key].casefold())
                    records[numbers[key]] = {"name": " ".join(name.split()), "roles": []}
                roles = records[numbers[key]]["roles"]
                if role not in roles:
                    roles.append(role)
    return Firms(numbers=numbers, records=records, existing=frozenset(known.values()))


def draft_source(supply: Supply, firms: Firms, lead_unit: str = "") -> dict[str, Any]:
    """Return the fields of a source, only those the sheet says; nothing where it says nothing of a source.

    ``lead_unit`` is what a bare number of a lead time means, as the heading says it.
    """
    notes: list[str] = []
    breaks = _breaks(supply, notes)
    fields: dict[str, Any] = {
        "maker": firms.numbers.get(folded(supply.maker)),
        "maker_part": supply.maker_part,
        "seller": firms.numbers.get(folded(supply.seller)),
        "seller_part": supply.seller_part,
        "currency": _currency(supply) if breaks else "",
        "price": breaks,
        "moq": _count(supply.moq),
        "multiple": _count(supply.multiple),
        "lead_time": _lead(supply, lead_unit, notes),
    }
    if supply.kind == "any":
        notes.append("any maker will do")
    if supply.kind == "drawing":
        notes.append(supply.named)
    if supply.alternates:
        notes.append(f"or {', '.join(supply.alternates)}")
    notes.append(supply.link)
    fields["note"] = "; ".join(dict.fromkeys(" ".join(note.split()) for note in notes if note))
    return {key: value for key, value in fields.items() if value not in (None, "", [])}


def _count(amount: Amount | None) -> int | Decimal | None:
    if amount is None or amount.number is None or amount.number < 0:
        return None
    return number_value(amount.number)


def _currency(supply: Supply) -> str:
    found = [
        price.currency for price in (*supply.breaks, supply.price, supply.pack_price) if price is not None
    ]
    return next((currency for currency in found if currency), "")


def _breaks(supply: Supply, notes: list[str]) -> list[dict[str, Any]]:
    """Return price breaks, smallest quantity first; a price that is no finite decimal goes into the notes."""
    prices = supply.breaks or tuple(price for price in (supply.price,) if price is not None)
    found: dict[Decimal, Decimal] = {}
    for price in prices:
        each = _each(price)
        if each is not None:
            found.setdefault(price.least or _least(supply.moq), each)
        elif price.amount is not None:
            notes.append(f"price {price.written}")
    if not found and supply.pack_price is not None and supply.pack_price.amount is not None:
        exact = supply.each()
        each = as_decimal(exact) if exact is not None else None
        if each is None:
            notes.append(f"pack price {supply.pack_price.written}")
        else:
            found[_least(supply.moq)] = each
    return [{"from": number_value(least), "each": found[least]} for least in sorted(found)]


def _least(moq: Amount | None) -> Decimal:
    return moq.number if moq is not None and moq.number is not None and moq.number > 0 else Decimal(1)


def _each(price: Price) -> Decimal | None:
    if price.amount is None or not price.per:
        return None
    return price.amount if price.per == 1 else as_decimal(Fraction(price.amount) / Fraction(price.per))


def _lead(supply: Supply, unit: str, notes: list[str]) -> str:
    """Return the lead time as our files have it; what was written goes into the notes where it said more."""
    read = read_lead_time(supply.lead_time, unit)
    if supply.lead_time and not (read and supply.lead_time.strip().isdecimal()) and read != supply.lead_time:
        notes.append(f"lead time {supply.lead_time}")
    return read


def read_lead_time(written: str, unit: str = "") -> str:
    """Return a lead time as our files have it, a range by its longer end, nothing where it cannot be read.

    ``unit`` is what a bare number means.
    """
    found = _LEAD.fullmatch(written.strip().lower())
    if found is None:
        return ""
    word = found["word"]
    known = _TIMES.get(word, "") if word else unit
    return f"{int(found['most'] or found['count'])} {known}" if known else ""


def lead_unit(columns: Sequence[Column]) -> str:
    """Return what a bare number of a lead time means by the heading of its column: "Lead time (weeks)"."""
    for column in columns:
        if column.meaning == "lead_time":
            for word in re.findall(r"[^\W\d_]+", column.heading.lower()):
                if len(word) > 1 and word in _TIMES:
                    return _TIMES[word]
    return ""
