"""`quote compare` in words: one firm a row, the equal basis first, then the whole, the unit, the cash, the way out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from msgspec import Struct

from ferrule.compute.cash import Cash
from ferrule.compute.cost import UnitCost
from ferrule.compute.leaving import Leaving
from ferrule.compute.quote_compare import Compared
from ferrule.model.answers import Answer
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.quote_pack import DISCLOSED
from ferrule.report.wording import CAUTION, listed

__all__ = ["OutcomeRow", "describe_comparison"]

_PLACES = 6


class OutcomeRow(Struct, frozen=True, kw_only=True):
    """What one answer makes of the product, as the report shows it."""

    costs: Sequence[UnitCost]
    holes: Sequence[bool]
    cash: Cash | None
    leaving: Leaving


def describe_comparison(
    product: Product,
    answers: Sequence[Answer],
    compared: Compared,
    outcomes: Sequence[OutcomeRow],
    facts: Sequence[tuple[str, str]],
) -> Document:
    """Return the report on answers compared."""
    home = product.head.currency
    names = _names(product, answers)
    basis = ", ".join(
        f"{compared.in_basis(qty)} of {compared.asked(qty)} at {qty:,}" for qty in compared.quantities
    )
    return Document(
        key="quote_compare",
        title=f"Quotes of {listed(names)}",
        facts=(("lines that all priced", basis), *facts),
        tables=(
            _basis(compared, names, home),
            _whole(compared, answers, names, home),
            *_outcomes(outcomes, names, home),
            _lines(compared, names, home),
        ),
        notes=tuple(_notes(answers, names, outcomes)),
        cautions=(DISCLOSED, CAUTION),
    )


def _names(product: Product, answers: Sequence[Answer]) -> list[str]:
    """Return the firms' names, with the file where a firm answered twice."""
    firms = [
        product.firms[each.recipient].name if each.recipient in product.firms else each.recipient
        for each in answers
    ]
    twice = {name for name, many in Counter(firms).items() if many > 1}
    return [
        f"{name} ({each.file})" if name in twice else name for name, each in zip(firms, answers, strict=True)
    ]


def _basis(compared: Compared, names: Sequence[str], home: str) -> Table:
    columns = [Column("firm", "firm")]
    for qty in compared.quantities:
        columns += [Column(f"total_{qty}", f"at {qty:,}", "number"), Column(f"least_{qty}", "")]
    rows: list[tuple[Cell, ...]] = []
    for name, totals in zip(names, compared.totals, strict=True):
        cells: list[Cell] = [name]
        for each in totals:
            cells += [None if each.basis is None else Amount(each.basis), "least" if each.least else ""]
        rows.append(tuple(cells))
    title = f"Equal basis: what all priced as asked, {home}"
    return Table(key="basis", title=title, columns=tuple(columns), rows=rows)


def _whole(compared: Compared, answers: Sequence[Answer], names: Sequence[str], home: str) -> Table:
    columns = [Column("firm", "firm")]
    for qty in compared.quantities:
        columns += [
            Column(f"bound_{qty}", ""),
            Column(f"whole_{qty}", f"at {qty:,}", "number"),
            Column(f"holes_{qty}", "holes", "number"),
        ]
    columns += [
        Column("charges", "one-off", "number"),
        Column("substitutes", "substitutes", "number", rank=1),
        Column("terms", "terms", rank=2),
    ]
    rows: list[tuple[Cell, ...]] = []
    for name, answer, totals, charge in zip(names, answers, compared.totals, compared.charges, strict=True):
        cells: list[Cell] = [name]
        for each in totals:
            cells += ["at least" if each.holes else "", Amount(each.whole), each.holes]
        most = max((each.substituted for each in totals), default=0)
        cells += [None if charge is None else Amount(charge) if charge else "", most, _terms(answer)]
        rows.append(tuple(cells))
    return Table(key="whole", title=f"Everything each priced, {home}", columns=tuple(columns), rows=rows)


def _terms(answer: Answer) -> str:
    terms = dict.fromkeys(str(line.incoterm) for line in answer.asked if line.incoterm is not None)
    return ", ".join(terms) or "no term stated"


