"""`quote read`: an answer matched to the request it answers, and with --write its prices as trial sources.

Holes are holes: what is not priced is written nowhere. Files keep their comments; what would not be right afterwards
is not written at all.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import tomli
from msgspec import Struct
from msgspec.structs import replace

from ferrule.app.loading import Places, load_snapshot
from ferrule.compute.answered import price_text
from ferrule.errors import FerruleError
from ferrule.exchange.grid import SheetRefused
from ferrule.exchange.quote_answer import read_answer
from ferrule.exchange.sheets import read_book
from ferrule.exchange.words import folded
from ferrule.load.build import load_product
from ferrule.load.editing import Edit, edited
from ferrule.load.loaded import Loaded
from ferrule.load.toml_text import block_text
from ferrule.model.answers import Answer, AnswerLine
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Source
from ferrule.source.snapshot import Snapshot
from ferrule.source.writing import write_file

__all__ = ["ReadQuote", "answer_of", "file_bytes", "open_answer", "source_fields", "write_sources"]


class ReadQuote(Struct, frozen=True, kw_only=True):
    """An answer, the product it is about, and what was written of it: parts by file, and what was left."""

    product: Product
    loaded: Loaded
    answer: Answer
    today: dt.date
    evidence: str
    label: str
    faults: int
    where: Places
    written: Mapping[str, tuple[str, ...]] = {}
    left: tuple[tuple[str, str], ...] = ()


def open_answer(
    snapshot: Snapshot, path: Path, today: dt.date, folder: Path | None, *, recipient: str | None = None
) -> ReadQuote:
    """Return an answer matched to what was sent; raises FerruleError where it cannot be."""
    loaded = load_snapshot(snapshot)
    return ReadQuote(
        product=loaded.product,
        loaded=loaded,
        answer=answer_of(loaded.product, path, today, recipient=recipient),
        today=today,
        evidence=_evidence(path, folder),
        label=snapshot.label,
        faults=len(loaded.findings) + len(snapshot.problems),
        where=Places(loaded, snapshot),
    )


def answer_of(product: Product, path: Path, today: dt.date, *, recipient: str | None = None) -> Answer:
    """Return the answer in a file; raises FerruleError where it cannot be read or answers no request of ours."""
    if not product.disclosures:
        raise FerruleError(
            "no request for a quote is on record", "`ferrule quote pack --to` writes one and records it"
        )
    try:
        return read_answer(
            read_book(file_bytes(path), path.name), product.disclosures, today, recipient=recipient
        )
    except SheetRefused as error:
        raise FerruleError(f"{path.name}: {error.message}", error.hint) from None


def file_bytes(path: Path) -> bytes:
    """Return a file's bytes; raises FerruleError."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise FerruleError(
            f"{path} cannot be read: {error.strerror or error}", "name a file that exists"
        ) from None


def _evidence(path: Path, folder: Path | None) -> str:
    """Return the path of an answer inside the product, or its bare name where it lies elsewhere."""
    try:
        return path.resolve().relative_to((folder or path).resolve()).as_posix()
    except ValueError:
        return path.name


# --- writing ---------------------------------------------------------------------------------------------


def write_sources(read: ReadQuote, folder: Path) -> ReadQuote:
    """Add each priced line as a trial source to the file of its part; return what was written and what was left.

    Raises FerruleError, before anything is written, where a file could not be read back afterwards.
    """
    blocks: dict[str, list[tuple[str, str]]] = {}
    left: list[tuple[str, str]] = []
    for line in read.answer.asked:
        why = _why_not(read, line)
        if why:
            left.append((line.part, why))
        else:
            file, block = _block(read, line)
            blocks.setdefault(file, []).append((line.part, block))
    texts = {file: _added(read, folder, file, [block for _, block in rows]) for file, rows in blocks.items()}
    _check(read, texts)
    for file, text in texts.items():
        write_file(_on_disk(read, folder, file), text.encode())
    written = {file: tuple(part for part, _ in rows) for file, rows in blocks.items()}
    return replace(read, written=written, left=tuple(left))


def _why_not(read: ReadQuote, line: AnswerLine) -> str:
    """Return why a line becomes no source; empty where it does."""
    item = read.product.item(line.part)
    if item is None:
        return "the part is no longer in the product"
    if all(price is None for price in line.prices):
        return "no price that counts"
    if None in line.amounts:
        return "the quantity asked was not known"
    if read.product.lines.get(line.part):
        return "the price of work on an assembly is no source: state it in the steps of the assembly"
    fields = source_fields(read.product, read.answer, line, read.today, read.evidence)
    if any(_is_same(source, fields) for source in item.source):
        return "the same source stands there already"
    return ""


def _is_same(source: Source, fields: Mapping[str, Any]) -> bool:
    return (source.seller, source.evidence, source.quoted) == (
        fields["seller"],
        fields["evidence"],
        fields["quoted"],
    )


