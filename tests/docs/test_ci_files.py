"""The CI files we ship and use, judged by the hosting services' own schemas."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FILES = [
    ("vendor.github-workflows", ROOT / ".github/workflows/test.yml"),
    ("vendor.github-workflows", ROOT / "example-product/.github/workflows/parts-list.yml"),
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
    for path in (FILES[0][1], FILES[1][1]):
        text = path.read_text()
        assert "contents: read" in text
        assert "fetch-depth: 0" in text
        assert "pull_request_target" not in text
        for line in text.splitlines():
            if "uses:" in line:
                assert len(line.split("@")[1].split()[0]) == 40, line
