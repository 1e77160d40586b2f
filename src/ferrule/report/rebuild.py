"""`rebuild` in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from msgspec.structs import replace

from ferrule.compute.lock_form import Lock
from ferrule.compute.rebuild import Gap, Priced, Rebuild
from ferrule.model.exact import shown_amount
from ferrule.report.document import Amount, Cell, Column, Document, Table

__all__ = ["describe_rebuild"]

_CAUTION = (
    "What is not listed here is not thereby safe: tests, certificates and the law may ask for more. Prices and "
    "times are those of the quotes on record; ask again before you rely on them."
)


def describe_rebuild(lock: Lock, answers: Sequence[Rebuild], day: str, label: str) -> Document:
    """Return what is missing to build a frozen build today, and price and lead time now against then."""
    gaps = _merged(answers)
    facts: list[tuple[str, Cell]] = [
        ("missing", len(gaps)),
        ("frozen", str(lock.day)),
        ("day", day),
        ("known today from", label),
        ("quantity", answers[0].qty if answers else None),
    ]
    counted = "nothing is missing" if not gaps else f"{len(gaps)} gaps" if len(gaps) > 1 else "1 gap"
    tables = [_gaps(gaps)] if gaps else []
    tables += [_prices(answer) for answer in answers if answer.prices]
    return Document(
        key="rebuild",
        title=f"To build {lock.name} again: {counted}",
        facts=tuple(facts),
        tables=tuple(tables),
        notes=tuple(note for answer in answers for note in _sums(answer)),
        cautions=(_CAUTION,),
    )


def _merged(answers: Sequence[Rebuild]) -> list[Gap]:
    """Return the gaps of all answers, each once; what rests on a quote is joined."""
    found: dict[Gap, dict[str, None]] = {}
    for answer in answers:
        for gap in answer.gaps:
            found.setdefault(replace(gap, parts=()), {}).update(dict.fromkeys(gap.parts))
    return [replace(gap, parts=tuple(sorted(parts))) for gap, parts in found.items()]


def _gaps(gaps: Sequence[Gap]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            gap.kind,
            gap.number,
            gap.words,
            len(gap.parts) if gap.parts else "",
            gap.then,
            gap.now,
            " ".join(gap.parts),
        )
        for gap in gaps
    ]
    columns = (
        Column("kind", "missing"),
        Column("number", "of"),
        Column("words", "what"),
        Column("count", "parts", "number"),
        Column("then", "then", rank=1),
        Column("now", "now", rank=1),
        Column("parts", "the parts", in_text=False),
    )
    return Table(key="gaps", title="Missing", columns=columns, rows=rows)


def _prices(answer: Rebuild) -> Table:
    rows = [_row(row) for row in answer.prices if _moved(row)]
    columns = (
        Column("part", "part"),
        Column("quantity", "needed", "number"),
        Column("then", "each then", "number"),
        Column("now", "each now", "number"),
        Column("currency", "currency"),
        Column("change", "change", "number"),
        Column("lead_then", "lead then"),
        Column("lead_now", "lead now"),
    )
    same = len(answer.prices) - len(rows)
    notes = (f"{same} of {len(answer.prices)} parts have the price and lead time of then",) if same else ()
    return Table(
        key=f"prices_{answer.sku.lower().replace('-', '_')}",
        title=f"{answer.sku}: price and lead time, then and now",
        columns=columns,
        rows=rows,
        notes=notes,
    )


def _moved(row: Priced) -> bool:
    return row.then is None or row.then != row.now or row.lead_then != row.lead_now


def _row(row: Priced) -> tuple[Cell, ...]:
    then, now = row.then, row.now
    currencies = dict.fromkeys(money.currency for money in (then, now) if money is not None)
    change = None
    if then is not None and now is not None and then.currency == now.currency:
        change = Amount(now.number - then.number, 4)
    return (
        row.part,
        Amount(row.qty, 4, trim=True) if row.qty is not None else None,
        Amount(then.number, 4) if then is not None else None,
        Amount(now.number, 4) if now is not None else None,
        " / ".join(currencies),
        change,
        row.lead_then or None,
        row.lead_now or None,
    )


def _sums(answer: Rebuild) -> list[str]:
    if not answer.prices:
        return []
    then = _money(answer.sum_then, answer.without_then, len(answer.prices))
    now = _money(answer.sum_now, answer.without_now, len(answer.prices))
    return [f"{answer.sku}: bought parts {then} then, {now} now, at the price of the quantity needed"]


def _money(sums: Mapping[str, Fraction], without: int, of: int) -> str:
    words = (
        " + ".join(f"{shown_amount(number, 2)} {currency}" for currency, number in sums.items())
        or "nothing known"
    )
    return f"at least {words} ({without} of {of} have no price)" if without else words
