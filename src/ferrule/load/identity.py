"""What a key path speaks of, in names that survive moved lines and reordered records.

List indexes are replaced by what identifies the record: a line by its item, a source by maker, seller
and maker part, a price by its quantity. The result is the subject of a finding, the handle of a waiver,
and the stable part of a fingerprint.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Any

from ferrule.diagnostics.finding import Finding, Path
from ferrule.model.natural_keys import keys_of

__all__ = ["fingerprints", "natural_name", "subject_of"]

#: The table that names the whole file, put before every path of the file.
_ROOTS = (("assembly", "id"), ("plan", "id"), ("as_built", "freeze"))


def natural_name(table: str, value: object) -> tuple[str, ...]:
    """Return the words that identify an entry of a list; none where nothing in it does."""
    if not isinstance(value, dict):
        return () if isinstance(value, list) else (str(value),)
    return tuple(str(value[key]) for key in keys_of(table) if key in value)


def _name_in_list(table: str, index: int, value: object) -> str:
    words = natural_name(table, value)
    return "+".join(words) if words else str(index)


def _root(tree: dict[str, Any]) -> tuple[str, ...]:
    for table, key in _ROOTS:
        head = tree.get(table)
        if isinstance(head, dict) and isinstance(head.get(key), str):
            return table, head[key]
    return ()


def subject_of(tree: dict[str, Any], path: Path) -> str:
    """Return the path in names, "/" between them: ``assembly/W20-210/line/40/qty``."""
    root = _root(tree)
    words: list[str] = list(root)
    rest = path[1:] if root and path[:1] == root[:1] else path
    value: Any = tree[root[0]] if rest is not path else tree
    table = root[0] if rest is not path else ""
    for key in rest:
        inside = value[key] if _holds(value, key) else None
        words.append(_name_in_list(table, key, inside) if isinstance(key, int) else key)
        table, value = (key if isinstance(key, str) else table), inside
    return "/".join(words)


def _holds(value: object, key: str | int) -> bool:
    if isinstance(value, dict):
        return key in value
    return isinstance(value, list) and isinstance(key, int) and key < len(value)


def fingerprints(findings: Iterable[tuple[Finding, str]]) -> list[str]:
    """Return one fingerprint for each finding and subject, in order; equal ones are told apart by a counter.

    A finding without a subject (a file that cannot be parsed) goes by its file's path.
    """
    seen: dict[str, int] = {}
    out = []
    for finding, subject in findings:
        words = "\0".join((finding.rule, subject or finding.place.file, *finding.facts))
        count = seen[words] = seen.get(words, 0) + 1
        out.append(hashlib.sha256(f"{words}\0{count}".encode()).hexdigest())
    return out
