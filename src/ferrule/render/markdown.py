"""Findings as Markdown for a pull request or a job summary. Text from files stays text: nothing in it acts."""

from __future__ import annotations

import re

from ferrule.diagnostics.finding import CheckResult, Located
from ferrule.model.text import visible
from ferrule.render.text import totals

__all__ = ["LIMIT", "escape", "render"]

#: A comment longer than this is refused by the hosting service.
LIMIT = 65_536
_FOLDED_FROM = 20


def escape(text: str) -> str:
    """Return text that shows as itself in a table cell: no markup, no link, no mention, no issue number."""
    clean = visible(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    clean = re.sub(r"([\\|*_\[\]~!`#])", r"\\\1", clean)
    return re.sub(r"(@|:(?=//)|w(?=ww\.))", "\\1\u200b", clean)


def render(result: CheckResult) -> str:
    """Return the comment: hidden marker, totals, a table of findings, cut at whole rows when too long."""
    marker = re.sub(r"[^A-Za-z0-9._+ ,-]", "-", result.product)
    head = f"<!-- ferrule:check:{marker} -->\n**ferrule check**: {escape(totals(result))}\n"
    if not result.findings:
        return head
    rows = [_row(found) for found in result.findings]
    opening = "\n| place | severity | rule | finding |\n| --- | --- | --- | --- |\n"
    folded = len(rows) > _FOLDED_FROM
    before = "\n<details><summary>all findings</summary>\n" if folded else ""
    after = "\n</details>\n" if folded else ""
    room = LIMIT - len((head + before + opening + after).encode()) - 100
    kept: list[str] = []
    for row in rows:
        room -= len(row.encode())
        if room < 0:
            break
        kept.append(row)
    left = len(rows) - len(kept)
    rest = f"\nand {left} more, left out for length\n" if left else ""
    return head + before + opening + "".join(kept) + after + rest


def _row(found: Located) -> str:
    finding, spot = found.finding, found.spot
    words = escape(finding.message) + (f"<br>hint: {escape(finding.hint)}" if finding.hint else "")
    place = f"{escape(spot.file)}:{spot.line}:{spot.column}"
    return f"| {place} | {finding.severity.value} | {finding.rule} | {words} |\n"
