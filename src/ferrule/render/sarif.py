"""Findings as SARIF 2.1.0 (OASIS), for code scanning and editors."""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.metadata import version
from typing import Any
from urllib.parse import quote

from ferrule.diagnostics.finding import CheckResult, Located, RuleCard, Severity, Spot
from ferrule.model.text import visible

__all__ = ["MOST_RESULTS", "render"]

#: A run with more results is refused by GitHub (which shows 5,000 of them).
MOST_RESULTS = 25_000
_LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "note"}
_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def render(result: CheckResult) -> str:
    """Return one run with its rules and results; of too many results the least severe are left out."""
    run: dict[str, Any] = {
        "tool": {
            "driver": {
                "name": "ferrule",
                "version": version("ferrule"),
                "semanticVersion": version("ferrule"),
                "rules": [_rule(card) for card in result.rules],
            }
        },
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {"SRCROOT": {"description": {"text": "The top of the repository."}}},
    }
    indexes = {card.name: index for index, card in enumerate(result.rules)}
    kept = _worst(result.findings)
    if len(kept) < len(result.findings):
        run["invocations"] = [_left_out(len(result.findings) - len(kept))]
    run["results"] = [_result(found, indexes) for found in kept]
    document = {"$schema": _SCHEMA, "version": "2.1.0", "runs": [run]}
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def _worst(findings: tuple[Located, ...]) -> tuple[Located, ...]:
    if len(findings) <= MOST_RESULTS:
        return findings
    order = list(Severity)
    ranked = sorted(range(len(findings)), key=lambda index: order.index(findings[index].finding.severity))
    return tuple(findings[index] for index in sorted(ranked[:MOST_RESULTS]))


def _left_out(number: int) -> dict[str, Any]:
    text = f"{number} more findings are left out: a run may have {MOST_RESULTS} results."
    return {
        "executionSuccessful": True,
        "toolExecutionNotifications": [{"level": "warning", "message": {"text": text}}],
    }


def _rule(card: RuleCard) -> dict[str, Any]:
    return {
        "id": card.name,
        "name": "".join(word.capitalize() for word in card.name.split("-")),
        "shortDescription": {"text": card.summary},
        "fullDescription": {"text": card.summary},
        "help": {"text": card.page, "markdown": card.page},
        "defaultConfiguration": {"level": _LEVELS[card.severity]},
    }


def _result(found: Located, indexes: Mapping[str, int]) -> dict[str, Any]:
    finding = found.finding
    made: dict[str, Any] = {"ruleId": finding.rule}
    if finding.rule in indexes:
        made["ruleIndex"] = indexes[finding.rule]
    hint = f". Hint: {_words(finding.hint)}" if finding.hint else ""
    made |= {
        "level": _LEVELS[finding.severity],
        "message": {"text": _words(finding.message) + hint},
        "locations": [_location(found.spot, found.subject)],
        "partialFingerprints": {"ferrule/v1": found.fingerprint},
    }
    if found.related:
        made["relatedLocations"] = [
            {"id": number, "message": {"text": _words(spot.note) or "also here"}, **_location(spot, "")}
            for number, spot in enumerate(found.related, 1)
        ]
    return made


def _words(text: str) -> str:
    """Return text for a message, where "[words](place)" would be a link (SARIF 2.1.0, section 3.11.6)."""
    return visible(text).replace("](", "] (")


def _location(spot: Spot, subject: str) -> dict[str, Any]:
    several = spot.end_line > spot.line
    made: dict[str, Any] = {
        "physicalLocation": {
            "artifactLocation": {"uri": _uri(spot.file), "uriBaseId": "SRCROOT"},
            "region": {
                "startLine": spot.line,
                "startColumn": spot.column,
                "endLine": max(spot.line, spot.end_line),
                "endColumn": spot.end_column if several else max(spot.column + 1, spot.end_column),
            },
        }
    }
    if subject:
        made["logicalLocations"] = [{"fullyQualifiedName": visible(subject), "kind": "member"}]
    return made


def _uri(path: str) -> str:
    """Return a path as a relative reference; the bytes of a name that is not UTF-8 stay what they are."""
    try:
        return quote(path, errors="surrogateescape")
    except UnicodeEncodeError:  # half of a pair, as other systems allow in names
        return quote(path, errors="surrogatepass")
