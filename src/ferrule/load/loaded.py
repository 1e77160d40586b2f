"""What loading gives: the product, what was wrong with its files, and the way back into their texts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec
from msgspec import Struct

from ferrule.diagnostics.finding import Finding, Path, Place
from ferrule.load.toml import Document
from ferrule.model.product import Product
from ferrule.model.records.about import Record

__all__ = ["Holes", "Loaded", "Reading"]


class Holes:
    """List entries left out of one file, so that a path into what was read leads back into the text."""

    def __init__(self) -> None:
        self._gone: dict[Path, list[int]] = {}

    def original(self, path: Path) -> Path:
        """Return the path in the file of a path in what was read."""
        out: Path = ()
        for key in path:
            if isinstance(key, int):
                for gone in self._gone.get(out, ()):
                    key += gone <= key  # noqa: PLW2901  each hole before it moves the entry by one
            out = (*out, key)
        return out

    def take(self, tree: Any, path: Path) -> bool:
        """Delete the entry at ``path`` (a path in what is left); return False when nothing is left to take."""
        if not path:
            return False
        holder = tree
        for key in path[:-1]:
            if not _has(holder, key):
                return True
            holder = holder[key]
        last = path[-1]
        if _has(holder, last):
            if isinstance(last, int):
                before = self.original(path)
                self._gone[before[:-1]] = sorted([*self._gone.get(before[:-1], ()), int(before[-1])])
            del holder[last]
        return True


def _has(holder: Any, key: Any) -> bool:
    return key in holder if isinstance(holder, dict) else isinstance(key, int) and key < len(holder)


class Reading(Struct, frozen=True, kw_only=True):
    """What one file gave by itself, before the files are put together."""

    #: None where the file could not be parsed.
    document: Document | None = None
    findings: tuple[Finding, ...] = ()
    #: Kind and record; None where the kind is unknown, nothing is in the file, or nothing of it fits.
    kind: str = ""
    record: Record | None = None
    #: What was left out; None where all of it fits.
    holes: Holes | None = None


class Loaded(Struct, frozen=True):
    """A product, what was wrong with its files, and the documents by path for positions."""

    product: Product
    findings: tuple[Finding, ...]
    documents: Mapping[str, Document]
    holes: Mapping[str, Holes]
    #: What each file gave, for putting the product together again with some files changed.
    readings: Mapping[str, Reading] = {}
    folder: str = ""
    #: Files that exist and could not be read.
    unread: frozenset[str] = frozenset()

    def original(self, place: Place) -> Place:
        """Return a place in the product as a place in its file, where entries of that file were left out."""
        holes = self.holes.get(place.file)
        return msgspec.structs.replace(place, path=holes.original(place.path)) if holes else place
