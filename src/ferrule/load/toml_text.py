"""Values and tables as TOML 1.0 text, written as a person would: one fact a line, plain decimals."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from ferrule.model.number import plain

__all__ = ["block_text", "header_text", "row_text", "value_text"]

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def value_text(value: Any) -> str:
    """Return a value as TOML text on one line. Floats are refused: they would not be what somebody wrote."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, int | dt.date):
        return str(value)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, Mapping):
        inner = ", ".join(row_text(key, item) for key, item in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, Sequence):
        return "[" + ", ".join(value_text(item) for item in value) + "]"
    raise TypeError(f"{type(value).__name__} cannot be written as TOML")


def header_text(path: Sequence[str], *, many: bool = False) -> str:
    """Return the header of a table, or with ``many`` of one more entry of a list of tables."""
    inner = ".".join(_key(key) for key in path)
    return f"[[{inner}]]" if many else f"[{inner}]"


def block_text(
    path: Sequence[str], fields: Mapping[str, Any], *, many: bool = False, about: Sequence[str] = ()
) -> str:
    """Return a table with its fields, a line each; ``about`` are comments above it."""
    rows = [*(f"# {comment}" for comment in about), header_text(path, many=many)]
    rows += [row_text(key, value) for key, value in fields.items()]
    return "\n".join(rows) + "\n"


def row_text(key: str, value: Any) -> str:
    """Return a key and its value."""
    return f"{_key(key)} = {value_text(value)}"


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else value_text(key)
