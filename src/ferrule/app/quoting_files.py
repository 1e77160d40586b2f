"""The files of a request for a quote: sheet, workbook and cover that are sent; record and statement that are ours."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct

from ferrule.compute.disclosure import Slice, SliceLine, watermark_of
from ferrule.compute.inference import Inferred, Revealed
from ferrule.exchange.quote_columns import FILLED
from ferrule.exchange.quote_sheet import SheetColumn, SheetLine, quote_table, shown_cells
from ferrule.exchange.table_out import OutTable, csv_bytes, xlsx_bytes
from ferrule.load.toml_text import block_text
from ferrule.model.incoterms import Incoterm
from ferrule.model.product import Product
from ferrule.model.records.firms import Firm
from ferrule.report.quote_texts import Cover, cover_text, statement_text

__all__ = ["Made", "make_pack"]


class Made(Struct, frozen=True, kw_only=True):
    """A pack made: the files to send by name, and the record of it as it stands in a file."""

    product: str
    recipient: str
    watermark: str
    files: Mapping[str, bytes]
    digests: Mapping[str, str]
    cover: str
    headings: tuple[str, ...]
    agreement: str
    record: str
    facts: tuple[tuple[str, str], ...]

    @property
    def record_path(self) -> str:
        """Return where the record goes, inside the product's folder."""
        return f"disclosures/{self.watermark}.toml"

    @property
    def statement_path(self) -> str:
        """Return where the statement goes, inside the product's folder."""
        return f"disclosures/{self.watermark}.txt"

    def ours(self, reveals: Iterable[Revealed], infers: Iterable[Inferred]) -> dict[str, str]:
        """Return the files that stay ours by path: the record, and the statement of what the pack reveals."""
        title = f"Disclosure statement for {self.watermark}"
        return {
            self.record_path: self.record,
            self.statement_path: statement_text(title, self.facts, reveals, infers),
        }


def make_pack(  # noqa: PLR0913  one argument for each thing a pack is made from
    product: Product,
    firm: Firm,
    found: Slice,
    *,
    day: dt.date,
    key: str,
    term: Incoterm | None,
    sheets: Sequence[str],
) -> Made:
    """Return the pack of a slice. The same slice on the same day gives the same bytes."""
    currency = firm.currency or product.head.currency
    lines = [
        SheetLine(
            id=line.id,
            texts={field.key: line.text(field.key) for field in found.fields},
            amounts=line.amounts,
            priced=not line.opaque,
        )
        for line in found.lines
    ]
    columns = [
        SheetColumn(each.key, each.heading, each.kind == "number", each.about) for each in found.fields
    ]
    watermark = watermark_of(key, found.recipient, day, _content(lines, found, currency, term))
    table = quote_table(
        lines, columns, found.quantities, watermark=watermark, currency=currency, incoterm=str(term or "")
    )
    files = {f"request-{watermark}.{form}": _sheet(table, form) for form in sheets}
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    paper = firm.disclosure.agreement if firm.disclosure is not None else None
    agreement = paper.title if paper is not None else ""
    cover = cover_text(
        Cover(
            sender=product.head.company or "us",
            recipient=f"{firm.name}, {firm.contact}" if firm.contact else firm.name,
            day=day,
            watermark=watermark,
            quantities=found.quantities,
            of_each=found.root is None,
            currency=currency,
            incoterm=str(term or ""),
            agreement=agreement,
            fill=[(each.heading, each.about) for each in FILLED],
            files=digests,
        )
    )
    files[f"cover-{watermark}.txt"] = cover.encode()
    fields: dict[str, Any] = {"recipient": found.recipient, "sent": day, "key": key, "level": found.level}
    if paper is not None:
        fields["agreement"] = paper.title
        fields |= {"agreement_until": paper.valid_until} if paper.valid_until is not None else {}
    fields |= {"assembly": found.root} if found.root is not None else {}
    fields |= {"quantities": list(found.quantities), "currency": currency}
    fields |= {"incoterm": str(term)} if term is not None else {}
    return Made(
        product=product.head.id,
        recipient=found.recipient,
        watermark=watermark,
        files=files,
        digests=digests,
        cover=cover,
        headings=tuple(column.heading for column in table.columns),
        agreement=agreement,
        record=_record(watermark, {**fields, "files": digests}, found.lines, shown_cells(table)),
        facts=_facts(firm, found, day, agreement),
    )


def _sheet(table: OutTable, form: str) -> bytes:
    return xlsx_bytes([table]) if form == "xlsx" else csv_bytes(table, guarded=True)


def _content(lines: Sequence[SheetLine], found: Slice, currency: str, term: Incoterm | None) -> str:
    head = [found.level, str(found.root), str(found.quantities), currency, str(term or "")]
    return "\0".join([*head, *(f"{line.id}{dict(line.texts)}{list(line.amounts)}" for line in lines)])


def _facts(firm: Firm, found: Slice, day: dt.date, agreement: str) -> tuple[tuple[str, str], ...]:
    return (
        ("to", f"{firm.name} ({found.recipient})"),
        ("made on", day.isoformat()),
        ("level", found.level),
        ("under", agreement or "no agreement"),
        ("lines", str(len(found.lines))),
    )


def _record(
    watermark: str, fields: Mapping[str, Any], lines: Sequence[SliceLine], shown: Sequence[Mapping[str, str]]
) -> str:
    head = [
        "#:schema ../.ferrule/schema/disclosures.schema.json\n",
        "# A request as it was sent. `quote read` matches the answer by it: leave it as it is, and never send it.\n",
    ]
    blocks = [block_text(("disclosure", watermark), fields)]
    for line, cells in zip(lines, shown, strict=True):
        row: dict[str, Any] = {"id": line.id, "part": line.part}
        row |= {"supplied_by_us": True} if line.opaque else {}
        known = [amount for amount in line.amounts if amount is not None]
        row |= {"asked": known} if known and len(known) == len(line.amounts) else {}
        row |= {"makers": list(line.makers)} if line.makers else {}
        blocks.append(block_text(("disclosure", watermark, "line"), {**row, "shown": dict(cells)}, many=True))
    return "\n".join([*head, *blocks])
