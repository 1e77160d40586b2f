"""The screens of `sample` on the example, its verdicts and lot sheets."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
import tomli

from answers import EXAMPLE, TODAY, answer, golden
from git_builders import ferrule


@pytest.mark.parametrize(
    ("name", "columns", "arguments"),
    [
        ("sample-100.txt", 100, ("W20-SINGLE", "--lot", "1200")),
        ("sample-80.txt", 80, ("W20-SINGLE", "--lot", "120", "--tightened", "--level", "S-3")),
        ("sample-first-article-120.txt", 120, ("W20-SINGLE", "--first-article")),
    ],
)
def test_screens(name: str, columns: int, arguments: tuple[str, ...], *, update: bool) -> None:
    golden(name, answer(columns, "sample", *arguments), update=update)


def test_machine_form_has_exact_plans() -> None:
    found = json.loads(answer(0, "sample", "W20-SINGLE", "--lot", "1200", "--format", "json"))
    assert [(row["class"], row["used"], row["sample"], row["accept"]) for row in found["plans"]] == [
        ("critical", "none", 264, 0),
        ("major", "J", 80, 2),
        ("minor", "J", 80, 7),
    ]
    # Shares of bad units are numbers without a sign.
    assert [row["bad_percent"] for row in found["chances"]] == ["0.5", "1", "2", "4", "6.5", "10"]


@pytest.mark.parametrize(
    ("defects", "code", "words"),
    [
        ("critical=0,major=2,minor=7", 0, "verdict: passed the sample"),
        ("critical=0,major=3,minor=0", 1, "verdict: refused: 3 major where 3 refuse"),
        ("critical=1,major=9", 1, "verdict: refused: 1 critical where 1 refuse and 9 major where 3 refuse"),
        ("major=1", 0, "verdict: open: critical and minor not reported"),
    ],
)
def test_verdicts(defects: str, code: int, words: str) -> None:
    done = ferrule("sample", "W20-SINGLE", "--lot", "1200", "--found", defects, *TODAY, cwd=EXAMPLE)
    assert (done.returncode, words in done.stdout) == (code, True)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("W20-SINGEL", "--lot", "100"), "did you mean W20-SINGLE?"),
        (("W20-SINGLE",), "pass --lot UNITS, or --first-article"),
        (("W20-SINGLE", "--lot", "1"), "1 is not in the range 2<=x<=100000000"),
        (("W20-SINGLE", "--lot", "9", "--found", "major"), "'major' is no number of defects of a class"),
        (("W20-SINGLE", "--lot", "9", "--bad", "1"), '--bad: "1" is not a percentage'),
        (("W20-SINGLE", "--lot", "9", "--risk", "100 %"), "--risk is 100 %; it lies between"),
        (("W20-110-X", "--first-article"), "no assembly has the number W20-110-X"),
        (("W20-210", "--lot", "9"), "W20-210 has no quality plan"),
        (("W20-SINGLE", "--lot", "9", "--sheet", "docs/l.toml"), "would be read as a file of the product"),
    ],
)
def test_what_cannot_be_is_said(arguments: tuple[str, ...], message: str) -> None:
    done = ferrule("sample", *arguments, *TODAY, cwd=EXAMPLE)
    assert done.returncode == 2
    assert message in done.stderr


def test_the_lot_sheet_proves_that_the_plan_stood_before(tmp_path: Path) -> None:
    folder = tmp_path / "recorder"
    assert ferrule("demo", str(folder), cwd=tmp_path).returncode == 0

    def sheet(made: str) -> dict[str, object]:
        done = ferrule(
            "sample", "W20-SINGLE", "--lot", "1200", "--found", "critical=0,major=0,minor=0", "--made", made,
            "--sheet", str(tmp_path / "a.lot"), *TODAY, cwd=folder,
        )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, "")
        lot: dict[str, object] = tomli.loads((tmp_path / "a.lot").read_text())["lot"]
        return lot

    git = ["git", "log", "-1", "--format=%h %cs", "--", "docs/quality-plan.txt"]
    commit, day = subprocess.run(git, cwd=folder, capture_output=True, text=True, check=True).stdout.split()
    after = "2027-04-20"
    found = sheet(after)
    assert (found["plan_before_lot"], found["plan_commit"], found["accepted"]) == (True, commit, True)
    assert sheet(day)["plan_before_lot"] is False
    (folder / "docs/quality-plan.txt").write_text("another plan\n")
    assert "plan_commit" not in sheet(after)
    assert sheet(after)["plan_before_lot"] is False
