"""`invoice` in words: what is asked, what was agreed, and the difference in money."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.invoice import Checked, CheckedInvoice
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, listed, money

__all__ = ["describe_invoice"]


def describe_invoice(found: CheckedInvoice, state: str, notes: tuple[str, ...]) -> Document:
    """Return an invoice checked; ``state`` is the revision whose quotes counted."""
    invoice = found.invoice
    columns = (
        Column("name", "part or charge"),
        Column("order", "order", rank=1),
        Column("qty", "asked", "number"),
        Column("agreed_qty", "to come", "number", rank=2),
        Column("each", "at", "number"),
        Column("agreed_each", "agreed", "number"),
        Column("price", "by price", "number", rank=3),
        Column("quantity", "by quantity", "number", rank=3),
        Column("difference", "difference", "number"),
        Column("remark", "because"),
    )
    return Document(
        key="invoice",
        title=f"Invoice {invoice.number} of {invoice.seller}",
        facts=(
            ("date", invoice.date.isoformat()),
            ("ordered", found.ordered.isoformat()),
            ("quotes of", state),
            ("currency", invoice.currency),
            ("amount", Amount(found.amount)),
            ("asked beyond what was agreed", Amount(found.difference)),
        ),
        tables=(Table(key="lines", columns=columns, rows=[_row(row) for row in found.rows]),),
        notes=(*_says(found), *notes),
        cautions=(CAUTION,),
    )


def _row(row: Checked) -> tuple[Cell, ...]:
    return (
        row.name,
        row.order,
        "" if row.qty is None else Amount(row.qty, 3, trim=True),
        "" if row.agreed_qty is None else Amount(row.agreed_qty, 3, trim=True),
        Amount(row.each, 4),
        None if row.agreed_each is None else Amount(row.agreed_each, 4),
        _money(row.price),
        Amount(row.quantity),
        _money(row.difference),
        "; ".join(row.words),
    )


def _money(amount: Fraction | None) -> Cell:
    return None if amount is None else Amount(amount)


def _says(found: CheckedInvoice) -> Iterator[str]:
    if found.is_as_agreed:
        yield "as agreed"
    if found.unknown:
        yield f"never agreed, so in no difference: {listed(found.unknown)}"
    if found.difference:
        word = "more" if found.difference > 0 else "less"
        yield f"{money(abs(found.difference))} {found.invoice.currency} {word} than was agreed"
