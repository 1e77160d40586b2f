"""Quotes on an equal basis: what all priced, at each quantity, in one currency; and each firm's whole beside it.

A line counts in the basis at a quantity where every firm priced the article that was asked, for the same amount. A
firm's whole adds all it priced and is "at least" so much while it has holes. Formula: price of one times amount asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.rates import Rates, rates_of
from ferrule.model.answers import Answer, AnswerLine
from ferrule.model.product import Product

__all__ = ["BidTotal", "Compared", "LinePrice", "compare_answers"]

_ZERO = Fraction(0)


class BidTotal(Struct, frozen=True, kw_only=True):
    """One firm at one quantity, in the home currency. ``basis`` is None where nothing was priced by all.

    ``whole`` adds what it priced, substitutes among it; ``holes`` counts lines without a price or amount, or
    in a currency without a rate.
    """

    basis: Fraction | None
    whole: Fraction
    holes: int
    substituted: int
    least: bool = False


class LinePrice(Struct, frozen=True, kw_only=True):
    """One part at one quantity: the amount asked, each firm's price of one, and why it is not in the basis."""

    part: str
    qty: int
    amount: Fraction | None
    prices: tuple[Fraction | None, ...]
    why_not: str = ""


class Compared(Struct, frozen=True, kw_only=True):
    """Answers set side by side, in the order given. ``totals`` holds for each answer one total a quantity."""

    quantities: tuple[int, ...]
    totals: tuple[tuple[BidTotal, ...], ...]
    lines: tuple[LinePrice, ...]
    charges: tuple[Fraction | None, ...]

    def in_basis(self, qty: int) -> int:
        """Return how many lines all priced at a quantity."""
        return sum(line.qty == qty and not line.why_not for line in self.lines)

    def asked(self, qty: int) -> int:
        """Return how many lines were asked of anybody at a quantity."""
        return sum(line.qty == qty for line in self.lines)


def compare_answers(product: Product, answers: Sequence[Answer]) -> Compared:
    """Return answers compared at the quantities that all were asked at; none where they have none in common."""
    rates, home = rates_of(product), product.head.currency
    common = [qty for qty in answers[0].quantities if all(qty in each.quantities for each in answers)]
    by_part = [{line.part: line for line in each.asked} for each in answers]
    parts = list(dict.fromkeys(part for lines in by_part for part in lines))
    lines = tuple(_line_price(part, qty, answers, by_part, rates, home) for qty in common for part in parts)
    totals = [tuple(_total(lines, by_part, at, qty) for qty in common) for at in range(len(answers))]
    return Compared(
        quantities=tuple(common),
        totals=_marked(totals),
        lines=lines,
        charges=tuple(_charges(each, rates, home) for each in answers),
    )


def _line_price(  # noqa: PLR0913, PLR0917  a cell of the comparison and all it is read from
    part: str,
    qty: int,
    answers: Sequence[Answer],
    by_part: Sequence[Mapping[str, AnswerLine]],
    rates: Rates,
    home: str,
) -> LinePrice:
    prices: list[Fraction | None] = []
    amounts: list[Fraction | None] = []
    why: list[str] = []
    for answer, lines in zip(answers, by_part, strict=True):
        line = lines.get(part)
        at = answer.quantities.index(qty)
        price = None if line is None else _home(line, at, rates, home)
        amount = line.amounts[at] if line is not None else None
        prices.append(price)
        if line is None:
            why.append(f"not asked of {answer.recipient}")
            continue
        amounts.append(None if amount is None else Fraction(amount))
        if price is None:
            stated = line.prices[at] is not None
            why.append(f"no rate for {line.currency}" if stated else f"no price of {answer.recipient}")
        elif line.substituted:
            why.append(f"another article of {answer.recipient}")
    if None in amounts:
        why.append("amount not known")
    elif len(set(amounts)) > 1:
        why.append("different amounts asked")
    known = next((amount for amount in amounts if amount is not None), None)
    return LinePrice(
        part=part, qty=qty, amount=known, prices=tuple(prices), why_not=", ".join(dict.fromkeys(why))
    )


def _home(line: AnswerLine, at: int, rates: Rates, home: str) -> Fraction | None:
    price = line.prices[at]
    return None if price is None else rates.convert(price, line.currency, home)


def _total(
    lines: Iterable[LinePrice], by_part: Sequence[Mapping[str, AnswerLine]], at: int, qty: int
) -> BidTotal:
    mine = [line for line in lines if line.qty == qty and line.part in by_part[at]]
    basis = [line for line in mine if not line.why_not]
    priced = [line for line in mine if line.prices[at] is not None and line.amount is not None]
    return BidTotal(
        basis=sum((_cost(line, at) for line in basis), _ZERO) if basis else None,
        whole=sum((_cost(line, at) for line in priced), _ZERO),
        holes=len(mine) - len(priced),
        substituted=sum(by_part[at][line.part].substituted for line in priced),
    )


def _cost(line: LinePrice, at: int) -> Fraction:
    return (line.prices[at] or _ZERO) * (line.amount or _ZERO)


def _marked(totals: Sequence[tuple[BidTotal, ...]]) -> tuple[tuple[BidTotal, ...], ...]:
    """Return totals with the least of each quantity marked, equal ones all; a single answer is no least."""
    least = [
        min((each.basis for each in column if each.basis is not None), default=None)
        for column in zip(*totals, strict=True)
    ]
    return tuple(
        tuple(
            replace(each, least=len(totals) > 1 and each.basis is not None and each.basis == best)
            for each, best in zip(row, least, strict=True)
        )
        for row in totals
    )


def _charges(answer: Answer, rates: Rates, home: str) -> Fraction | None:
    """Return the one-off charges of an answer; None where one cannot be converted."""
    total = _ZERO
    for line in answer.asked:
        if line.charge:
            amount = rates.convert(Fraction(line.charge), line.currency, home) if line.currency else None
            if amount is None:
                return None
            total += amount
    return total
