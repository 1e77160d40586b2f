"""Findings for people: place, severity, rule and phrase on one line, then the text it speaks of."""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Callable, Iterator

from ferrule.diagnostics.finding import CheckResult, Located, Severity, Spot
from ferrule.model.columns import width
from ferrule.render.characters import logged, logged_characters

__all__ = ["Show", "render_text", "totals"]

#: How a path is shown: from the repository's top as it is, or from the folder one stands in.
Show = Callable[[str], str]
#: A line in pieces: text and its style, empty for none.
Line = tuple[tuple[str, str], ...]

_STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "bold yellow", Severity.NOTE: "bold blue"}
_WIDEST = 160  # columns of an excerpt; the message is never cut
_NARROWEST = 24
_NEAR = 500  # characters looked at before and after a place
_BEFORE = 20  # characters left standing before the marked part of a line that is too long


def render_text(result: CheckResult, show: Show, *, color: bool = False, columns: int | None = None) -> str:
    """Return all findings as text, totals last; with ``color`` the same characters styled.

    ``columns`` limits the excerpts only, so that the first line of a finding stands alone in a search.
    """
    lines = [line for found in result.findings for line in _finding(found, show, columns)]
    lines.append(((totals(result), ""),))
    if color:
        return _colored(lines)
    return "".join("".join(text for text, _ in line) + "\n" for line in lines)


def _colored(lines: list[Line]) -> str:
    from rich.text import Text  # noqa: PLC0415  most runs print no colour

    from ferrule.render.terminal import console  # noqa: PLC0415

    text = Text()
    for line in lines:
        for piece, style in line:
            text.append(piece, style=style or None)
        text.append("\n")
    out = io.StringIO()
    console(out, color=True).print(text, end="", soft_wrap=True)
    return out.getvalue()


def _finding(found: Located, show: Show, columns: int | None) -> Iterator[Line]:
    finding, spot = found.finding, found.spot
    style = _STYLES[finding.severity]
    yield (
        (f"{_place(spot, show)}: ", ""),
        (f"{finding.severity.value}[{finding.rule}]", style),
        (f": {logged(finding.message)}", ""),
    )
    if spot.excerpt.strip():
        blank = " " * len(str(spot.line))
        before, carets, excerpt = _underlined(spot, _room(columns, len(blank) + 3))
        yield ((f"{blank} |", ""),)
        yield ((f"{spot.line} | {excerpt}", ""),)
        yield (f"{blank} | {before}", ""), (carets, style)
    for related in found.related:
        note = f" {logged(related.note)}" if related.note else ""
        yield ((f"   also: {_place(related, show)}{note}", ""),)
    if finding.hint:
        yield ((f"   hint: {logged(finding.hint)}", ""),)


def _place(spot: Spot, show: Show) -> str:
    path = logged(show(spot.file))
    # A line must not start with what a runner or a terminal pager could obey: "::error" is a possible name.
    path = path if re.match(r"[\w./-]", path) else f"./{path}"
    return f"{path}:{spot.line}:{spot.column}"


def _room(columns: int | None, gutter: int) -> int:
    return _WIDEST if columns is None else max(_NARROWEST, min(_WIDEST, columns - gutter))


def _underlined(spot: Spot, room: int) -> tuple[str, str, str]:
    """Return the blanks before the carets, the carets, and the excerpt above them, all at most ``room`` wide."""
    first = max(0, spot.column - 1 - _NEAR)  # a line may be as long as a file
    shown = logged_characters(spot.excerpt[first : spot.column - 1 + _NEAR])
    start = min(spot.column - 1 - first, len(shown))
    end = spot.end_column - 1 - first if spot.end_line == spot.line else len(shown)
    marked = max(1, width("".join(shown[start:end])))
    left = 0
    if first or width("".join(shown[:start])) + marked >= room:
        left = max(0, start - _BEFORE)
        while width("".join(shown[left:start])) > room // 2:
            left += 1
    before = ("…" if left else "") + "".join(shown[left:start])
    carets = "^" * min(marked, room - width(before))
    return " " * width(before), carets, _cut(before + "".join(shown[start:]), room)


def _cut(text: str, room: int) -> str:
    if width(text) <= room:
        return text
    while width(text) >= room:
        text = text[: room - 1] if len(text) >= room else text[:-1]
    return text + "…"


def totals(result: CheckResult) -> str:
    """Return the closing sentence: how many of what, in how many files, and how many are not shown."""
    counts = Counter(found.finding.severity for found in result.findings)
    words = [_count(counts[severity], severity.value) for severity in Severity if counts[severity]]
    added = f" added since {logged(result.since)}" if result.since else ""
    parts = [f"{', '.join(words) or 'no findings'}{added} in {_count(len(result.files), 'file')}"]
    if result.waived:
        parts.append(f"{result.waived} waived")
    if result.old:
        parts.append(f"{result.old} older, not shown")
    return "; ".join(parts)


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
