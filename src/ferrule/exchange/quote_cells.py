"""Cells of an answer read: prices, days, lead times, terms. What cannot be read is said and counts as not stated."""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from ferrule.exchange.cells import DecimalMark, is_filler, read_amount, read_price
from ferrule.exchange.grid import BLANK, Cell
from ferrule.exchange.words import folded
from ferrule.model.bad_value import BadValue
from ferrule.model.duration import Duration, parse_duration
from ferrule.model.incoterms import Incoterm, parse_incoterm
from ferrule.model.text import quoted

__all__ = [
    "PriceCell",
    "is_formula",
    "read_count_cell",
    "read_day",
    "read_lead_time",
    "read_price_cell",
    "read_term",
]

_TURNED = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})")
_ISO = re.compile(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})(?:[T ].*)?")
_TIME = re.compile(r"([0-9]+)\s*(w|wk|wks|week|weeks|woche|wochen|d|day|days|wd|working days?|months?)\.?")
_UNITS = {"w": "weeks", "d": "days", "m": "months"}


class PriceCell(Struct, frozen=True):
    """The price of one in a cell, None where none counts; its currency, and what is wrong with it."""

    amount: Fraction | None = None
    currency: str = ""
    doubt: str = ""


def is_formula(cell: Cell) -> bool:
    """Return whether a text would be run as a formula: from a CSV it has no value we could know."""
    return cell.number is None and re.match(r"=\s*[A-Za-z(+$0-9'\"-]", cell.text) is not None


def read_price_cell(cell: Cell, mark: DecimalMark) -> PriceCell:
    """Return the price of one. Nought, below nought, doubtful and unreadable are no price, and the doubt says so."""
    if is_formula(cell):
        return PriceCell(doubt=f"{quoted(cell.text)} is a formula without a value")
    found = read_price(cell, mark)
    if found.amount is None:
        return PriceCell(doubt=found.doubt)
    if found.doubt:
        return PriceCell(currency=found.currency, doubt=found.doubt)
    if found.amount <= 0:
        words = "nought is no price until they say it is free" if not found.amount else "a price below nought"
        return PriceCell(currency=found.currency, doubt=f"{quoted(found.written)}: {words}")
    if found.least is not None:
        return PriceCell(
            currency=found.currency, doubt=f"{quoted(found.written)} holds from {found.least:f} on only"
        )
    return PriceCell(Fraction(found.amount) / Fraction(found.per), found.currency)


def read_count_cell(cell: Cell, mark: DecimalMark) -> tuple[Decimal | None, str]:
    """Return a count that is not negative and what is wrong with it."""
    if is_formula(cell):
        return None, f"{quoted(cell.text)} is a formula without a value"
    found = read_amount(cell, mark)
    if found.number is None or found.number < 0:
        return None, found.doubt
    return (None, found.doubt) if found.doubt else (found.number, "")


def read_day(cell: Cell) -> tuple[dt.date | None, str]:
    """Return the day that a cell states: ``2026-12-31``, ``31.12.2026``, and with slashes where only one reading is."""
    text = cell.text.strip()
    if not text or is_filler(text):
        return None, ""
    iso = _ISO.fullmatch(text)
    if iso:
        return _day(text, int(iso[1]), int(iso[2]), int(iso[3]))
    turned = _TURNED.fullmatch(text)
    if turned is None:
        return None, f"{quoted(text)} is no day we can read"
    first, second, year = int(turned[1]), int(turned[3]), int(turned[4])
    if turned[2] == "." or first > 12 or first == second:
        return _day(text, year, second, first)
    if second > 12:
        return _day(text, year, first, second)
    return (
        None,
        f"{quoted(text)} may be two days; write it as {year}-{first:02d}-{second:02d} or the other way round",
    )


def _day(text: str, year: int, month: int, day: int) -> tuple[dt.date | None, str]:
    try:
        return dt.date(year, month, day), ""
    except ValueError:
        return None, f"{quoted(text)} is no day"


def read_lead_time(cell: Cell) -> tuple[Duration | None, str]:
    """Return the lead time that a cell states; a bare number has no unit and is not guessed."""
    text = folded(cell.text)
    if not text or is_filler(text):
        return None, ""
    found = _TIME.fullmatch(text)
    if found is None:
        return None, f"{quoted(cell.text)} is no lead time we can read: write 12 weeks"
    working = found[2] == "wd" or found[2].startswith("working")
    unit = "working days" if working else _UNITS[found[2][0]]
    try:
        return parse_duration(f"{int(found[1])} {unit}"), ""
    except BadValue as error:
        return None, error.message


def read_term(cell: Cell) -> tuple[Incoterm | None, str]:
    """Return the delivery term that a cell states."""
    text = " ".join(cell.text.split())
    if not text or is_filler(text):
        return None, ""
    rule, _, place = text.partition(" ")
    try:
        return parse_incoterm(f"{rule.upper()} {place}".strip()), ""
    except BadValue as error:
        return None, error.message


def text_of(cell: Cell) -> str:
    """Return a cell's text, empty for what only says that nothing is known."""
    return "" if cell is BLANK or is_filler(cell.text) else cell.text