def _outcomes(outcomes: Sequence[OutcomeRow], names: Sequence[str], home: str) -> Iterator[Table]:
    """Yield two tables: the unit at each volume, and cash and the way out."""
    if outcomes[0].costs:
        yield _units(outcomes, names, home)
    cash = any(each.cash is not None for each in outcomes)
    columns = [Column("firm", "firm")]
    if cash:
        columns += [
            Column("trough_bound", ""),
            Column("trough", "cash trough", "number"),
            Column("week", "in week", "number"),
        ]
    columns += [
        Column("exit_bound", ""),
        Column("exit_weeks", "weeks to leave", "number"),
        Column("exit_money", "money to leave", "number"),
    ]
    rows = [(name, *_after(each, cash=cash)) for name, each in zip(names, outcomes, strict=True)]
    title = f"Cash and the way out, if all of the answer were agreed, {home}"
    yield Table(key="outcome", title=title, columns=tuple(columns), rows=rows)


def _units(outcomes: Sequence[OutcomeRow], names: Sequence[str], home: str) -> Table:
    columns = [Column("firm", "firm")]
    for cost in outcomes[0].costs:
        key = cost.ask.name.replace(",", "")
        columns += [
            Column(f"unit_bound_{key}", ""),
            Column(f"unit_{key}", f"at {cost.ask.name}", "number"),
        ]
    rows: list[tuple[Cell, ...]] = []
    for name, outcome in zip(names, outcomes, strict=True):
        cells: list[Cell] = [name]
        for cost, hole in zip(outcome.costs, outcome.holes, strict=True):
            cells += ["at least" if cost.is_bound or hole else "", Amount(cost.total)]
        rows.append(tuple(cells))
    title = f"One good, landed unit, if all of the answer were agreed, {home}"
    return Table(key="units", title=title, columns=tuple(columns), rows=rows)


def _after(outcome: OutcomeRow, *, cash: bool) -> Iterator[Cell]:
    if cash and outcome.cash is not None:
        trough = outcome.cash.ledger.trough
        yield "at most" if outcome.cash.unknown else ""
        yield Amount(trough.balance)
        yield trough.number
    elif cash:
        yield from ("", None, None)
    if not outcome.leaving.ways:
        yield from ("", "", "")
        return
    days = outcome.leaving.days
    yield "at least" if outcome.leaving.unknown else ""
    yield None if days is None else -(-days // 7)
    yield Amount(outcome.leaving.money)


def _lines(compared: Compared, names: Sequence[str], home: str) -> Table:
    columns = (
        Column("part", "our part", whole=True),
        Column("qty", "for", "number"),
        Column("amount", "amount", "number"),
        *(Column(f"price_{at}", f"{name}, {home}", "number") for at, name in enumerate(names, 1)),
        Column("why_not", "not in the basis"),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            line.part,
            line.qty,
            None if line.amount is None else Amount(line.amount, 3, trim=True),
            *(None if price is None else Amount(price, _PLACES, trim=True) for price in line.prices),
            line.why_not,
        )
        for line in compared.lines
    ]
    return Table(key="lines", title="Price of one, line by line", columns=columns, rows=rows)


def _notes(answers: Sequence[Answer], names: Sequence[str], outcomes: Sequence[OutcomeRow]) -> Iterator[str]:
    terms = {_terms(answer) for answer in answers}
    if len(terms) > 1:
        yield (
            "Delivery terms differ, so the totals do not hold the same stretch of the way: "
            + "; ".join(f"{name} {_terms(answer)}" for name, answer in zip(names, answers, strict=True))
            + "."
        )
    for name, outcome in zip(names, outcomes, strict=True):
        holes = list(dict.fromkeys(each for cost in outcome.costs for each in cost.unknown))
        if holes:
            more = f" and {len(holes) - 6} more" if len(holes) > 6 else ""
            yield f"{name}, not known of a unit: {'; '.join(holes[:6])}{more}."
        if outcome.cash is not None and outcome.cash.unknown:
            count = len(set(outcome.cash.unknown))
            yield f"{name}: {count} {'payment lacks' if count == 1 else 'things lack'} a day or an amount and are in no balance."
    yield "What is not asked of a firm stays as it is in the product: yields, other parts, other firms, the way home."
