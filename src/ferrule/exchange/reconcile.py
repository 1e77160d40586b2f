"""Counts to reconcile an import with its file, and the file's own totals held against what its lines come to."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.exchange.cells import read_price
from ferrule.exchange.grid import Cell
from ferrule.exchange.recognised import Cost, Counts, Line, Place, Stated
from ferrule.exchange.words import folded
from ferrule.model.exact import exact, shown_amount

__all__ = ["StatedRow", "check_stated", "count_lines"]

Of = Literal["cost", "quantity", "lines", "charge"]


class StatedRow(Struct, frozen=True, kw_only=True):
    """A stated total before it is checked: ``cells`` are its numbers with the meaning of their column.

    ``before`` is how many lines of the file stand above it, ``table`` the table it stands in (None: above one).
    """

    place: Place
    label: str
    cells: tuple[tuple[str, Cell], ...]
    before: int
    table: int | None
    mark: Literal[".", ",", ""] = ""


def count_lines(lines: Sequence[Line], sources: int, meanings: frozenset[str]) -> Counts:
    """Return the counts of all lines; ``meanings`` are those that any column of the file has."""
    leaves = [line for line in lines if not line.assembly]
    sellers = meanings & {"seller", "seller_part"}
    either = meanings & {"maker"} or sellers
    return Counts(
        lines=len(lines),
        assemblies=len(lines) - len(leaves),
        not_fitted=sum(1 for line in lines if line.fitted is False),
        sources=sources,
        quantity=_quantity(lines),
        leaf_quantity=_quantity(leaves),
        fitted_quantity=_quantity(line for line in lines if line.fitted is not False),
        left_out=_where(lines, lambda line: line.quantity.number is not None and not line.quantity.plain),
        unread=_where(lines, lambda line: line.quantity.number is None),
        differ=_where(lines, lambda line: line.differs),
        without_maker=_where(lines, lambda line: not _has_maker(line)) if "maker" in meanings else None,
        without_seller=_where(lines, lambda line: not _has_seller(line)) if sellers else None,
        without_link=_where(lines, lambda line: not any(one.link for one in line.supplies))
        if "link" in meanings
        else None,
        without_either=_where(lines, lambda line: not _has_maker(line) and not _has_seller(line))
        if either
        else None,
        without_source=_where(lines, lambda line: not _has_source(line)),
        unpriced=_where(lines, lambda line: _each(line) is None)
        if meanings & {"price", "pack_price"}
        else None,
        any_maker=sum(1 for line in leaves if any(one.kind == "any" for one in line.supplies)),
        to_drawing=sum(1 for line in leaves if any(one.kind == "drawing" for one in line.supplies)),
        costs=_costs(lines),
        repeated_places=_repeated(lines),
    )


def _where(lines: Sequence[Line], test: Callable[[Line], bool]) -> tuple[int, ...]:
    return tuple(at for at, line in enumerate(lines) if test(line))


def _quantity(lines: Iterable[Line]) -> Decimal:
    with exact():
        return sum((line.quantity.number or Decimal(0) for line in lines if line.quantity.plain), Decimal(0))


def _has_maker(line: Line) -> bool:
    return any(one.maker or one.kind for one in line.supplies)


def _has_seller(line: Line) -> bool:
    return any(one.seller or one.seller_part for one in line.supplies)


def _has_source(line: Line) -> bool:
    return _has_maker(line) or _has_seller(line) or any(one.link for one in line.supplies)


def _each(line: Line) -> Fraction | None:
    return next((price for price in (one.each() for one in line.supplies) if price is not None), None)


def _currency(line: Line) -> str:
    return next((one.currency for one in line.supplies if one.each() is not None), "")


def _costs(lines: Iterable[Line]) -> tuple[Cost, ...]:
    """Return quantity times price by currency, with the sum of the written line totals."""
    by_price: dict[str, Fraction] = {}
    totals: dict[str, Fraction] = {}
    priced: Counter[str] = Counter()
    for line in lines:
        each = _each(line)
        if each is not None and line.quantity.number is not None:
            currency = _currency(line)
            by_price[currency] = by_price.get(currency, Fraction(0)) + each * Fraction(line.quantity.number)
            priced[currency] += 1
        if line.line_total is not None and line.line_total.amount is not None:
            currency = line.line_total.currency or _currency(line)
            totals[currency] = totals.get(currency, Fraction(0)) + Fraction(line.line_total.amount)
    return tuple(
        Cost(
            currency=name,
            by_price=by_price.get(name, Fraction(0)),
            by_line_totals=totals.get(name),
            priced=priced[name],
        )
        for name in sorted(by_price.keys() | totals.keys())
    )


def _repeated(lines: Sequence[Line]) -> tuple[str, ...]:
    """Return designators that stand more than once in one table."""
    seen: Counter[tuple[int, str]] = Counter(
        (line.table, name) for line in lines for name in line.designators.names
    )
    return tuple(sorted({name for (_, name), many in seen.items() if many > 1}))


# --- stated totals ---------------------------------------------------------------------------------------

_OF_LINES = re.compile(r"\b(?:lines?|unique|rows?|positions?|positionen|line items?|different)\b")
_OF_QUANTITY = re.compile(
    r"\b(?:qty|quantity|components?|parts?|pieces|pcs|count|bauteile|stuck|menge|anzahl|placements|quantite|cantidad|ilosc|pocet|antal)\b|数|кол"
)
_OF_CHARGE = re.compile(r"\b(?:tax|vat|shipping|freight|mwst|versand|tva|iva|discount|rabatt|porto)\b")
_OF_COST = re.compile(
    r"\b(?:cost|price|preis|kosten|amount|prix|precio|prezzo|cena)\b|金額|金额|价|цена|стоимость"
)


def check_stated(rows: Sequence[StatedRow], lines: Sequence[Line]) -> tuple[Stated, ...]:
    """Return every stated total with what the lines come to, of the scope that agrees, else the nearest one."""
    found: list[Stated] = []
    start = 0
    table: int | None = None
    for row in rows:
        if row.table != table:
            table, start = (
                row.table,
                next((at for at, line in enumerate(lines) if line.table == row.table), 0),
            )
        for meaning, cell in row.cells:
            price = read_price(cell, row.mark)
            if price.amount is None:
                continue
            of = _of(row.label, meaning, bool(price.currency))
            found.append(_checked(row, price.amount, of, lines, start))
        if row.table is not None:
            start = row.before
    return tuple(found)


def _of(label: str, meaning: str, money: bool) -> Of:  # noqa: FBT001
    word = folded(label)
    if _OF_CHARGE.search(word):
        return "charge"
    if money or meaning in {"line_total", "price", "pack_price"}:
        return "cost"
    if _OF_LINES.search(word):
        return "lines"
    if meaning == "quantity" or (_OF_QUANTITY.search(word) and not _OF_COST.search(word)):
        return "quantity"
    return "cost"


def _checked(row: StatedRow, amount: Decimal, of: Of, lines: Sequence[Line], start: int) -> Stated:
    if of == "charge":
        return Stated(place=row.place, label=row.label, amount=amount, of=of)
    above = [line for line in lines[: row.before] if line.table == row.table]
    scopes = [
        ("the lines since the last total", lines[start : row.before]),
        ("the lines above in its table", above),
        ("all lines above", lines[: row.before]),
        ("all lines", lines),
    ]
    if row.table is None:
        scopes = [
            ("all lines", lines),
            (
                "the table below",
                [line for line in lines[row.before :] if line.table == lines[row.before].table]
                if row.before < len(lines)
                else [],
            ),
        ]
    first: Stated | None = None
    for scope, chosen in scopes:
        if not chosen:
            continue
        computed, totals = _computed(of, chosen)
        agrees = _same(amount, computed) or _same(amount, totals)
        stated = Stated(
            place=row.place,
            label=row.label,
            amount=amount,
            of=of,
            scope=scope,
            computed=computed,
            by_line_totals=totals,
            agrees=agrees if computed is not None or totals is not None else None,
        )
        if agrees:
            return stated
        first = first or stated
    return first or Stated(place=row.place, label=row.label, amount=amount, of=of)


def _computed(of: Of, lines: Sequence[Line]) -> tuple[Fraction | None, Fraction | None]:
    if of == "lines":
        return Fraction(len(lines)), None
    if of == "quantity":
        return Fraction(_quantity(lines)), None
    costs = _costs(lines)
    if len(costs) != 1:
        return None, None
    return (costs[0].by_price if costs[0].priced else None), costs[0].by_line_totals


def _same(amount: Decimal, computed: Fraction | None) -> bool:
    """Return whether a computed amount, shown with the decimals of the stated one, is the stated one."""
    if computed is None:
        return False
    places = max(0, -int(amount.as_tuple().exponent))
    return shown_amount(computed, places, separator=False) == shown_amount(amount, places, separator=False)
