"""`history` from the outside, on real repositories: merges, commits beside the product, what is kept, shallow clones."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest

from answers import TODAY, golden, small, source
from ferrule.model.columns import width
from git_builders import Repository, ferrule

_COMMIT = re.compile(r"\b[0-9a-f]{7}\b")
PLANNED = {
    "plans/p.toml": (
        '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 9"\nopening = "100 EUR"\n'
        '[[build]]\nname = "b"\nsku = "TOP"\nqty = 3\nreceive_by = 2027-01-30\n'
    )
}


def run(folder: Path, *arguments: str, columns: int = 0) -> subprocess.CompletedProcess[str]:
    named = {"COLUMNS": str(columns)} if columns else {}
    return ferrule("history", *arguments, *TODAY, cwd=folder, **named)


def answer(folder: Path, *arguments: str) -> dict[str, Any]:
    done = run(folder, *arguments, "--format", "json")
    assert (done.returncode, done.stderr) == (0, "")
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def costs(found: dict[str, Any]) -> list[tuple[str, str | None]]:
    return [(row["subject"], row["cost"]) for row in found["commits"]]


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    """Return the small product at 2 x 1, then 2 x 3, then 2 x 2, with a commit beside it."""
    made = Repository(tmp_path / "r")
    small(made.path, PLANNED)
    for price, subject in (("1", "one"), ("3", "three"), ("2", "two")):
        made.commit({"parts/p.toml": source("P", price, 'lead_time = "2 weeks"\n')}, subject)
        if price == "3":
            made.commit({"README": "words\n"}, "beside")
    return made


@pytest.fixture(scope="module")
def recorder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "recorder"
    assert ferrule("demo", str(folder), cwd=folder.parent).returncode == 0
    return folder


@pytest.mark.parametrize(
    ("name", "columns", "arguments"),
    [
        ("history-80.txt", 80, ()),
        ("history-120.txt", 120, ()),
        ("history.json", 0, ("--format", "json")),
        ("history-bisect-80.txt", 80, ("--bisect", "cost>53.68")),
    ],
)
def test_answer(recorder: Path, name: str, columns: int, arguments: tuple[str, ...], *, update: bool) -> None:
    done = run(recorder, *arguments, columns=columns)
    assert (done.returncode, done.stderr) == (0, "")
    text = _COMMIT.sub("0000000", done.stdout)
    golden(name, text, update=update)
    assert not [line for line in text.splitlines() if columns and width(line) > columns]


def test_figures_are_those_of_their_own_commands(recorder: Path) -> None:
    rows = {row["subject"][:10]: row for row in answer(recorder)["commits"]}
    for letter in "AC":
        row = rows[f"Revision {letter}"]
        at = f"rev-{letter}"
        cost = asked(recorder, at, "cost", "W20-SINGLE", "--plan", "first-season", "--volumes", "10")
        (total,) = [each["unit_spring_1200"] for each in cost["elements"] if each["element"] == "= landed"]
        days = asked(recorder, at, "schedule", "first-season")["builds"][0]["cumulative_days"]
        trough = asked(recorder, at, "cash", "first-season")["trough"]
        assert (row["cost"], row["lead"], row["trough"]) == (total, str(days), trough)


def asked(folder: Path, revision: str, *arguments: str) -> dict[str, Any]:
    done = ferrule(*arguments, "--at", revision, "--format", "json", *TODAY, cwd=folder)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_only_commits_of_the_product_and_only_what_was_asked(repository: Repository) -> None:
    assert costs(answer(repository.path)) == [("one", "2"), ("three", "6"), ("two", "4")]
    assert costs(answer(repository.path, "--last", "1")) == [("two", "4")]
    assert "2 older commits not shown: --last N or --all" in answer(repository.path, "--last", "1")["notes"]
    assert costs(answer(repository.path, "HEAD~1")) == [("one", "2"), ("three", "6")]
    assert costs(answer(repository.path, "--since", "HEAD~2")) == [("two", "4")]
    assert costs(answer(repository.path / "parts"))[0] == ("one", "2")


def test_a_merge_counts_as_its_first_parent_saw_it(repository: Repository) -> None:
    repository.git("checkout", "-q", "-b", "side", "HEAD~1")
    repository.commit({"assemblies/u.toml": '[assembly]\nid = "U"\n'}, "on the side")
    repository.git("checkout", "-q", "main")
    repository.git("merge", "-q", "--no-ff", "-m", "merge side", "side")
    assert [subject for subject, _ in costs(answer(repository.path))] == ["one", "three", "two", "merge side"]


def test_bisect_scans_all_commits(repository: Repository) -> None:
    found = answer(repository.path, "--bisect", "cost>4")
    assert found["commit"].endswith(" three")
    assert [(row["subject"], row["turn"]) for row in found["turns"]] == [
        ("three", "begins to hold"),
        ("two", "ceases to hold"),
    ]
    assert found["notes"][0].startswith("3 commits looked at, one by one")
    assert "it holds in none of them" in answer(repository.path, "--bisect", "cost>6")["notes"]
    oldest = answer(repository.path, "--bisect", "cost>1")
    assert "it holds already in the oldest commit at hand, so it may have begun before" in oldest["notes"]


def test_what_was_worked_out_is_kept_and_a_broken_entry_is_made_anew(repository: Repository) -> None:
    first = run(repository.path, "--format", "json").stdout
    kept = sorted((repository.path / ".git/ferrule/history").iterdir())
    assert len(kept) == 3
    entry = json.loads(kept[0].read_text())
    entry["figures"]["costs"]["p/b"] = ["77", False]
    kept[0].write_text(json.dumps(entry))
    assert '"cost": "77"' in run(repository.path, "--format", "json").stdout
    assert run(repository.path, "--format", "json", "--fresh").stdout == first
    for broken in ("", "{", "[]", '{"key": "other", "figures": {}}'):
        kept[0].write_text(broken)
        assert run(repository.path, "--format", "json").stdout == first
    assert repository.git("status", "--porcelain") == ""


def test_a_git_folder_that_cannot_be_written_does_no_harm(repository: Repository) -> None:
    (repository.path / ".git/ferrule").write_text("in the way")
    assert costs(answer(repository.path)) == [("one", "2"), ("three", "6"), ("two", "4")]


def test_another_day_is_another_entry(repository: Repository) -> None:
    run(repository.path)
    ferrule("history", "--today", "2026-11-26", cwd=repository.path)
    assert len(list((repository.path / ".git/ferrule/history").iterdir())) == 6


def test_a_linked_worktree_shares_what_is_kept(repository: Repository, tmp_path: Path) -> None:
    run(repository.path)
    repository.git("worktree", "add", "-q", str(tmp_path / "linked"))
    assert costs(answer(tmp_path / "linked"))[-1] == ("two", "4")
    assert len(list((repository.path / ".git/ferrule/history").iterdir())) == 3


def test_a_shallow_clone_says_so(repository: Repository, tmp_path: Path) -> None:
    clone = tmp_path / "clone"
    repository.git("clone", "-q", "--depth", "1", f"file://{repository.path}", str(clone))
    found = answer(clone)
    assert costs(found) == [("two", "4")]
    (note,) = found["notes"]
    assert note.startswith("this clone is shallow and holds only part of the history: git fetch --unshallow")
    assert "oldest commit at hand" in " ".join(answer(clone, "--bisect", "cost>1")["notes"])


def test_commits_that_cannot_be_read_or_have_no_plan_are_gaps(repository: Repository) -> None:
    repository.commit({"plans/p.toml": "<<<<<<< ours\n"}, "broken")
    repository.commit({"plans/p.toml": PLANNED["plans/p.toml"]}, "mended")
    found = answer(repository.path)
    assert costs(found)[-3:] == [("two", "4"), ("broken", None), ("mended", "4")]
    assert [row["errors"] for row in found["commits"]][-2] > [row["errors"] for row in found["commits"]][-1]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--bisect", "cost=3"), '"cost=3": cost is compared with > or >= or < or <='),
        (("--build", "c"), "there is no build called c"),
        (("--plan", "q"), "there is no plan called q"),
        (("nope",), "no commit has the name nope"),
        (("--since", "nope"), "no commit has the name nope"),
        (("--last", "0"), "invalid value for '--last'"),
    ],
)
def test_refusals(repository: Repository, arguments: tuple[str, ...], told: str) -> None:
    done = run(repository.path, *arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"error: {told}")


def test_outside_a_repository(tmp_path: Path) -> None:
    done = run(small(tmp_path / "p"))
    assert done.returncode == 2
    assert done.stderr.startswith("error: this is not a git repository")
