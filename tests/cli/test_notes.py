"""`notes` between two frozen builds of the demo, as a release manager runs it."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from answers import TODAY
from git_builders import ferrule


def git(folder: Path, *arguments: str) -> None:
    subprocess.run(["git", *arguments], cwd=folder, capture_output=True, check=True)


@pytest.fixture(scope="module")
def frozen(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("notes") / "recorder"
    assert ferrule("demo", str(folder), cwd=folder.parent).returncode == 0
    for name, value in (("user.name", "A. Tester"), ("user.email", "tester@example.invalid")):
        git(folder, "config", name, value)
    for revision, name in (("rev-B", "first"), ("main", "second")):
        git(folder, "checkout", "-q", revision)
        done = ferrule("freeze", name, *TODAY, cwd=folder)
        assert done.returncode == 0, done.stderr
    return folder


def test_notes_hold_what_changed_builds_and_waivers(frozen: Path) -> None:
    done = ferrule("notes", "first", "second", "--quick", "--format", "json", *TODAY, cwd=frozen)
    assert (done.returncode, done.stderr) == (0, "")
    found = json.loads(done.stdout)
    changes = ferrule("diff", "first", "second", "--quick", "--format", "json", *TODAY, cwd=frozen)
    told = json.loads(changes.stdout)
    assert [found[key] for key in ("lines", "sources", "totals")] == [
        told[key] for key in ("lines", "sources", "totals")
    ]
    assert [(row["build"], row["qty"], row["serials"]) for row in found["builds"]] == [
        ("first-season/spring", "1200", "1-1200"),
        ("first-season/spring-sets", "120", "none given out"),
        ("first-season/summer", "1440", "none given out"),
        ("second-season/autumn", "2400", "none given out"),
    ]
    assert [(row["rule"], row["subject"], row["limit"]) for row in found["waivers_in_force"]] == [
        ("sole-source", "part/U-MCU", "until 2027-04-30")
    ]


def test_notes_are_markdown_too(frozen: Path) -> None:
    done = ferrule("notes", "first", "second", "--quick", "--format", "markdown", *TODAY, cwd=frozen)
    assert done.returncode == 0
    assert "Release notes second" in done.stdout
    assert "| U-OPAMP-B |" in done.stdout


def test_notes_between_equal_builds_say_that_nothing_changed(frozen: Path) -> None:
    done = ferrule("notes", "second", "second", "--quick", *TODAY, cwd=frozen)
    assert (done.returncode, "nothing changed" in done.stdout) == (0, True)


def test_what_is_no_frozen_build_or_was_altered_is_refused(frozen: Path) -> None:
    done = ferrule("notes", "first", "third", *TODAY, cwd=frozen)
    assert (done.returncode, done.stderr.splitlines()[0]) == (2, "error: there is no frozen build third")
    lock = frozen / "frozen" / "second.lock"
    text = lock.read_text()
    lock.write_text(text.replace('stage = "dvt"', 'stage = "pvt"', 1))
    done = ferrule("notes", "first", "second", *TODAY, cwd=frozen)
    lock.write_text(text)
    assert (done.returncode, "the frozen build second is not what was frozen" in done.stderr) == (2, True)
