"""Where two locks differ: every field by name, what was locked and what is there now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec
from msgspec import Struct

from ferrule.compute.lock_form import Lock

__all__ = ["Difference", "lock_differences"]

#: Lists whose rows are known by these keys; others go by their place.
_KEYS = {
    "line": ("item",),
    "source": ("maker", "maker_part", "seller"),
    "price": ("from_",),
    "each": ("sku",),
    "document": ("file",),
    "waiver": ("rule", "subject"),
    "step": ("name",),
    "approval": ("role", "by"),
    "statement": ("rule",),
    "alternates": ("part",),
}


class Difference(Struct, frozen=True):
    """One field that differs: its path in words, as locked, as it is; None where it is not stated."""

    where: str
    locked: str | None
    now: str | None


def lock_differences(locked: Lock, now: Lock) -> tuple[Difference, ...]:
    """Return every field in which two locks differ, in the order of the file; the text's own hash left aside."""
    before, after = dict(_leaves(locked, "")), dict(_leaves(now, ""))
    names = [*before, *(name for name in after if name not in before)]
    return tuple(
        Difference(name, before.get(name), after.get(name))
        for name in names
        if before.get(name) != after.get(name) and name != "hashes/text"
    )


def _leaves(value: Any, path: str, name: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, msgspec.Struct):
        for field in msgspec.structs.fields(value):
            yield from _leaves(getattr(value, field.name), _below(path, field.encode_name), field.encode_name)
    elif isinstance(value, Mapping):
        for key, each in value.items():
            yield from _leaves(each, _below(path, str(key)))
    elif isinstance(value, tuple):
        yield from _rows(value, path, name)
    elif value is not None and value is not False and value != "":
        yield path, str(value)


def _rows(rows: tuple[Any, ...], path: str, name: str) -> Iterator[tuple[str, str]]:
    if not all(isinstance(row, msgspec.Struct) for row in rows):
        if rows:
            yield path, ", ".join(map(str, rows))
        return
    seen: dict[str, int] = {}
    for row in rows:
        words = " ".join(filter(None, (str(getattr(row, key)) for key in _KEYS.get(name, ()))))
        count = seen[words] = seen.get(words, 0) + 1
        known = words if words and count == 1 else f"{words} {count}".strip()
        yield _below(path, known), ""
        yield from _leaves(row, _below(path, known))


def _below(path: str, name: str) -> str:
    return f"{path}/{name}" if path else name
