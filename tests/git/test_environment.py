"""Whose repository git's variables speak of: kept for the one being committed, dropped for any other."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from ferrule.source.products import open_products
from git_builders import PART, PRODUCT, Repository

CHANGED = PART.replace("0.03", "0.07")
#: What a hook sees of each product named to it: its folder, and 1 where the changed price is staged.
SEES = """\
import sys
from pathlib import Path
from ferrule.source.products import open_products
for name in sys.argv[1:]:
    for opened in open_products(Path.cwd(), product=Path(name), index=True):
        staged = sum(file.data.count(b"0.07") for file in opened.read().files)
        print("SEES", name, repr(opened.folder), staged)
sys.exit(1)
"""
RECEIVES = """\
import sys
from pathlib import Path
from ferrule.source.products import open_products
for line in sys.stdin:
    opened, = open_products(Path.cwd(), revision=line.split()[1])
    print("SEES", sum(file.data.count(b"0.07") for file in opened.read().files))
sys.exit(1)
"""


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    """Return a repository with its product in a subfolder."""
    made = Repository(tmp_path / "repo")
    made.commit({f"hardware/w20/{path}": text for path, text in PRODUCT.items()})
    return made


def hook(folder: Path, code: str, *names: str, event: str = "pre-commit") -> None:
    """Put a script in a folder of hooks that runs the code and stops what git is doing."""
    script = folder / event
    script.parent.mkdir(exist_ok=True)
    code_file = folder / f"{event}.py"
    code_file.write_text(code)
    script.write_text(f"#!/bin/sh\nexec {sys.executable} {code_file} {' '.join(names)}\n")
    script.chmod(0o755)


def seen(*arguments: str, cwd: Path, **environment: str) -> list[str]:
    """Run git, and return what the hook said it sees."""
    done = subprocess.run(
        ["git", *arguments],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | environment,
    )
    assert done.returncode != 0
    words = [row.removeprefix("remote: ").strip() for row in done.stderr.splitlines()]
    found = [row.removeprefix("SEES ") for row in words if row.startswith("SEES")]
    assert found, done.stderr
    return found


@pytest.mark.parametrize(
    "before",
    [
        [],
        ["--git-dir=.git"],
        ["--git-dir=.git", "--work-tree=."],
        ["--literal-pathspecs"],
        ["--icase-pathspecs"],
    ],
    ids=" ".join,
)
def test_every_way_of_naming_the_repository(repository: Repository, before: list[str]) -> None:
    hook(repository.path / ".git/hooks", SEES, "hardware/w20", "hardware/w20/parts")
    repository.write({"hardware/w20/parts/bolts.toml": CHANGED})
    assert seen(*before, "commit", "-am", "x", cwd=repository.path) == [
        "hardware/w20 'hardware/w20' 1",
        "hardware/w20/parts 'hardware/w20' 1",
    ]


def test_commit_of_a_file_from_a_subfolder(repository: Repository) -> None:
    hook(repository.path / ".git/hooks", SEES, "hardware/w20")
    repository.write({"hardware/w20/parts/bolts.toml": CHANGED, "hardware/w20/firms/firms.toml": "# 0.07\n"})
    repository.git("add", "hardware/w20/firms")
    folder = repository.path / "hardware/w20/parts"
    assert seen("commit", "-m", "x", "bolts.toml", cwd=folder) == ["hardware/w20 'hardware/w20' 1"]
    assert seen("commit", "-am", "x", cwd=folder) == ["hardware/w20 'hardware/w20' 2"]


def test_an_index_kept_anywhere(repository: Repository, tmp_path: Path) -> None:
    """`GIT_INDEX_FILE=/somewhere git commit` commits that index; the repository's own holds the old text."""
    hook(repository.path / ".git/hooks", SEES, "hardware/w20")
    elsewhere = tmp_path / "index"
    shutil.copyfile(repository.path / ".git/index", elsewhere)
    repository.write({"hardware/w20/parts/bolts.toml": CHANGED})
    place = {"GIT_INDEX_FILE": str(elsewhere)}
    subprocess.run(["git", "add", "-A"], cwd=repository.path, check=True, env=os.environ | place)
    assert seen("commit", "-m", "x", cwd=repository.path, **place) == ["hardware/w20 'hardware/w20' 1"]


