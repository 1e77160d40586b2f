"""What a TOML parser complains of, in the words of someone who edits a file."""

from __future__ import annotations

import ast
import re

from msgspec import Struct

from ferrule.model.text import visible

__all__ = ["Words", "in_words"]

_NO_QUOTE = ("the text has no closing quote", 'close it with "')
_BACKSLASH = ("a backslash starts no escape known to TOML 1.0", "write \\\\ or use '...'")
_CONTROL = ("a control character stands in the text", "remove it, or write it as \\u00XX")

#: Start of the parser's message → ours, and what to do.
_KNOWN: tuple[tuple[str, tuple[str, str]], ...] = (
    ("Illegal character '\\n'", _NO_QUOTE),
    ("Unterminated string", _NO_QUOTE),
    ('Expected "\'', ("the text has no closing quote", "close it with '")),
    ("Illegal character", _CONTROL),
    ("Found invalid character", _CONTROL),
    ("Unescaped '\\' in a string", _BACKSLASH),
    ("Invalid hex value", _BACKSLASH),
    ("Escaped character is not a Unicode scalar value", ("this escape stands for no character", "")),
    ("Cannot mutate immutable", ("a list in [ ] or a table in { } cannot be extended below", "write all of it in one place")),
    ("Invalid statement", ("this is neither a key, a table nor a comment", "write key = value, [table] or # comment")),
    ("Expected '=' after a key", ("a key has no = and value", "write key = value")),
    ("Expected ']", ("the header has no closing bracket", "write [table] or [[table]]")),
    ("Invalid value", ("this is not a value", 'write text in quotes, such as "12 weeks"')),
    ("Invalid date or datetime", ("there is no such day or time", "write a day as 2026-10-01")),
    ("Unclosed array", ("a comma or ] is missing", "")),
    ("Unclosed inline table", ("a comma or } is missing, or the table runs over the line", "write { ... } on one line")),
)  # fmt: skip


class Words(Struct, frozen=True):
    """A message, what to do, and the column it belongs to (from 1)."""

    message: str
    hint: str
    column: int


def in_words(text: str, error: str, line: int, column: int) -> Words:
    """Return the parser's error at a line and column in our words."""
    rows = text.split("\n")
    row = rows[line - 1] if line <= len(rows) else ""
    if error.startswith("Cannot overwrite a value"):
        return _given_twice(row, column)
    if error.startswith("Cannot declare"):
        return _table_twice(error, row)
    if error.startswith("Expected newline or end of document after a statement"):
        return Words(*_after_value(row), column)
    if error.startswith("Invalid initial character for a key part"):
        return Words(*_no_key(rows, line), column)
    for start, (message, hint) in _KNOWN:
        if error.startswith(start):
            return Words(message, hint, column)
    return Words(error[:1].lower() + error[1:], "", column)


def _given_twice(row: str, column: int) -> Words:
    found = re.match(r"\s*([A-Za-z0-9_.\"'-]+)\s*=", row)
    if found is None:
        return Words("a key is given twice in one table", "keep one of the two", column)
    return Words(
        f"`{visible(found[1])}` is given twice in one table", "keep one of the two", found.start(1) + 1
    )


def _table_twice(error: str, row: str) -> Words:
    found = re.match(r"Cannot declare (\(.*\)) twice", error)
    name = ".".join(map(str, ast.literal_eval(found[1]))) if found else "this table"
    hint = "merge the two, or write [[...]] for both if it is a list of tables"
    return Words(
        f"`{visible(name)}` is given twice, or is no table elsewhere", hint, len(row) - len(row.lstrip()) + 1
    )


def _after_value(row: str) -> tuple[str, str]:
    value = row.partition("=")[2].strip().split("#")[0].strip()
    if found := re.match(r"([0-9]{1,2})[./]([0-9]{1,2})[./]([0-9]{4})\b", value):
        return f"{found[0]} is not how a day is written", "write a day as 2026-10-01"
    if found := re.fullmatch(r"([0-9]+),([0-9]+)", value):
        return f"{value} has a decimal comma", f"write {found[1]}.{found[2]}"
    if re.fullmatch(r"0[0-9]+", value):
        return f"{value} starts with a zero", f"write {value.lstrip('0') or 0}"
    if re.fullmatch(r"-?[0-9][0-9.]*( ?%| ?[A-Za-z][A-Za-z ]*)", value):
        return f"{visible(value)} stands without quotes", f'write "{visible(value)}"'
    return "something stands after the value", "start a new line"


def _no_key(rows: list[str], line: int) -> tuple[str, str]:
    near = rows[max(0, line - 2) : line]
    if any("{" in row or row.strip().endswith(",") or row.strip() == "}" for row in near):
        return (
            "TOML 1.0 has no line break and no closing comma in an inline table",
            "write { ... } on one line",
        )
    return "a key is expected here", ""
