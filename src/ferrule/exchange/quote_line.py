"""One line of an answer: its prices and terms, and what is not as it was asked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from msgspec.structs import replace

from ferrule.exchange.cells import DecimalMark, read_number
from ferrule.exchange.grid import BLANK, Cell
from ferrule.exchange.quote_cells import (
    read_count_cell,
    read_day,
    read_lead_time,
    read_price_cell,
    read_term,
    text_of,
)
from ferrule.exchange.quote_columns import amount_heading, heading_key, quantity_in
from ferrule.exchange.words import folded
from ferrule.model.answers import AnswerLine, Difference, DifferenceKind
from ferrule.model.currencies import MINOR_UNITS
from ferrule.model.exact import as_decimal
from ferrule.model.incoterms import Incoterm
from ferrule.model.records.disclosures import Sent, SentLine
from ferrule.model.text import quoted

__all__ = ["read_line"]

_T = TypeVar("_T")
_MAKERS = ("approved makers", "maker you offered")


class _Told:
    """Differences of one line, gathered as it is read; ``changed`` holds the headings of changed amounts and unit."""

    def __init__(self, line: SentLine, row: int) -> None:
        self.line, self.row = line, row
        self.changed: set[str] = set()
        self.found: list[Difference] = []

    def say(self, kind: DifferenceKind, words: str) -> None:
        self.found.append(
            Difference(kind=kind, words=words, row=self.row, line=self.line.id, part=self.line.part)
        )


def read_line(  # noqa: PLR0913  a line and all it is read against
    line: SentLine, row: int, cells: Mapping[str, Cell], sent: Sent, *, mark: DecimalMark, today: dt.date
) -> tuple[AnswerLine, list[Difference]]:
    """Return a line as answered and its differences. A price that does not count is None, and why is among them."""
    told = _Told(line, row)
    _echo(line, cells, told)
    prices = _same_basis(_prices(line, cells, sent, mark, told), sent, told)
    currency = _currency(cells, prices, sent, told)
    read = AnswerLine(
        id=line.id,
        part=line.part,
        row=row,
        supplied_by_us=line.supplied_by_us,
        amounts=tuple(line.asked) or (None,) * len(sent.quantities),
        prices=tuple(amount if currency else None for amount, _ in prices),
        currency=currency,
        incoterm=_term(cells, sent, told, priced=bool(currency)),
        maker=text_of(cells.get("offered maker", BLANK)),
        number=text_of(cells.get("offered number", BLANK)),
        moq=_count(cells, "least order", mark, told),
        multiple=_count(cells, "order step", mark, told),
        lead_time=_said(*read_lead_time(cells.get("lead time", BLANK)), told),
        charge=_charge(cells, mark, told),
        quoted=_said(*read_day(cells.get("quote date", BLANK)), told),
        valid_until=_said(*read_day(cells.get("valid until", BLANK)), told),
        remark=text_of(cells.get("remark", BLANK)),
    )
    if not any(price is not None for price in read.prices):
        return read, told.found
    _substituted(line, read, told)
    read = replace(read, substituted=any(each.kind == "substituted" for each in told.found))
    return _in_force(read, told, today), told.found


def _prices(
    line: SentLine, cells: Mapping[str, Cell], sent: Sent, mark: DecimalMark, told: _Told
) -> list[tuple[Fraction | None, str]]:
    found: list[tuple[Fraction | None, str]] = []
    empty = []
    for qty in sent.quantities:
        cell = cells.get(f"price {qty}", BLANK)
        if line.supplied_by_us:
            if cell and folded(cell.text) != "no price asked":
                told.say(
                    "not asked", f"{quoted(cell.text)} is asked for a part that we supply; it does not count"
                )
            found.append((None, ""))
            continue
        read = read_price_cell(cell, mark)
        if read.doubt:
            told.say("no price", f"at {qty:,}: {read.doubt}")
        elif read.amount is None and cells:
            empty.append(f"{qty:,}")
        found.append((read.amount, read.currency))
    if empty:
        told.say("not priced", f"no price at {', '.join(empty)}")
    return found


def _same_basis(
    prices: list[tuple[Fraction | None, str]], sent: Sent, told: _Told
) -> list[tuple[Fraction | None, str]]:
    """Return the prices without those for another unit, or at a quantity that was changed: they answer something else."""
    if told.changed & {"unit", "quantity in one"}:
        return [(None, "")] * len(prices)
    return [
        (None, "") if amount_heading(qty) in told.changed else price
        for qty, price in zip(sent.quantities, prices, strict=True)
    ]


def _currency(
    cells: Mapping[str, Cell], prices: list[tuple[Fraction | None, str]], sent: Sent, told: _Told
) -> str:
    """Return the currency of a line's prices; empty, and no price counts, where it is not told or told two ways."""
    if not any(amount is not None for amount, _ in prices):
        return ""
    stated = folded(text_of(cells.get("currency", BLANK))).upper()
    names = {currency for amount, currency in prices if amount is not None and currency}
    if stated and stated not in MINOR_UNITS:
        told.say("no currency", f"{quoted(stated)} is no currency, so no price of this line counts")
        return ""
    names |= {stated} - {""}
    if len(names) != 1:
        words = "two currencies" if names else "no currency is stated"
        listed = f": {', '.join(sorted(names))}" if names else ""
        told.say("no currency", f"{words}{listed}, so no price of this line counts")
        return ""
    found = names.pop()
    if sent.currency and found != sent.currency:
        told.say("other currency", f"in {found}, asked in {sent.currency}")
    return found


