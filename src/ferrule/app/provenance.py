"""What only the history knows of a product: its frozen builds, and who last changed what others approved."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from ferrule.diagnostics.rule import place_of
from ferrule.load.loaded import Loaded
from ferrule.load.locate import Positions
from ferrule.load.toml import decode
from ferrule.model.frozen import LastChange, RecordKey
from ferrule.model.product import Product
from ferrule.source.snapshot import Author, Snapshot

__all__ = ["with_history"]

#: Tables of an item that are approved by themselves, or are the approval.
_APART = ("approval", "source")


def with_history(loaded: Loaded, snapshot: Snapshot) -> Loaded:
    """Return a loaded product that also knows its frozen builds and the last change of every approved record.

    Without git neither is known. Only files that hold an approval are looked up.
    """
    product = loaded.product
    keys = sorted(_approved(product), key=repr)
    data = {file.path: file.data for file in snapshot.files}
    read: dict[str, tuple[Positions, tuple[Author, ...]] | None] = {}
    changes: dict[RecordKey, LastChange] = {}
    for key in keys:
        kind, number, path = key
        place = loaded.original(place_of(product, kind, number, *path))
        if place.file not in read:
            read[place.file] = _lines(snapshot, place.file, data.get(place.file, b""))
        known = read[place.file]
        newest = _newest(*known, place.path) if known is not None else None
        if newest is not None:
            changes[key] = newest
    known_product = msgspec.structs.replace(product, frozen=snapshot.frozen(), last_changes=changes)
    return msgspec.structs.replace(loaded, product=known_product)


def _approved(product: Product) -> Iterator[RecordKey]:
    for kind, number, item in product.items():
        if item.approval:
            yield kind, number, ()
        for index, source in enumerate(item.source):
            if source.approval:
                yield kind, number, ("source", index)


def _lines(snapshot: Snapshot, file: str, data: bytes) -> tuple[Positions, tuple[Author, ...]] | None:
    authors = snapshot.authors(file)
    return (Positions(decode(data)), authors) if authors else None


def _newest(
    positions: Positions, authors: tuple[Author, ...], base: tuple[str | int, ...]
) -> LastChange | None:
    """Return the newest change of a record, its approvals left aside; None where no line of it is known."""
    depth = len(base)
    lines: set[int] = set()
    for path, span in positions.spans.items():
        if path[:depth] == base and not (path[depth : depth + 1] and path[depth] in _APART):
            end = max(span[0], span[3] - 1)
            lines.update(range(positions.line_column(span[0])[0] - 1, positions.line_column(end)[0]))
    told = [authors[line] for line in lines if line < len(authors)]
    if not told:
        return None
    author = max(told, key=lambda each: each.when)
    return LastChange(name=author.name, email=author.email, approvers=author.approvers)
