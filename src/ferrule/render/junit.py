"""Findings as a JUnit report: a case for each file and rule that failed, a passing case for each clean file."""

from __future__ import annotations

from itertools import groupby
from xml.etree import ElementTree as ET

from ferrule.diagnostics.finding import CheckResult, Located, Severity
from ferrule.model.text import visible

__all__ = ["render"]


def render(result: CheckResult) -> str:
    """Return the report. Warnings and notes are in a case's output, only errors fail it."""
    rows = sorted(result.findings, key=lambda row: (row.spot.file, row.finding.rule))
    groups = [
        (key, list(group)) for key, group in groupby(rows, key=lambda row: (row.spot.file, row.finding.rule))
    ]
    clean = sorted(set(result.files) - {file for (file, _), _ in groups})
    cases = [_case(file, rule, group) for (file, rule), group in groups]
    cases += [ET.Element("testcase", classname=visible(file), name="no findings", time="0") for file in clean]
    failures = sum(1 for case in cases if case.find("failure") is not None)
    suite = ET.Element(
        "testsuite",
        name=visible(f"ferrule check {result.product}"),
        tests=str(len(cases)),
        failures=str(failures),
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
    text = "\n".join(_line(found) for found in group)
    worst = [found for found in group if found.finding.severity is Severity.ERROR]
    if worst:
        failure = ET.SubElement(case, "failure", message=visible(worst[0].finding.message), type=rule)
        failure.text = text
    else:
        ET.SubElement(case, "system-out").text = text
    return case


def _line(found: Located) -> str:
    spot, finding = found.spot, found.finding
    place = f"{visible(spot.file)}:{spot.line}:{spot.column}"
    return f"{place}: {finding.severity.value}: {visible(finding.message)}"
