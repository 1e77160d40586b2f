"""Where in the text a key path stands. Built only for files that have findings.

The scanner runs after the parser has accepted the text and may therefore be naive: it finds spans, it
judges nothing. Columns count code points from 1.
"""

from __future__ import annotations

import bisect
import re

import tomli

from ferrule.diagnostics.finding import Path, Place, Spot

__all__ = ["Positions", "spot_of"]

_BLANK = re.compile(r"[ \t]*")
_SKIP = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:""|")?' r"|'''.*?'''(?:''|')?" r'|"(?:[^"\\\n]|\\.)*"' r"|'[^'\n]*'", re.DOTALL
)
_SCALAR = re.compile(r"[^\s,\]}#][^,\]}#\n\r]*")  # number, bool, date (which may hold one blank)
# The common row in one match: a bare key and a value that ends with the line. Anything else goes piece by piece.
_SIMPLE = re.compile(r"([A-Za-z0-9_-]+)[ \t]*=[ \t]*")
_ROW = re.compile(
    r"""([A-Za-z0-9_-]+)[ \t]*=[ \t]*("(?:[^"\\\n]|\\.)*"|[^\s"'\[{#][^#\r\n]*?)[ \t]*(?:#[^\n]*)?\r?(?:\n|\Z)"""
)

#: Start and end of the key, start and end of the value (for a table: of its header).
_Span = tuple[int, int, int, int]
_Names = list[tuple[str, int, int]]


class Positions:
    """Key path → spans of one text that the parser accepted."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.spans: dict[Path, _Span] = {}
        self._starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self._counts: dict[Path, int] = {}
        self._document()

    def line_column(self, offset: int) -> tuple[int, int]:
        """Return line and column, both from 1."""
        row = bisect.bisect_right(self._starts, offset) - 1
        return row + 1, offset - self._starts[row] + 1

    def span(self, path: Path, *, key: bool) -> tuple[int, int]:
        """Return start and end of a key or its value, or of its nearest ancestor that stands in the text."""
        wanted = tuple(path)
        while wanted and wanted not in self.spans:
            wanted, key = wanted[:-1], True
        if not wanted:
            return 0, 0
        found = self.spans[wanted]
        return (found[0], found[1]) if key else (found[2], found[3])

    def _skip(self, at: int) -> int:
        return _end(_SKIP, self.text, at)

    def _key(self, at: int) -> tuple[_Names, int]:
        names: _Names = []
        while True:
            at = _end(_BLANK, self.text, at)
            end = _end(_STRING if self.text[at] in "\"'" else _BARE, self.text, at)
            raw = self.text[at:end]
            name = str(tomli.loads("k=" + raw)["k"]) if raw[0] in "\"'" else raw
            names.append((name, at, end))
            at = _end(_BLANK, self.text, end)
            if self.text[at : at + 1] != ".":
                return names, at
            at += 1

    def _pair(self, base: Path, at: int) -> int:
        simple = _SIMPLE.match(self.text, at)
        if simple is not None:
            path = (*base, simple[1])
            end = self._value(path, simple.end())
            self.spans[path] = (*simple.span(1), simple.end(), end)
            return end
        names, at = self._key(at)
        path = base
        for name, start, end in names[:-1]:  # tables that a dotted key implies
            path = (*path, name)
            self.spans.setdefault(path, (start, end, start, end))
        value = _end(_BLANK, self.text, at + 1)
        end = self._value((*path, names[-1][0]), value)
        self.spans[*path, names[-1][0]] = (names[-1][1], names[-1][2], value, end)
        return end

    def _value(self, path: Path, at: int) -> int:
        first = self.text[at]
        if first in "\"'":
            return _end(_STRING, self.text, at)
        if first == "[":
            return self._list(path, at)
        if first == "{":
            return self._inline(path, at)
        end = _end(_SCALAR, self.text, at)
        return at + len(self.text[at:end].rstrip())

    def _list(self, path: Path, at: int) -> int:
        count, at = 0, self._skip(at + 1)
        while self.text[at] != "]":
            end = self._value((*path, count), at)
            self.spans[*path, count] = (at, end, at, end)
            count, at = count + 1, self._skip(end)
            if self.text[at] == ",":
                at = self._skip(at + 1)
        return at + 1

    def _inline(self, path: Path, at: int) -> int:
        at = self._skip(at + 1)
        while self.text[at] != "}":
            at = self._skip(self._pair(path, at))
            if self.text[at] == ",":
                at = self._skip(at + 1)
        return at + 1

    def _header(self, at: int) -> tuple[Path, int]:
        many = self.text.startswith("[[", at)
        names, end = self._key(at + 1 + many)
        close = end + 1 + many
        base: Path = ()
        for number, (name, start, stop) in enumerate(names, 1):
            path = (*base, name)
            last = number == len(names)
            if last and many:
                self._counts[path] = self._counts.get(path, -1) + 1
                self.spans.setdefault(path, (start, stop, at, close))
            base = (*path, self._counts[path]) if path in self._counts else path
            if last:
                self.spans[base] = (start, stop, at, close)
            else:
                self.spans.setdefault(base, (start, stop, at, close))
        return base, close

    def _document(self) -> None:
        at = 0
        base: Path = ()
        while (at := self._skip(at)) < len(self.text):
            row = _ROW.match(self.text, at)
            if row is not None:
                self.spans[*base, row[1]] = (*row.span(1), *row.span(2))
                at = row.end()
            elif self.text[at] == "[":
                base, at = self._header(at)
            else:
                at = self._pair(base, at)


def _end(pattern: re.Pattern[str], text: str, at: int) -> int:
    found = pattern.match(text, at)
    return found.end() if found else at + 1


def spot_of(place: Place, text: str, positions: Positions | None, note: str = "") -> Spot:
    """Return line, column and excerpt of a place.

    ``positions`` is None where the text could not be parsed; the place then carries its own line.
    """
    rows = text.split("\n")
    if place.line or positions is None:
        line, column = max(1, place.line), max(1, place.column)
        end_line, end_column = line, column + 1
    else:
        start, end = positions.span(place.path, key=place.on == "key")
        line, column = positions.line_column(start)
        end_line, end_column = positions.line_column(end)
    excerpt = rows[line - 1].rstrip("\r") if line <= len(rows) else ""
    return Spot(
        file=place.file,
        line=line,
        column=column,
        end_line=end_line,
        end_column=max(end_column, 1),
        excerpt=excerpt,
        note=note,
    )
