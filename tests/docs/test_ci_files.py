"""The CI files we ship and use, judged by the hosting services' own schemas."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from git_builders import ferrule

ROOT = Path(__file__).parents[2]
FILES = [
    ("vendor.github-workflows", ROOT / ".github/workflows/test.yml"),
    ("vendor.github-workflows", ROOT / "example-product/.github/workflows/parts-list.yml"),
    ("vendor.github-workflows", ROOT / "example-product/.github/workflows/parts-list-diff.yml"),
    ("vendor.gitlab-ci", ROOT / "example-product/.gitlab-ci.yml"),
]


def judge(schema: str, path: Path) -> int:
    command = [sys.executable, "-m", "check_jsonschema", "--builtin-schema", schema, str(path)]
    return subprocess.run(command, capture_output=True, check=False).returncode


@pytest.mark.parametrize(("schema", "path"), FILES, ids=[path.name for _, path in FILES])
def test_ci_file(schema: str, path: Path) -> None:
    assert judge(schema, path) == 0


def test_a_misspelt_key_would_be_found(tmp_path: Path) -> None:
    text = FILES[1][1].read_text()
    broken = tmp_path / "broken.yml"
    broken.write_text(text.replace("runs-on:", "run-on:"))
    assert judge("vendor.github-workflows", broken) == 1


def test_workflows_are_read_only_and_pinned() -> None:
    for path in (FILES[0][1], FILES[1][1], FILES[2][1]):
        text = path.read_text()
        assert "contents: read" in text
        assert "fetch-depth: 0" in text
        assert "pull_request_target" not in text
        for line in text.splitlines():
            if "uses:" in line:
                assert len(line.split("@")[1].split()[0]) == 40, line


def jobs(path: Path) -> Any:
    return YAML(typ="safe").load(path.read_text())


def test_the_job_that_may_write_runs_nothing_of_the_branch() -> None:
    found = jobs(FILES[2][1])["jobs"]
    assert [name for name, job in found.items() if "write" in str(job.get("permissions"))] == ["comment"]
    comment = found["comment"]
    assert comment["permissions"] == {"pull-requests": "write"}
    assert [step.get("uses") for step in comment["steps"]] == [None]
    assert "ferrule" not in comment["steps"][0]["run"]
    for step in (step for job in found.values() for step in job["steps"] if "run" in step):
        assert "${{" not in step["run"]  # what others wrote comes by variables, never into the script


def steps(folder: Path, base: str, gate: str) -> tuple[int, Path]:
    """Run the script of the workflow's own step on a real branch, as the service does."""
    (script,) = [
        step["run"] for step in jobs(FILES[2][1])["jobs"]["diff"]["steps"] if step.get("id") == "diff"
    ]
    told = folder / ".git/told"
    environment = os.environ | {
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "GITHUB_BASE_REF": base,
        "GITHUB_OUTPUT": str(told),
        "GITHUB_STEP_SUMMARY": os.devnull,
        "GATE": gate,
        "FERRULE_DIFF_TODAY": "2026-11-25",
    }
    done = subprocess.run(
        ["bash", "-e", "-o", "pipefail", "-c", script],
        cwd=folder,
        env=environment,
        capture_output=True,
        check=False,
    )
    return done.returncode, told


def test_the_step_writes_the_comment_also_where_the_gate_is_shut(tmp_path: Path) -> None:
    folder = tmp_path / "recorder"
    ferrule("demo", str(folder), cwd=tmp_path)
    subprocess.run(["git", "update-ref", "refs/remotes/origin/main", "rev-A"], cwd=folder, check=True)
    for gate, code in (("sole-source,cost>2%", 0), ("late-order,cost>0.1%", 1)):
        found, told = steps(folder, "main", gate)
        assert found == code
        lines = told.read_text().splitlines()
        assert lines[0].startswith("body<<")
        assert lines[1] == "<!-- ferrule:diff:W20 -->"
        assert lines[-1] == lines[0].removeprefix("body<<")
        told.unlink()


def test_both_gates_are_conditions() -> None:
    from ferrule.compute.gate import parse_gate

    gates = [jobs(FILES[2][1])["env"]["GATE"], jobs(FILES[3][1])["parts-list-diff"]["variables"]["GATE"]]
    assert gates[0] == gates[1]
    assert len(parse_gate(gates[0])) == 7
