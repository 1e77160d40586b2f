"""How rules name things: lists in words, sources by firm, keys as they are pasted."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from ferrule.model.records.part import Source

__all__ = ["listed", "none_of", "source_name", "toml_key"]

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def listed(words: Iterable[str], last: str = "and") -> str:
    """Return words as a sentence lists them: ``a, b and c``."""
    kept: Sequence[str] = list(words)
    if len(kept) < 2:
        return "".join(kept)
    return f"{', '.join(kept[:-1])} {last} {kept[-1]}"


def none_of(words: Iterable[str]) -> str:
    """Return what is missing as a sentence lists it: ``no owner, no mark and no schedule``."""
    return listed(f"no {word}" for word in words)


def source_name(index: int, source: Source) -> str:
    """Return a source by its firms: ``source ashfield from norholt``, or by its place in the list."""
    if source.seller and source.maker and source.seller != source.maker:
        return f"source {source.maker} from {source.seller}"
    return f"source {source.seller or source.maker or index + 1}"


def toml_key(number: str) -> str:
    """Return an id as it stands in a table header, in quotes where TOML wants them."""
    return number if _BARE.fullmatch(number) else f'"{number}"'