def source_fields(
    product: Product, answer: Answer, line: AnswerLine, today: dt.date, evidence: str
) -> dict[str, Any]:
    """Return the fields of the source that a priced line makes, as they stand in a file."""
    fields: dict[str, Any] = {}
    maker, number = _article(product, answer, line)
    fields |= {"maker": maker} if maker else {}
    fields |= {"maker_part": number} if number else {}
    fields |= {"seller": answer.recipient, "status": "trial", "currency": line.currency}
    fields["price"] = [{"from": start, "each": price} for start, price in _breaks(line)]
    if line.incoterm is not None:
        fields["incoterm"] = str(line.incoterm)
    if line.charge:
        fields["charge"] = [{"name": "one-off charge", "amount": line.charge, "per": "one-off"}]
    fields["quoted"] = line.quoted or today
    fields |= {"valid_until": line.valid_until} if line.valid_until is not None else {}
    fields["evidence"] = evidence
    fields |= {"moq": line.moq} if line.moq is not None else {}
    fields |= {"multiple": line.multiple} if line.multiple else {}
    if line.lead_time is not None:
        fields |= {"lead_time": str(line.lead_time), "lead_stated": line.quoted or today}
    note = "; ".join(text for text in (_unknown_maker(line, maker), line.remark) if text)
    return fields | ({"note": note} if note else {})


def _breaks(line: AnswerLine) -> Iterator[tuple[Decimal, Decimal]]:
    seen: dict[Decimal, Decimal] = {}
    for amount, price in zip(line.amounts, line.prices, strict=True):
        if amount is not None and price is not None:
            seen.setdefault(amount, price_text(price))
    yield from sorted(seen.items())


def _article(product: Product, answer: Answer, line: AnswerLine) -> tuple[str, str]:
    """Return maker (a firm of ours) and maker's number of what is offered: the words of the answer first."""
    item = product.item(line.part)
    known = [source for source in item.source if source.status != "denied"] if item is not None else []
    offered = next((each for each in known if each.maker_part and _same(each.maker_part, line.number)), None)
    if line.number and offered is not None:
        return offered.maker or "", offered.maker_part or ""
    if line.number or line.maker:
        return _firm(product, line.maker), line.number
    asked = _asked_article(product, answer, line, item)
    return (asked.maker or "", asked.maker_part or "") if asked is not None else ("", "")


def _asked_article(product: Product, answer: Answer, line: AnswerLine, item: Item | None) -> Source | None:
    """Return the source whose article was asked for, where the request named one and no other."""
    sent = product.disclosures[answer.watermark]
    makers = next((each.makers for each in sent.line if each.id == line.id), ())
    if len(makers) != 1 or item is None:
        return None
    return next((source for source in item.source if source.maker_part == makers[0]), None)


def _same(one: str, other: str) -> bool:
    return folded(one).replace(" ", "") == folded(other).replace(" ", "")


def _firm(product: Product, name: str) -> str:
    return next(
        (key for key, firm in product.firms.items() if (name and _same(name, firm.name)) or _same(name, key)),
        "",
    )


def _unknown_maker(line: AnswerLine, maker: str) -> str:
    return f"offered maker: {line.maker}" if line.maker and not maker else ""


def _block(read: ReadQuote, line: AnswerLine) -> tuple[str, str]:
    """Return the file of a part and the table to be added there."""
    kind = "part" if line.part in read.product.parts else "assembly"
    home = read.product.homes[kind, line.part]
    fields = source_fields(read.product, read.answer, line, read.today, read.evidence)
    path = (*map(str, home.path), "source")
    about = [f"Quoted in answer to {read.answer.watermark}, row {line.row}."]
    return home.file, block_text(path, fields, many=True, about=about)


def _on_disk(read: ReadQuote, folder: Path, file: str) -> Path:
    return folder / file.removeprefix(f"{read.loaded.folder}/" if read.loaded.folder else "")


def _added(read: ReadQuote, folder: Path, file: str, blocks: list[str]) -> str:
    path = _on_disk(read, folder, file)
    data = file_bytes(path)
    if data != read.loaded.documents[file].data:
        raise FerruleError(f"{file} is not the state that was read", "read the answer against the work tree")
    try:
        return edited(data.decode("utf-8-sig"), [Edit(block=block) for block in blocks])
    except (tomli.TOMLDecodeError, KeyError):
        raise FerruleError(
            f"{file} states sources in [ ] on one line, to which nothing can be added below",
            "write them as [[part.NUMBER.source]]; nothing was written",
        ) from None


def _check(read: ReadQuote, texts: Mapping[str, str]) -> None:
    """Raise FerruleError where a file would have faults of form that it has not yet."""
    files = {file: document.data for file, document in read.loaded.documents.items()}
    after = load_product(
        (files | {file: text.encode() for file, text in texts.items()}).items(), read.loaded.folder
    )
    before = {(fault.rule, fault.place.file, fault.facts, fault.message) for fault in read.loaded.findings}
    for fault in after.findings:
        if (fault.rule, fault.place.file, fault.facts, fault.message) not in before:
            raise FerruleError(
                f"{fault.place.file} would not be right: {fault.message}",
                "nothing was written; write it by hand",
            )
