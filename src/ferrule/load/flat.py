"""A file as flat text: one fact a row, under names that survive moved lines, sorted. For reading differences only."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ferrule.load.identity import subject_of
from ferrule.load.merging import read_tree
from ferrule.load.toml_text import value_text

__all__ = ["flat_text"]


def flat_text(text: str) -> str:
    """Return the facts of a text, one a row: ``line/40/qty = 14``; the text itself where it is no TOML.

    Remarks are left out, so what changes in them does not show.
    """
    try:
        tree = read_tree(text)
        rows = sorted(set(_rows(tree, tree, ())))
    except (ValueError, TypeError, RecursionError):
        return text
    return "".join(f"{row}\n" for row in rows)


def _rows(tree: dict[str, Any], value: Any, path: tuple[str | int, ...]) -> Iterator[str]:
    inside = isinstance(value, list) and bool(value) and all(isinstance(entry, Mapping) for entry in value)
    if isinstance(value, Mapping) and value:
        for key, entry in value.items():
            yield from _rows(tree, entry, (*path, key))
    elif inside:
        for index, entry in enumerate(value):
            yield from _rows(tree, entry, (*path, index))
    else:
        yield f"{subject_of(tree, path)} = {value_text(value)}"
