"""One TOML file, read: TOML 1.0, exact decimals, every fault a finding with its place."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import tomli
from msgspec import Struct

from ferrule.diagnostics.finding import Finding, Place, Severity
from ferrule.load.toml_words import in_words

__all__ = ["Document", "decode", "read_document"]

_AT = re.compile(r" \(at (?:line (?P<line>[0-9]+), column (?P<column>[0-9]+)|end of document)\)$")
_LONG_HEX = re.compile(r"0[xob][0-9A-Fa-f_]{3000}")
_PRINTABLE_BITS = 14_284  # of 4,300 decimal digits, the most that Python turns into text
_BOM = b"\xef\xbb\xbf"


class Document(Struct, frozen=True):
    """A file that could be parsed: its path, its top-level table, and its text for positions."""

    file: str
    tree: dict[str, Any]
    data: bytes


def decode(data: bytes) -> str:
    """Return the text of a file for excerpts; undecodable bytes show as replacement characters."""
    return data.removeprefix(_BOM).decode("utf-8", "replace")


def _finding(  # noqa: PLR0913  a place and its words
    rule: str, file: str, message: str, *, line: int = 1, column: int = 1, hint: str = ""
) -> Finding:
    place = Place(file=file, line=line, column=column)
    return Finding(rule=rule, severity=Severity.ERROR, message=message, place=place, hint=hint)


def _not_utf8(file: str, data: bytes, error: UnicodeDecodeError) -> Finding:
    before = data[: error.start].decode("utf-8", "replace")
    line = before.count("\n") + 1
    column = len(before) - (before.rfind("\n") + 1) + 1
    message = f"byte 0x{data[error.start]:02x} at offset {error.start} is not UTF-8"
    return _finding("not-utf8", file, message, line=line, column=column, hint="save the file as UTF-8")


def _not_toml(file: str, text: str, error: Exception) -> Finding:
    words = str(error)
    found = _AT.search(words)
    line, column = text.count("\n") + 1, len(text) - (text.rfind("\n") + 1) + 1
    if found and found["line"]:
        line, column = int(found["line"]), int(found["column"])
    elif text.endswith("\n") and line > 1:
        line, column = line - 1, 1
    told = in_words(text, _AT.sub("", words), line, column)
    return _finding("not-toml", file, told.message, line=line, column=told.column, hint=told.hint)


def _conflict(file: str, text: str) -> Finding | None:
    for number, row in enumerate(text.split("\n"), 1):
        if row.startswith("<<<<<<< "):
            message = "an unresolved merge conflict starts here"
            return _finding(
                "not-toml", file, message, line=number, hint="resolve it, then `git add` the file"
            )
    return None


def read_document(file: str, data: bytes) -> tuple[Document | None, list[Finding]]:
    """Return the parsed file, or None, and what is wrong with its bytes.

    Numbers with a point arrive as Decimal. A byte order mark is a finding but does not stop the reading.
    """
    findings: list[Finding] = []
    if data.startswith(_BOM):
        hint = "save the file as UTF-8 without a byte order mark"
        findings.append(
            _finding("byte-order-mark", file, "the file starts with a byte order mark", hint=hint)
        )
        data = data.removeprefix(_BOM)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        return None, [*findings, _not_utf8(file, data, error)]
    try:
        tree = tomli.loads(text, parse_float=Decimal)
    except RecursionError:
        findings.append(
            _finding("not-toml", file, "lists or tables are nested too deep", hint="nest at most 400 levels")
        )
    except tomli.TOMLDecodeError as error:
        findings.append(_conflict(file, text) or _not_toml(file, text, error))
    except ValueError:
        findings.append(_long_number(file, text))
    else:
        if not (_LONG_HEX.search(text) and _holds_huge(tree)):
            return Document(file, tree, data), findings
        findings.append(_long_number(file, text))
    return None, findings


def _holds_huge(node: object) -> bool:
    """Return whether a whole number stands anywhere that Python refuses to print."""
    if isinstance(node, dict):
        return any(map(_holds_huge, node.values()))
    if isinstance(node, list):
        return any(map(_holds_huge, node))
    return isinstance(node, int) and node.bit_length() > _PRINTABLE_BITS


def _long_number(file: str, text: str) -> Finding:
    found = re.search(r"[0-9_]{4301,}", text) or _LONG_HEX.search(text)
    start = found.start() if found else 0
    line = text.count("\n", 0, start) + 1
    column = start - (text.rfind("\n", 0, start) + 1) + 1
    return _finding("not-toml", file, "a number has more than 4,300 digits", line=line, column=column)
