"""Findings as a GitLab code quality report (a subset of the Code Climate form)."""

from __future__ import annotations

import json

from ferrule.diagnostics.finding import CheckResult, Severity
from ferrule.model.text import visible

__all__ = ["render"]

_SEVERITIES = {Severity.ERROR: "major", Severity.WARNING: "minor", Severity.NOTE: "info"}
_UNREAD = ("unreadable-file", "not-utf8", "not-toml")


def render(result: CheckResult) -> str:
    """Return the list of issues; an empty one where nothing was found."""
    issues = [
        {
            "description": visible(found.finding.message),
            "check_name": found.finding.rule,
            "fingerprint": found.fingerprint,
            "severity": "blocker" if found.finding.rule in _UNREAD else _SEVERITIES[found.finding.severity],
            "location": {"path": visible(found.spot.file), "lines": {"begin": found.spot.line}},
        }
        for found in result.findings
    ]
    return json.dumps(issues, indent=2, ensure_ascii=False) + "\n"
