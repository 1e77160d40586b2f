"""`quote pack` in words: what a request reveals, what a reader could infer, and where a secret word forbids it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct

from ferrule.compute.disclosure import SecretPlace, Slice
from ferrule.compute.inference import Inferred, Revealed
from ferrule.model.product import Product
from ferrule.report.document import Amount, Cell, Column, Document, Table
from ferrule.report.wording import CAUTION, counted

__all__ = ["DISCLOSED", "PackFacts", "describe_pack"]

DISCLOSED = (
    "Git remembers: what a repository once held stays in its history. Who may read the repository may read every "
    "record of what was sent, every price and every quote; quotes are often confidential between you and the firm."
)
Where = Callable[..., str]


class PackFacts(Struct, frozen=True, kw_only=True):
    """What is told of a pack beside its slice: its mark, paper, files with hashes, and where it was written."""

    watermark: str
    agreement: str
    digests: Sequence[tuple[str, str]]
    record: str
    written: str
    label: str


def describe_pack(  # noqa: PLR0913  the result and what it is told with
    product: Product,
    found: Slice,
    reveals: Sequence[Revealed],
    infers: Sequence[Inferred],
    secrets: Sequence[SecretPlace],
    *,
    facts: PackFacts,
    where: Where,
) -> Document:
    """Return the report on a pack, or on what forbids it."""
    name = product.firms[found.recipient].name
    opaque = sum(line.opaque for line in found.lines)
    lines = f"{len(found.lines)}, of which {opaque} supplied by us" if opaque else str(len(found.lines))
    rows: tuple[tuple[str, Cell], ...] = (
        ("level", found.level),
        ("under", facts.agreement or "no agreement; an outline needs none"),
        (
            "asks for",
            f"{found.root or 'single parts'} at {', '.join(f'{qty:,}' for qty in found.quantities)}",
        ),
        ("lines", lines),
        ("mark", facts.watermark if not secrets else "none, for nothing may be sent"),
        ("state", facts.label),
    )
    tables = [_secrets(secrets, where)] if secrets else [_reveals(reveals), _infers(infers), *_files(facts)]
    return Document(
        key="quote_pack",
        title=f"Request for a quote to {name}",
        facts=rows,
        tables=(*tables, _lines(product, found)),
        notes=_notes(facts, secrets),
        cautions=(DISCLOSED, CAUTION),
    )


def _notes(facts: PackFacts, secrets: Sequence[SecretPlace]) -> tuple[str, ...]:
    if secrets:
        return (
            (
                f"Nothing was written: a secret word stands in {counted(len(secrets), 'place')}. Word it otherwise, or "
                "clear the firm for it with cleared_words in its disclosure."
            ),
        )
    if not facts.written:
        return ("Nothing was written. Pass --to with a folder to write the pack and to record it.",)
    return (
        (
            f"The pack is in {facts.written}. Its record is {facts.record}, with the statement beside it; commit both, "
            "send neither."
        ),
    )


def _secrets(secrets: Sequence[SecretPlace], where: Where) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            each.word,
            each.piece.text if len(each.piece.text) <= 80 else f"{each.piece.text[:79]}…",
            ".".join(map(str, each.piece.path)) or each.piece.kind,
            where(each.piece.kind, each.piece.number, *each.piece.path),
        )
        for each in secrets
    ]
    columns = (
        Column("word", "secret word"),
        Column("text", "stands in"),
        Column("field", "field", rank=1),
        Column("place", "where", whole=True),
    )
    return Table(key="secret_words", title="What forbids it", columns=columns, rows=rows)


def _reveals(reveals: Sequence[Revealed]) -> Table:
    rows: list[tuple[Cell, ...]] = [(row.heading, row.level, row.lines, row.example) for row in reveals]
    columns = (
        Column("field", "field"),
        Column("level", "from level"),
        Column("lines", "lines", "number"),
        Column("example", "such as"),
    )
    return Table(key="reveals", title="What it reveals", columns=columns, rows=rows)


def _infers(infers: Sequence[Inferred]) -> Table:
    rows: list[tuple[Cell, ...]] = [(row.what, row.words) for row in infers]
    columns = (Column("what", "what"), Column("from", "from"))
    return Table(key="infers", title="What a reader could infer", columns=columns, rows=rows)


def _files(facts: PackFacts) -> list[Table]:
    rows: list[tuple[Cell, ...]] = list(facts.digests)
    columns = (Column("file", "file", whole=True), Column("sha256", "SHA-256"))
    return [Table(key="files", title="Sheets", columns=columns, rows=rows)]


def _lines(product: Product, found: Slice) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for line in found.lines:
        item = product.item(line.part)
        amounts = [None if amount is None else Amount(amount, 3, trim=True) for amount in line.amounts]
        asked = "no price" if line.opaque else "work" if line.work else "price"
        rows.append((line.id, line.part, item.name if item is not None else None, asked, *amounts, line.unit))
    columns = (
        Column("line", "line id", whole=True),
        Column("part", "our part", whole=True),
        Column("name", "name", rank=1),
        Column("asked", "asked"),
        *(Column(f"qty_{qty}", f"for {qty:,}", "number") for qty in found.quantities),
        Column("unit", "unit"),
    )
    return Table(key="lines", title="Lines, for us", columns=columns, rows=rows)