def _term(cells: Mapping[str, Cell], sent: Sent, told: _Told, *, priced: bool) -> Incoterm | None:
    term = _said(*read_term(cells.get("delivery term", BLANK)), told)
    if priced and sent.incoterm is not None and term != sent.incoterm:
        told.say("other term", f"{term or 'no delivery term'}, asked {sent.incoterm}")
    return term


def _said(value: _T, doubt: str, told: _Told) -> _T:
    """Return what was read; say what was wrong with it."""
    if doubt:
        told.say("not read", doubt)
    return value


def _count(cells: Mapping[str, Cell], heading: str, mark: DecimalMark, told: _Told) -> Decimal | None:
    number, doubt = read_count_cell(cells.get(heading, BLANK), mark)
    if doubt:
        told.say("not read", f"{heading}: {doubt}")
    return number


def _charge(cells: Mapping[str, Cell], mark: DecimalMark, told: _Told) -> Decimal | None:
    read = read_price_cell(cells.get("one-off charge", BLANK), mark)
    if read.doubt:
        told.say("not read", f"one-off charge: {read.doubt}")
    return None if read.amount is None else as_decimal(read.amount)


# --- what differs ----------------------------------------------------------------------------------------


def _echo(line: SentLine, cells: Mapping[str, Cell], told: _Told) -> None:
    """Say which cells that were sent have come back changed."""
    for heading, before in line.shown.items():
        asked = quantity_in(heading)
        cell = cells.get(f"{asked[0]} {asked[1]}" if asked else heading_key(heading))
        if cell is None or _same(cell, before):
            continue
        words = f"{heading}: {quoted(cell.text)} instead of {quoted(before)}"
        if asked or heading == "quantity in one":
            told.changed.add(heading)
            told.say("changed quantity", f"{words}; a price for it does not count")
        elif heading == "unit":
            told.changed.add(heading)
            told.say("changed unit", f"{words}; no price of this line counts")
        elif heading in _MAKERS:
            told.say("substituted", words)
        else:
            told.say("changed text", words)


def _same(cell: Cell, before: str) -> bool:
    if folded(cell.text) == folded(before):
        return True
    number = cell.number if cell.number is not None else read_number(cell.text, ".")[0]
    asked = read_number(before, ".")[0]
    return number is not None and number == asked


def _substituted(line: SentLine, read: AnswerLine, told: _Told) -> None:
    if not line.makers or not read.number:
        return
    if _bare(read.number) not in {_bare(number) for number in line.makers}:
        silent = "" if read.remark else ", and no remark says why"
        offered = f"{read.maker} {read.number}".strip()
        told.say("substituted", f"{quoted(offered)} instead of {' or '.join(line.makers)}{silent}")


def _bare(number: str) -> str:
    """Return a maker's number as it is compared: blanks and capitals do not make another part."""
    return folded(number).replace(" ", "")


def _in_force(read: AnswerLine, told: _Told, today: dt.date) -> AnswerLine:
    if read.valid_until is None:
        told.say("no validity", "no day is stated until which the price holds")
    elif read.valid_until < today:
        told.say("expired", f"held until {read.valid_until}; no price of this line counts on {today}")
        return replace(read, prices=(None,) * len(read.prices))
    return read
