"""Findings as a JUnit report: a case for each file and rule that failed, a passing case for each clean file."""

from __future__ import annotations

from collections import defaultdict
from xml.etree import ElementTree as ET

from ferrule.diagnostics.finding import CheckResult, Located, Severity
from ferrule.model.text import visible

__all__ = ["render"]

_PASSED = "no findings"


def render(result: CheckResult) -> str:
    """Return the report. Warnings and notes are in a case's output, only errors fail it."""
    groups: defaultdict[tuple[str, str], list[Located]] = defaultdict(list)
    for found in result.findings:
        groups[found.spot.file, found.finding.rule].append(found)
    for file in set(result.files) - {file for file, _ in groups}:
        groups[file, _PASSED] = []
    cases = [_case(file, rule, groups[file, rule]) for file, rule in sorted(groups)]
    suite = ET.Element(
        "testsuite",
        name=visible(f"ferrule check {result.product}"),
        tests=str(len(cases)),
        failures=str(sum(1 for case in cases if case.find("failure") is not None)),
        errors="0",
        skipped="0",
        time="0",
    )
    suite.extend(cases)
    root = ET.Element("testsuites")
    root.append(suite)
    ET.indent(root)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _case(file: str, rule: str, group: list[Located]) -> ET.Element:
    case = ET.Element("testcase", classname=visible(file), name=rule, time="0")
    text = "\n".join(map(_line, group))
    errors = [found.finding for found in group if found.finding.severity is Severity.ERROR]
    if errors:
        ET.SubElement(case, "failure", message=visible(errors[0].message), type=rule).text = text
    elif group:
        ET.SubElement(case, "system-out").text = text
    return case


def _line(found: Located) -> str:
    spot, finding = found.spot, found.finding
    place = f"{visible(spot.file)}:{spot.line}:{spot.column}"
    hint = f" (hint: {visible(finding.hint)})" if finding.hint else ""
    return f"{place}: {finding.severity.value}: {visible(finding.message)}{hint}"
