"""`quote sent` in words: what was disclosed, to whom, when and under which paper."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ferrule.model.product import Product
from ferrule.model.records.disclosures import Sent
from ferrule.report.document import Cell, Column, Document, Table
from ferrule.report.quote_pack import DISCLOSED
from ferrule.report.wording import CAUTION

__all__ = ["describe_sent"]

Where = Callable[..., str]


def describe_sent(product: Product, sents: Mapping[str, Sent], label: str, where: Where) -> Document:
    """Return the report on requests as they were sent, the oldest first."""
    ordered = sorted(sents.items(), key=lambda row: (row[1].sent, row[0]))
    requests: list[tuple[Cell, ...]] = [
        (
            sent.sent.isoformat(),
            _name(product, sent),
            sent.level,
            len(sent.line),
            f"{sent.assembly or 'single parts'} at {', '.join(f'{qty:,}' for qty in sent.quantities)}",
            _paper(sent),
            mark,
            where("disclosure", mark),
        )
        for mark, sent in ordered
    ]
    columns = (
        Column("sent", "sent", whole=True),
        Column("to", "to"),
        Column("level", "level"),
        Column("lines", "lines", "number"),
        Column("asked", "asked for"),
        Column("paper", "under", rank=1),
        Column("mark", "mark", whole=True),
        Column("place", "where", rank=2, whole=True),
    )
    files: list[tuple[Cell, ...]] = [
        (name, digest) for _, sent in ordered for name, digest in sent.files.items()
    ]
    tables = [Table(key="sent", columns=columns, rows=requests)] if requests else []
    if files:
        heads = (Column("file", "file", whole=True), Column("sha256", "SHA-256"))
        tables.append(Table(key="files", title="Sheets", columns=heads, rows=files))
    return Document(
        key="quote_sent",
        title="Requests for quotes sent",
        facts=(("requests", len(requests)), ("state", label)),
        tables=tuple(tables),
        notes=() if requests else ("Nothing is on record.",),
        cautions=(DISCLOSED, CAUTION),
    )


def _name(product: Product, sent: Sent) -> str:
    firm = product.firms.get(sent.recipient)
    return firm.name if firm is not None else sent.recipient


def _paper(sent: Sent) -> str:
    until = f", until {sent.agreement_until}" if sent.agreement_until is not None else ""
    return f"{sent.agreement}{until}" if sent.agreement else "no agreement"
