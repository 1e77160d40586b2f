"""`quote read` in words: what was answered, what was not, and what is not as it was asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence

from ferrule.model.answers import Answer, AnswerLine
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.quote_pack import DISCLOSED
from ferrule.report.wording import CAUTION, counted

__all__ = ["describe_answer"]

#: Digits of a price of one.
_PLACES = 6
Where = Callable[..., str]


def describe_answer(  # noqa: PLR0913  the result and what it is told with
    product: Product,
    answer: Answer,
    label: str,
    where: Where,
    *,
    written: Mapping[str, Sequence[str]],
    left: Sequence[tuple[str, str]],
    writing: bool,
) -> Document:
    """Return the report on an answer."""
    asked = answer.asked
    holes = sum(line.holes for line in asked)
    priced = sum(len(line.prices) for line in asked) - holes
    facts: tuple[tuple[str, Cell], ...] = (
        (
            "answers",
            f"{answer.watermark}, sent to {answer.recipient} on {product.disclosures[answer.watermark].sent}",
        ),
        ("read as", answer.form),
        ("lines asked", len(asked)),
        ("prices", f"{priced} that count, {holes} {'hole' if holes == 1 else 'holes'}"),
        ("not as asked", _kinds(answer)),
        ("state", label),
    )
    tables = [table for table in (_differences(answer), _lines(answer, where)) if table is not None]
    if writing:
        tables += [table for table in (_written(written), _left(left)) if table is not None]
    return Document(
        key="quote_read",
        title=f"Quote of {_name(product, answer)}",
        facts=facts,
        tables=tuple(tables),
        notes=(*_notes(written, writing=writing), *(f"{answer.file}: {note}" for note in answer.notes)),
        cautions=(DISCLOSED, CAUTION),
    )


def _name(product: Product, answer: Answer) -> str:
    firm = product.firms.get(answer.recipient)
    return firm.name if firm is not None else answer.recipient


def _kinds(answer: Answer) -> str:
    many = Counter(each.kind for each in answer.differences)
    return ", ".join(f"{count} {kind}" for kind, count in many.items()) or "nothing"


def _notes(written: Mapping[str, Sequence[str]], *, writing: bool) -> tuple[str, ...]:
    if not writing:
        return ("Nothing was written. Pass --write to add each priced line as a trial source of its part.",)
    many = sum(len(parts) for parts in written.values())
    return (
        f"{counted(many, 'source')} written, all with status trial: whoever approves them says so there.",
    )


def _differences(answer: Answer) -> Table | None:
    rows: list[tuple[Cell, ...]] = [
        (each.kind, each.row or "", each.part, each.words, each.line) for each in answer.differences
    ]
    columns = (
        Column("kind", "what"),
        Column("row", "row", "number"),
        Column("part", "our part", whole=True),
        Column("words", "how"),
        Column("line", "line id", rank=1, whole=True),
    )
    return Table(key="differences", title="Not as it was asked", columns=columns, rows=rows) if rows else None


def _lines(answer: Answer, where: Where) -> Table:
    rows = [_line(line, where) for line in answer.asked]
    columns = (
        Column("part", "our part", whole=True),
        *(Column(f"price_{qty}", f"at {qty:,}", "number") for qty in answer.quantities),
        Column("currency", ""),
        Column("term", "term"),
        Column("valid_until", "valid until"),
        Column("lead_time", "lead time"),
        Column("offered", "offered", rank=1),
        Column("place", "where", rank=2, whole=True),
    )
    return Table(key="prices", title="Prices of one", columns=columns, rows=rows)


def _line(line: AnswerLine, where: Where) -> tuple[Cell, ...]:
    return (
        line.part,
        *(None if price is None else Amount(price, _PLACES, trim=True) for price in line.prices),
        line.currency,
        str(line.incoterm or ""),
        line.valid_until.isoformat() if line.valid_until is not None else None,
        str(line.lead_time) if line.lead_time is not None else None,
        " ".join(text for text in (line.maker, line.number) if text),
        where("part", line.part) or where("assembly", line.part),
    )


def _written(written: Mapping[str, Sequence[str]]) -> Table | None:
    rows: list[tuple[Cell, ...]] = [
        (file, len(parts), ", ".join(parts)) for file, parts in sorted(written.items())
    ]
    columns = (
        Column("file", "file", whole=True),
        Column("sources", "sources", "number"),
        Column("parts", "parts"),
    )
    return Table(key="written", title="Written", columns=columns, rows=rows) if rows else None


def _left(left: Sequence[tuple[str, str]]) -> Table | None:
    columns = (Column("part", "our part", whole=True), Column("why", "why"))
    rows: list[tuple[Cell, ...]] = list(left)
    return Table(key="left", title="Not written", columns=columns, rows=rows) if rows else None
