"""The hook, run by the real pre-commit and by git itself, on every way of committing."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from git_builders import FIRMS, PART, PRODUCT, TOP, Repository, ferrule

CHECKOUT = Path(__file__).parents[2]
WITHOUT_SOURCE = PART.split("\n\n", maxsplit=1)[0] + "\n"
WITHOUT_LEAD_TIME = PART.replace('lead_time = "6 weeks"\n', "")
CONFIG = """\
repos:
  - repo: local
    hooks:
      - id: ferrule-check
        name: check the parts list
        entry: {python} -m ferrule check --index --today 2026-11-25
        language: system
        pass_filenames: false
        always_run: true
"""


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    """Return a repository whose commits go through pre-commit and our hook."""
    made = Repository(tmp_path / "repo")
    made.commit(PRODUCT)
    made.commit({".pre-commit-config.yaml": CONFIG.format(python=sys.executable)})
    subprocess.run(
        [sys.executable, "-m", "pre_commit", "install"], cwd=made.path, check=True, capture_output=True
    )
    return made


def attempt(repository: Repository, *arguments: str, cwd: Path | None = None) -> tuple[bool, str]:
    """Try to commit; return whether it went through, and what was printed."""
    done = subprocess.run(
        ["git", "commit", "-m", "try", *arguments],
        cwd=cwd or repository.path,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode == 0, done.stdout + done.stderr


def test_a_good_change_passes(repository: Repository) -> None:
    repository.write({"assemblies/top.toml": TOP.replace("qty = 4", "qty = 5")})
    repository.git("add", "-A")
    assert attempt(repository)[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [(WITHOUT_SOURCE, 'part "BOLT" has no source'), (WITHOUT_LEAD_TIME, "states no lead time")],
    ids=["source", "lead-time"],
)
def test_a_removed_source_or_lead_time_is_blocked(repository: Repository, text: str, words: str) -> None:
    repository.write({"parts/bolts.toml": text})
    repository.git("add", "-A")
    passed, printed = attempt(repository)
    assert not passed
    assert words in printed


def test_commit_all(repository: Repository) -> None:
    repository.write({"parts/bolts.toml": WITHOUT_SOURCE})
    assert not attempt(repository, "-a")[0]


def test_commit_of_one_file_judges_that_file(repository: Repository) -> None:
    """Both are broken in the work tree; only the one being committed is judged, with the rest as committed."""
    repository.write(
        {"parts/bolts.toml": WITHOUT_SOURCE, "assemblies/top.toml": TOP.replace("qty = 4", "qty = 5")}
    )
    repository.git("add", "parts/bolts.toml")
    assert attempt(repository, "assemblies/top.toml")[0]
    repository.write({"assemblies/top.toml": TOP.replace("BOLT", "NUT")})
    passed, printed = attempt(repository, "assemblies/top.toml")
    assert not passed
    assert "NUT" in printed


def test_deletion_only(repository: Repository) -> None:
    repository.git("rm", "-q", "parts/bolts.toml")
    passed, printed = attempt(repository)
    assert not passed
    assert 'part "BOLT" is used here but no file defines it' in printed


def test_unstaged_edits_do_not_count(repository: Repository) -> None:
    repository.write({"assemblies/top.toml": TOP.replace("qty = 4", "qty = 5")})
    repository.git("add", "-A")
    repository.write({"parts/bolts.toml": "this is not TOML"})
    assert attempt(repository)[0]
    assert (repository.path / "parts/bolts.toml").read_text() == "this is not TOML"


def test_untracked_files_do_not_count(repository: Repository) -> None:
    """A new part that was never added is missing from the commit, whatever lies on the disk."""
    repository.write(
        {"parts/nuts.toml": PART.replace("BOLT", "NUT"), "assemblies/top.toml": TOP.replace("BOLT", "NUT")}
    )
    repository.git("add", "assemblies/top.toml")
    passed, printed = attempt(repository)
    assert not passed
    assert 'part "NUT" is used here but no file defines it' in printed


def test_linked_worktree(repository: Repository) -> None:
    repository.git("worktree", "add", "-q", "../linked", "-b", "side")
    linked = repository.path.parent / "linked"
    (linked / "parts/bolts.toml").write_text(WITHOUT_SOURCE)
    repository.git("add", "-A", cwd=linked)
    passed, printed = attempt(repository, cwd=linked)
    assert not passed
    assert 'part "BOLT" has no source' in printed


def test_product_in_a_subfolder(tmp_path: Path) -> None:
    made = Repository(tmp_path / "repo")
    made.commit({f"hardware/{path}": text for path, text in PRODUCT.items()})
    made.commit({".pre-commit-config.yaml": CONFIG.format(python=sys.executable)})
    subprocess.run(
        [sys.executable, "-m", "pre_commit", "install"], cwd=made.path, check=True, capture_output=True
    )
    made.write({"hardware/parts/bolts.toml": WITHOUT_SOURCE})
    passed, printed = attempt(made, "-a", cwd=made.path / "hardware/assemblies")
    assert not passed
    assert "hardware/parts/bolts.toml:1:" in printed


def test_first_commit_of_all(tmp_path: Path) -> None:
    made = Repository(tmp_path / "repo")
    made.write(
        PRODUCT
        | {
            ".pre-commit-config.yaml": CONFIG.format(python=sys.executable),
            "parts/bolts.toml": WITHOUT_SOURCE,
        }
    )
    subprocess.run(
        [sys.executable, "-m", "pre_commit", "install"], cwd=made.path, check=True, capture_output=True
    )
    made.git("add", "-A")
    passed, printed = attempt(made)
    assert not passed
    assert "has no source" in printed
    made.write(PRODUCT)
    made.git("add", "-A")
    assert attempt(made)[0]


def test_plain_git_hook_without_precommit(tmp_path: Path) -> None:
    made = Repository(tmp_path / "repo")
    made.commit(PRODUCT)
    hook = made.path / ".git/hooks/pre-commit"
    hook.write_text(f"#!/bin/sh\nexec {sys.executable} -m ferrule check --index --today 2026-11-25\n")
    hook.chmod(0o755)
    made.write({"parts/bolts.toml": WITHOUT_SOURCE})
    assert not attempt(made, "-a")[0]
    assert not attempt(made, "parts/bolts.toml")[0]
    made.write({"parts/bolts.toml": PART, "firms/firms.toml": FIRMS + "\n"})
    assert attempt(made, "-a")[0]


def test_since_head_lets_old_findings_be(repository: Repository) -> None:
    repository.git("commit", "-q", "--no-verify", "--allow-empty", "-m", "x")
    repository.write({"parts/bolts.toml": WITHOUT_SOURCE})
    repository.git("add", "-A")
    repository.git("commit", "-q", "--no-verify", "-m", "broken, and committed all the same")
    repository.write({"assemblies/top.toml": TOP.replace("qty = 4", "qty = 5")})
    repository.git("add", "-A")
    done = ferrule("check", "--index", "--since", "HEAD", "--today", "2026-11-25", cwd=repository.path)
    assert done.returncode == 0
    assert "1 older, not shown" in done.stdout


def test_manifest_is_valid() -> None:
    command = [
        sys.executable,
        "-m",
        "pre_commit",
        "validate-manifest",
        str(CHECKOUT / ".pre-commit-hooks.yaml"),
    ]
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0


@pytest.mark.tools
def test_the_shipped_hook_installs_itself(tmp_path: Path) -> None:
    """`try-repo` builds the hook's own environment from this checkout; it needs a package index."""
    tracked = subprocess.run(["git", "ls-files", "-z"], cwd=CHECKOUT, capture_output=True, check=False).stdout
    if not tracked:
        pytest.skip("not a git checkout")
    source = Repository(tmp_path / "hooks")
    for name in filter(None, tracked.decode().split("\0")):
        path = CHECKOUT / name
        if path.is_symlink() or not path.is_file():
            continue
        (source.path / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, source.path / name)
    source.git("add", "-A", "--force")
    source.git("commit", "-q", "-m", "hooks")
    made = Repository(tmp_path / "repo")
    made.commit(PRODUCT)
    command = [
        sys.executable,
        "-m",
        "pre_commit",
        "try-repo",
        str(source.path),
        "ferrule-check",
        "--all-files",
        "-v",
    ]
    done = subprocess.run(
        command,
        cwd=made.path,
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"PRE_COMMIT_HOME": str(tmp_path / "cache")},
    )
    if (
        "InstallationError" in done.stdout
        or "Could not find a version" in done.stdout + done.stderr
        or "CalledProcessError" in done.stdout
    ):
        pytest.skip("no package index at hand")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "in 4 files" in done.stdout
