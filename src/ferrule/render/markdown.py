"""Findings as Markdown for a pull request or a job summary. Text from files stays text: nothing in it acts."""

from __future__ import annotations

import re
from collections.abc import Iterable

from ferrule.diagnostics.finding import CheckResult, Located
from ferrule.model.text import visible
from ferrule.render.text import totals

__all__ = ["LIMIT", "escape", "marker", "render"]

#: Characters; a longer comment is refused by the hosting service. We count bytes, which are never fewer.
LIMIT = 65_536
_FOLDED_FROM = 20
_REST = 60  # bytes for the line that says how many were left out
_HEADER = "\n| severity | file | line | rule | finding |\n| --- | --- | --- | --- | --- |\n"
# What the service makes of finished text, where no backslash helps: mentions (@name), issues (#1, GH-1),
# addresses (://, www.) and pictures (:name:). An invisible blank within stops each of them.
_REFERENCE = re.compile(r"(@|#(?=\d)|GH-(?=\d)|:(?=//)|:(?=[\w+-]+:)|w(?=ww\.))", re.IGNORECASE)


def escape(text: str) -> str:
    """Return text that shows as itself in a table cell: no markup, no link, no mention, no issue number."""
    inert = _REFERENCE.sub("\\1\u200b", visible(text))
    entities = inert.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return re.sub(r"([\\|*_\[\]~!`#$])", r"\\\1", entities)


def render(result: CheckResult) -> str:
    """Return the comment: hidden marker, totals, a table of findings, cut at whole rows when too long."""
    head = f"<!-- ferrule:check:{marker(result.product)} -->\n**ferrule check**: {escape(totals(result))}\n"
    if not result.findings:
        return head
    before, after = _HEADER, ""
    if len(result.findings) > _FOLDED_FROM:
        before, after = "\n<details><summary>all findings</summary>\n" + before, "\n</details>\n"
    kept = _fitting(map(_row, result.findings), LIMIT - _REST - len((head + before + after).encode()))
    left = len(result.findings) - len(kept)
    rest = f"\nand {left} more, left out for length\n" if left else ""
    return head + before + "".join(kept) + after + rest


def marker(product: str) -> str:
    """Return a product's id as it may stand in a comment of HTML, which ends at the first ``-->``."""
    return re.sub(r"[^A-Za-z0-9._+, -]+|--+", "-", product).strip()


def _fitting(rows: Iterable[str], room: int) -> list[str]:
    kept: list[str] = []
    for row in rows:
        room -= len(row.encode())
        if room < 0:
            break
        kept.append(row)
    return kept


def _row(found: Located) -> str:
    finding, spot = found.finding, found.spot
    words = escape(finding.message) + (f"<br>hint: {escape(finding.hint)}" if finding.hint else "")
    file = escape(spot.file)
    return f"| {finding.severity.value} | {file} | {spot.line} | {finding.rule} | {words} |\n"
