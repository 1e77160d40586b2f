"""Findings as one JSON document, described by ``schema/output/check.schema.json``."""

from __future__ import annotations

import json
from typing import Any

from ferrule.diagnostics.finding import CheckResult, Located, Spot
from ferrule.model.text import visible

__all__ = ["FORMAT_VERSION", "render"]

FORMAT_VERSION = 1


def render(result: CheckResult) -> str:
    """Return the document; keys in a fixed order, final newline."""
    document = {
        "format_version": FORMAT_VERSION,
        "product": visible(result.product),
        "stage": visible(result.stage),
        "since": visible(result.since) or None,
        "files": len(result.files),
        "waived": result.waived,
        "old": result.old,
        "findings": [_finding(found) for found in result.findings],
    }
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def _finding(found: Located) -> dict[str, Any]:
    finding = found.finding
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "message": visible(finding.message),
        "hint": visible(finding.hint) or None,
        "subject": visible(found.subject) or None,
        "fingerprint": found.fingerprint,
        **_spot(found.spot),
        "related": [{**_spot(spot), "note": visible(spot.note) or None} for spot in found.related],
    }


def _spot(spot: Spot) -> dict[str, Any]:
    return {
        "path": visible(spot.file),
        "line": spot.line,
        "column": spot.column,
        "end_line": spot.end_line,
        "end_column": spot.end_column,
    }
