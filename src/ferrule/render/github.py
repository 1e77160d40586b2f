"""Findings as workflow commands, which a CI log turns into annotations.

A runner obeys any line that starts with two colons, blanks before them or not, and "##[name]" anywhere in
a line: text from files never starts a line and is made harmless within it.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import CheckResult, Located, Severity
from ferrule.render.characters import logged
from ferrule.render.text import render_text

__all__ = ["escape_message", "escape_property", "render"]

_COMMANDS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}
_SHOWN_A_STEP = 10  # of each severity; the service drops the rest


def escape_message(text: str) -> str:
    """Return text as the message of a workflow command."""
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def escape_property(text: str) -> str:
    """Return text as a property of a workflow command."""
    return escape_message(text).replace(":", "%3A").replace(",", "%2C")


def render(result: CheckResult) -> str:
    """Return the annotations, worst first and at most ten of a kind, then the plain list with its totals."""
    lines = [line for severity in Severity for line in _annotations(result, severity)]
    return "".join(f"{line}\n" for line in lines) + render_text(result, lambda path: path)


def _annotations(result: CheckResult, severity: Severity) -> Iterator[str]:
    found = [row for row in result.findings if row.finding.severity is severity]
    yield from map(_command, found[:_SHOWN_A_STEP])
    more = len(found) - _SHOWN_A_STEP
    if more > 0:
        yield f"and {more} more {severity.value}{'' if more == 1 else 's'}, in the list below"


def _command(found: Located) -> str:
    finding, spot = found.finding, found.spot
    facts = {"file": logged(spot.file), "line": str(spot.line)}
    if spot.end_line > spot.line:  # columns are refused where the lines differ
        facts["endLine"] = str(spot.end_line)
    else:
        facts |= {"col": str(spot.column), "endLine": str(spot.line)}
        facts["endColumn"] = str(max(spot.column, spot.end_column))
    facts["title"] = finding.rule
    properties = ",".join(f"{key}={escape_property(value)}" for key, value in facts.items())
    words = logged(finding.message) + (f"\nhint: {logged(finding.hint)}" if finding.hint else "")
    return f"::{_COMMANDS[finding.severity]} {properties}::{escape_message(words)}"