def test_a_linked_worktree_and_the_main_one(repository: Repository, tmp_path: Path) -> None:
    """Its hook gets GIT_DIR, which would make any folder the top, and which lies inside the main one's."""
    linked = tmp_path / "linked"
    repository.git("worktree", "add", "-q", str(linked), "-b", "side")
    (linked / "hardware/w20/parts/bolts.toml").write_text(CHANGED)
    main = repository.path / "hardware/w20"
    hook(repository.path / ".git/hooks", SEES, "hardware/w20", str(main))
    assert seen("commit", "-am", "x", cwd=linked) == [
        "hardware/w20 'hardware/w20' 1",
        f"{main} 'hardware/w20' 0",
    ]


def test_a_submodule_and_the_repository_around_it(repository: Repository) -> None:
    repository.write({path: text for path, text in PRODUCT.items() if path == "product.toml"})
    repository.git("add", "-A")
    address = str(repository.path)
    repository.git("commit", "-q", "-m", "top")
    repository.git("-c", "protocol.file.allow=always", "submodule", "--quiet", "add", address, "sub")
    inside = repository.path / "sub"
    (inside / "product.toml").write_text("# 0.07\n")
    hook(repository.path / ".git/modules/sub/hooks", SEES, ".", "..")
    assert seen("commit", "-am", "x", cwd=inside) == [". '' 1", ".. '' 0"]


def test_a_repository_kept_outside_its_work_tree(tmp_path: Path) -> None:
    kept, folder = tmp_path / "kept.git", tmp_path / "folder"
    for path, text in (PRODUCT | {"parts/bolts.toml": CHANGED}).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)
    pair = (f"--git-dir={kept}", f"--work-tree={folder}")
    subprocess.run(["git", "init", "-q", "--bare", str(kept)], check=True)
    subprocess.run(["git", *pair, "add", "."], cwd=folder, check=True)
    hook(kept / "hooks", SEES, ".", "parts")
    assert seen(*pair, "commit", "-m", "x", cwd=folder) == [". '' 1", "parts '' 1"]


def test_what_is_being_pushed(repository: Repository, tmp_path: Path) -> None:
    """Before a push is accepted its objects lie in quarantine, named by the environment only."""
    receiving = tmp_path / "receiving.git"
    repository.git("clone", "-q", "--bare", ".", str(receiving))
    hook(receiving / "hooks", RECEIVES, event="pre-receive")
    repository.commit({"hardware/w20/parts/bolts.toml": CHANGED})
    assert seen("push", str(receiving), "main:side", cwd=repository.path) == ["1"]


@pytest.mark.parametrize("leak", ["GIT_DIR", "GIT_INDEX_FILE", "GIT_WORK_TREE", "GIT_OBJECT_DIRECTORY"])
def test_another_repository_is_read_without_our_variables(
    repository: Repository, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, leak: str
) -> None:
    other = Repository(tmp_path / "other")
    other.commit(PRODUCT | {"parts/bolts.toml": CHANGED})
    ours = {"GIT_DIR": ".git", "GIT_INDEX_FILE": ".git/index", "GIT_OBJECT_DIRECTORY": ".git/objects"}
    monkeypatch.chdir(repository.path)
    monkeypatch.setenv(leak, str(repository.path / ours.get(leak, "")))
    for state in ({"index": True}, {"revision": "HEAD"}):
        (opened,) = open_products(other.path, **state)
        assert opened.folder == ""
        assert sum(file.data.count(b"0.07") for file in opened.read().files) == 1
