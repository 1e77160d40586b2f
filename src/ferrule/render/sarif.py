"""Findings as SARIF 2.1.0 (OASIS), for code scanning and editors."""

from __future__ import annotations

import json
from importlib.metadata import version
from typing import Any
from urllib.parse import quote

from ferrule.diagnostics.finding import CheckResult, Located, Severity, Spot
from ferrule.model.text import visible

__all__ = ["render"]

_LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "note"}
_MOST = 25_000  # results a run may have at the largest reader


def render(result: CheckResult) -> str:
    """Return one run with its rules and results."""
    names = [card.name for card in result.rules]
    run = {
        "tool": {
            "driver": {
                "name": "ferrule",
                "version": version("ferrule"),
                "semanticVersion": version("ferrule"),
                "rules": [_rule(card.name, card.summary, card.page, card.severity) for card in result.rules],
            }
        },
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {"SRCROOT": {"description": {"text": "The top of the repository."}}},
        "results": [_result(found, names) for found in result.findings[:_MOST]],
    }
    document = {
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [run],
    }
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def _rule(name: str, summary: str, page: str, severity: Severity) -> dict[str, Any]:
    return {
        "id": name,
        "name": "".join(word.capitalize() for word in name.split("-")),
        "shortDescription": {"text": summary},
        "fullDescription": {"text": summary},
        "help": {"text": page, "markdown": page},
        "defaultConfiguration": {"level": _LEVELS[severity]},
    }


def _result(found: Located, names: list[str]) -> dict[str, Any]:
    finding = found.finding
    words = visible(finding.message) + (f". {visible(finding.hint)}" if finding.hint else "")
    made: dict[str, Any] = {"ruleId": finding.rule}
    if finding.rule in names:
        made["ruleIndex"] = names.index(finding.rule)
    made |= {
        "level": _LEVELS[finding.severity],
        "message": {"text": words},
        "locations": [_location(found.spot, found.subject)],
        "partialFingerprints": {"ferrule/v1": found.fingerprint},
    }
    if found.related:
        made["relatedLocations"] = [
            {"id": number, "message": {"text": visible(spot.note) or "also here"}, **_location(spot, "")}
            for number, spot in enumerate(found.related)
        ]
    return made


def _location(spot: Spot, subject: str) -> dict[str, Any]:
    region = {
        "startLine": spot.line,
        "startColumn": spot.column,
        "endLine": max(spot.line, spot.end_line),
        "endColumn": spot.end_column if spot.end_line > spot.line else max(spot.column + 1, spot.end_column),
    }
    made: dict[str, Any] = {
        "physicalLocation": {
            "artifactLocation": {"uri": quote(spot.file, errors="surrogateescape"), "uriBaseId": "SRCROOT"},
            "region": region,
        }
    }
    if subject:
        made["logicalLocations"] = [{"fullyQualifiedName": visible(subject), "kind": "member"}]
    return made
