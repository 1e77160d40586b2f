"""The page on the lock's format, made from the records that are written and read."""

from __future__ import annotations

import datetime as dt
import inspect
import types
import typing
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import msgspec

from ferrule.compute.lock_form import FORMAT, Lock

__all__ = ["lock_page"]

_WORDS = {str: "text", int: "whole number", bool: "true or false", Decimal: "plain decimal", dt.date: "date"}


def lock_page() -> str:
    """Return the page in Markdown: what a lock is, then every key of every table."""
    rows = [
        "# frozen-lock",
        "",
        "What `ferrule freeze` writes: frozen/NAME.lock.",
        "",
        f"Format {FORMAT}. TOML 1.0, UTF-8, LF, one key a line, tables sorted by key, plain decimals. No key is",
        "written that says nothing. The same commit, name, day and Ferrule give the same bytes on every machine.",
        "The lock is committed alone, on top of the commit it froze, and tagged `frozen/NAME`; the tag's message",
        "states the SHA-256 of the file as `Lock-Sha256`, and `Signed: yes` where it is signed. How units were",
        "really built is added in frozen/NAME.asbuilt.toml, never here.",
    ]
    seen: list[type] = []
    _collect(Lock, seen)
    for record in seen:
        rows += ["", f"## {_title(record)}", "", (inspect.getdoc(record) or "").split("\n", 1)[0], ""]
        rows += list(_keys(record))
    return "\n".join(rows) + "\n"


def _title(record: type) -> str:
    return "The file" if record is Lock else _name(record)


def _name(record: type) -> str:
    return record.__name__.removeprefix("Locked").lower()


def _collect(record: type, seen: list[type]) -> None:
    """Add a record and those below it, each once, in the order of the file."""
    if record not in seen:
        seen.append(record)
        for hint in typing.get_type_hints(record).values():
            for below in _records(hint):
                _collect(below, seen)


def _records(hint: Any) -> Iterator[type]:
    if isinstance(hint, type) and issubclass(hint, msgspec.Struct):
        yield hint
    for argument in typing.get_args(hint):
        yield from _records(argument)


def _keys(record: type) -> Iterator[str]:
    hints = typing.get_type_hints(record, include_extras=True)
    for field in msgspec.structs.fields(record):
        hint, *metas = typing.get_args(hints[field.name])
        told = " ".join(
            meta.description for meta in metas if isinstance(meta, msgspec.Meta) and meta.description
        )
        yield f"- `{field.encode_name}` ({_kind(hint)}): {told}"


def _kind(hint: Any) -> str:
    """Return what a key holds, in words."""
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin in (types.UnionType, typing.Union):
        return _kind(next(each for each in arguments if each is not type(None)))
    if origin is tuple:
        return f"list of {_kind(arguments[0])}"
    if origin is dict:
        return f"table of {_kind(arguments[1])} by name"
    return _WORDS.get(hint) or _name(hint)
