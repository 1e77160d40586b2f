"""A lock as text: the same lock gives the same bytes, on every machine.

TOML 1.0, one key a line, tables sorted by key, LF, plain decimals without zeros at their end. Only what
is stated is written. The last of the hashes guards the text itself.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

import msgspec

from ferrule.compute.lock_form import Inline, Lock

__all__ = ["HEADER", "lock_text", "own_hash", "stated_hash"]

HEADER = """\
# A frozen build, written by `ferrule freeze`. History is evidence: never edit it, freeze a new build
# that supersedes this one. `ferrule verify NAME` computes it again from its tag.
"""
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_OWN = re.compile(r'(\n\[hashes\]\n(?:[a-z]+ = "[0-9a-f]{64}"\n)*?)text = "([0-9a-f]{64})"\n')
#: Characters that act on a screen or hide; a fixed list, because what counts as printable grows with Unicode.
_ACTING = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]")
_ESCAPED = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}


def lock_text(lock: Lock) -> str:
    """Return the file of a lock, its own hash filled in."""
    bare = msgspec.structs.replace(lock, hashes=msgspec.structs.replace(lock.hashes, text=""))
    hashes = msgspec.structs.replace(bare.hashes, text=own_hash(_written(bare)))
    return _written(msgspec.structs.replace(bare, hashes=hashes))


def _written(lock: Lock) -> str:
    return HEADER + "".join(f"{line}\n" for line in _table(lock, ()))


def own_hash(text: str) -> str:
    """Return the SHA-256 of a lock's text without the line that states it."""
    return hashlib.sha256(_OWN.sub(r"\1", text, count=1).encode()).hexdigest()


def stated_hash(text: str) -> str:
    """Return the hash a lock's text states of itself, empty where it states none."""
    found = _OWN.search(text)
    return found[2] if found else ""


def _table(record: Any, path: tuple[str, ...]) -> Iterator[str]:
    """Yield the lines of a record: its plain keys, then its tables."""
    below: list[tuple[str, Any]] = []
    for field in msgspec.structs.fields(record):
        value = getattr(record, field.name)
        if not field.required and value == _default(field):
            continue
        if _is_table(value):
            below.append((field.encode_name, value))
        else:
            yield from _pair(field.encode_name, value)
    for name, value in below:
        yield from _below(value, (*path, name))


def _is_table(value: Any) -> bool:
    if isinstance(value, Mapping):
        return bool(value)
    first = value[0] if isinstance(value, tuple) and value else value
    return isinstance(first, msgspec.Struct) and not isinstance(first, Inline)


def _below(value: Any, path: tuple[str, ...]) -> Iterator[str]:
    if isinstance(value, Mapping):
        if all(isinstance(each, Inline | str) for each in value.values()):
            yield from ("", f"[{_dotted(path)}]")
            yield from (f"{_key(name)} = {_value(each)}" for name, each in sorted(value.items()))
            return
        for name, each in sorted(value.items()):
            yield from ("", f"[{_dotted((*path, name))}]")
            yield from _table(each, (*path, name))
        return
    rows = value if isinstance(value, tuple) else (value,)
    brackets = ("[[", "]]") if isinstance(value, tuple) else ("[", "]")
    for row in rows:
        yield from ("", f"{brackets[0]}{_dotted(path)}{brackets[1]}")
        yield from _table(row, path)


def _pair(name: str, value: Any) -> Iterator[str]:
    if isinstance(value, tuple) and value and isinstance(value[0], Inline):
        yield f"{_key(name)} = ["
        yield from (f"  {_value(row)}," for row in value)
        yield "]"
    else:
        yield f"{_key(name)} = {_value(value)}"


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, Decimal):
        return _plain(value)
    if isinstance(value, int | dt.date):
        return str(value)
    if isinstance(value, tuple):
        return f"[{', '.join(map(_value, value))}]"
    pairs = sorted(value.items()) if isinstance(value, Mapping) else _stated(value)
    return "{ " + ", ".join(f"{_key(name)} = {_value(each)}" for name, each in pairs) + " }"


def _stated(record: Any) -> list[tuple[str, Any]]:
    rows = [(field, getattr(record, field.name)) for field in msgspec.structs.fields(record)]
    return [(field.encode_name, value) for field, value in rows if field.required or value != _default(field)]


def _default(field: msgspec.structs.FieldInfo) -> Any:
    """Return the value a field has where nothing is stated."""
    return {} if field.default is msgspec.NODEFAULT else field.default


def _plain(number: Decimal) -> str:
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _quoted(name)


def _dotted(path: tuple[str, ...]) -> str:
    return ".".join(map(_key, path))


def _quoted(text: str) -> str:
    """Return a basic string; what acts on a screen is escaped, so a lock can be shown as it is."""
    plain = "".join(_ESCAPED.get(character, character) for character in text)
    return '"' + _ACTING.sub(lambda found: f"\\u{ord(found[0]):04X}", plain) + '"'
