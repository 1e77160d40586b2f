"""Findings for people: place, severity, rule and phrase on one line, then the text it speaks of."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator

from ferrule.diagnostics.finding import CheckResult, Located, Severity, Spot
from ferrule.model.text import visible

__all__ = ["Show", "render_text", "totals"]

Show = Callable[[str], str]

_STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "bold yellow", Severity.NOTE: "bold blue"}
_LONGEST = 160


def render_text(result: CheckResult, show: Show, *, color: bool = False) -> str:
    """Return all findings as text, totals last; with ``color`` the same characters styled."""
    lines: list[tuple[str, str, str]] = []
    for found in result.findings:
        lines += _finding(found, show)
    lines.append(("", "", totals(result)))
    if not color:
        return "".join(f"{before}{styled}{after}\n" for before, styled, after in _split(lines))
    return _colored(lines)


def _split(lines: list[tuple[str, str, str]]) -> Iterator[tuple[str, str, str]]:
    for style, styled, rest in lines:
        before, _, after = rest.partition("\0") if style else ("", "", rest)
        yield before, styled, after


def _colored(lines: list[tuple[str, str, str]]) -> str:
    from rich.console import Console  # noqa: PLC0415  most runs print no colour
    from rich.text import Text  # noqa: PLC0415

    console = Console(
        markup=False, emoji=False, highlight=False, force_terminal=True, width=10_000, height=100
    )
    text = Text()
    for (style, _, _), (before, styled, after) in zip(lines, _split(lines), strict=True):
        text.append(before)
        text.append(styled, style=style or None)
        text.append(after + "\n")
    with console.capture() as capture:
        console.print(text, end="", soft_wrap=True)
    return capture.get()


def _finding(found: Located, show: Show) -> Iterator[tuple[str, str, str]]:
    """Yield rows of (style, styled text, rest): the styled text stands where the rest has a NUL."""
    finding, spot = found.finding, found.spot
    head = f"{visible(show(spot.file))}:{spot.line}:{spot.column}: "
    yield (
        _STYLES[finding.severity],
        f"{finding.severity.value}[{finding.rule}]",
        f"{head}\0: {visible(finding.message)}",
    )
    if spot.excerpt.strip():
        gutter = len(str(spot.line))
        excerpt, blank, carets = _underlined(spot)
        yield "", "", f"{' ' * gutter} |"
        yield "", "", f"{spot.line} | {excerpt}"
        yield _STYLES[finding.severity], carets, f"{' ' * gutter} | {blank}\0"
    for related in found.related:
        place = f"{visible(show(related.file))}:{related.line}:{related.column}"
        yield "", "", f"   also: {place}{' ' + visible(related.note) if related.note else ''}"
    if finding.hint:
        yield "", "", f"   hint: {visible(finding.hint)}"


def _underlined(spot: Spot) -> tuple[str, str, str]:
    """Return the excerpt as shown, the blanks before its marked part, and the carets under it."""
    start = spot.column - 1
    end = spot.end_column - 1 if spot.end_line == spot.line else len(spot.excerpt)
    before, marked = spot.excerpt[:start], spot.excerpt[start : max(end, start + 1)]
    shown = visible(spot.excerpt)
    shift = _width(visible(before))
    if shift > _LONGEST:  # a very long line is shown from a little before the marked part
        shown = "…" + visible(spot.excerpt[max(0, start - 20) :])
        shift = 1 + _width(visible(spot.excerpt[max(0, start - 20) : start]))
    return _cut(shown, shift), " " * shift, "^" * max(1, min(_width(visible(marked)), _LONGEST))


def _cut(shown: str, shift: int) -> str:
    limit = shift + _LONGEST
    return shown if len(shown) <= limit else shown[: limit - 1] + "…"


def _width(text: str) -> int:
    """Return the columns text takes on a terminal."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1
        for char in text
    )


def totals(result: CheckResult) -> str:
    """Return the closing sentence: how many of what, in how many files, and what is not shown."""
    counts = Counter(found.finding.severity for found in result.findings)
    words = [_count(counts[severity], severity.value) for severity in Severity if counts[severity]]
    where = f"in {_count(len(result.files), 'file')}"
    added = f"added since {visible(result.since)}" if result.since else ""
    found = ", ".join(words) if words else "no findings"
    text = " ".join(filter(None, (found, added, where)))
    hidden = [f"{result.waived} waived"] if result.waived else []
    hidden += [f"{result.old} older, not shown"] if result.old else []
    return text + (f" ({', '.join(hidden)})" if hidden else "")


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
