"""Findings as workflow commands, which a CI log turns into annotations.

A runner obeys any line that starts with two colons, so text from files never starts a line.
"""

from __future__ import annotations

from ferrule.diagnostics.finding import CheckResult, Located, Severity
from ferrule.model.text import visible
from ferrule.render.text import render_text, totals

__all__ = ["escape_message", "escape_property", "render"]

_COMMANDS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}
_SHOWN_A_STEP = 10  # of each severity; more are dropped by the runner


def escape_message(text: str) -> str:
    """Return text as the message of a workflow command."""
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def escape_property(text: str) -> str:
    """Return text as a property of a workflow command."""
    return escape_message(text).replace(":", "%3A").replace(",", "%2C")


def render(result: CheckResult) -> str:
    """Return the annotations, worst first, at most ten of a kind, then the plain list with its totals."""
    lines: list[str] = []
    for severity in Severity:
        found = [row for row in result.findings if row.finding.severity is severity]
        lines += [_command(row) for row in found[:_SHOWN_A_STEP]]
        if len(found) > _SHOWN_A_STEP:
            more = len(found) - _SHOWN_A_STEP
            lines.append(
                f"::{_COMMANDS[severity]} title=ferrule::and {more} more of this kind, in the list below"
            )
    if not result.findings:
        return totals(result) + "\n"
    plain = render_text(result, lambda path: path)
    return "".join(f"{line}\n" for line in lines) + "".join(f" {line}\n" for line in plain.splitlines())


def _command(found: Located) -> str:
    finding, spot = found.finding, found.spot
    facts = {
        "file": visible(spot.file),
        "line": str(spot.line),
        "col": str(spot.column),
        "endLine": str(spot.end_line),
        "endColumn": str(spot.end_column),
        "title": finding.rule,
    }
    properties = ",".join(f"{key}={escape_property(value)}" for key, value in facts.items())
    words = visible(finding.message) + (f"\nhint: {visible(finding.hint)}" if finding.hint else "")
    return f"::{_COMMANDS[finding.severity]} {properties}::{escape_message(words)}"
