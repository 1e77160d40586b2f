"""The git reader itself: what counts as staged, hashes only, documents in pieces, plain words on failure."""

from __future__ import annotations

import hashlib
import subprocess
from pathlib import Path

import pytest

from ferrule.errors import FerruleError
from ferrule.source.git import Git, staged_touches
from git_builders import PART, PRODUCT, Repository

FORMATS = pytest.mark.parametrize("options", [[], ["--object-format=sha256"]], ids=["sha1", "sha256"])


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    made = Repository(tmp_path / "repo")
    made.commit(PRODUCT)
    return made


def staged(repository: Repository) -> set[str]:
    return {entry.path for entry in Git(repository.path).index()[0]}


@FORMATS
def test_an_announced_file_is_not_in_the_index(tmp_path: Path, options: list[str]) -> None:
    """`git add -N` stages no content, and git commits the rest without it; an empty file is committed."""
    repository = Repository(tmp_path / "repo", *options)
    repository.commit(PRODUCT)
    repository.write({"parts/announced.toml": "[part.X]\n", "parts/empty.toml": ""})
    repository.git("add", "parts/empty.toml")
    repository.git("add", "-N", "parts/announced.toml")
    assert staged(repository) == {*PRODUCT, "parts/empty.toml"}
    repository.git("commit", "-q", "-m", "x")
    assert set(repository.git("ls-tree", "-r", "--name-only", "HEAD").split()) == staged(repository)


def test_reading_the_index_with_an_announced_file_writes_nothing(repository: Repository) -> None:
    repository.write({"parts/announced.toml": "[part.X]\n"})
    repository.git("add", "-N", "parts/announced.toml")
    before = (repository.path / ".git/index").read_bytes()
    git = Git(repository.path)
    git.index()
    staged_touches(git, [""])
    assert (repository.path / ".git/index").read_bytes() == before


@FORMATS
def test_empty_tree_is_what_git_hashes_nothing_to(tmp_path: Path, options: list[str]) -> None:
    repository = Repository(tmp_path / "repo", *options)
    hashed = subprocess.run(
        ["git", "hash-object", "-t", "tree", "--stdin"],
        input=b"",
        cwd=repository.path,
        capture_output=True,
        check=True,
    )
    assert Git(repository.path).empty_tree() == hashed.stdout.decode().strip()


@FORMATS
def test_staged_touches_before_the_first_commit(tmp_path: Path, options: list[str]) -> None:
    repository = Repository(tmp_path / "repo", *options)
    git = Git(repository.path)
    assert not staged_touches(git, [""])
    repository.write({"a/product.toml": "x = 1\n"})
    assert not staged_touches(git, ["a"])
    repository.git("add", "-A")
    assert staged_touches(git, ["a"])
    assert staged_touches(git, [""])
    assert not staged_touches(git, ["b"])


def test_staged_touches_only_what_is_staged_in_the_folder(repository: Repository) -> None:
    git = Git(repository.path)
    repository.write({"parts/bolts.toml": PART + "\n"})
    assert not staged_touches(git, [""])
    repository.git("add", "-A")
    assert staged_touches(git, [""])
    assert staged_touches(git, ["firms", "parts"])
    assert not staged_touches(git, ["firms"])
    assert not staged_touches(git, ["part"])
    assert not staged_touches(git, [])


def test_staged_touches_deletions_renames_and_conflicts(repository: Repository) -> None:
    git = Git(repository.path)
    repository.git("mv", "parts/bolts.toml", "firms/bolts.toml")
    assert staged_touches(git, ["parts"])
    repository.git("reset", "-q", "--hard")
    repository.git("rm", "-q", "-r", "parts")
    assert staged_touches(git, ["parts"])
    repository.git("reset", "-q", "--hard")
    repository.git("checkout", "-q", "-b", "side")
    repository.commit({"parts/bolts.toml": PART + "# side\n"})
    repository.git("checkout", "-q", "main")
    repository.commit({"parts/bolts.toml": PART + "# main\n"})
    repository.git("merge", "-q", "side", fine=(1,))
    assert staged_touches(git, ["parts"])
    assert not staged_touches(git, ["firms"])


def test_a_folder_is_a_name_and_no_pattern(repository: Repository) -> None:
    repository.write({"*/product.toml": "x = 1\n", ":(exclude)x/product.toml": "x = 1\n"})
    repository.git("add", "-A")
    git = Git(repository.path)
    assert staged_touches(git, ["*"])
    assert staged_touches(git, [":(exclude)x"])
    repository.git("reset", "-q", "--hard")
    repository.commit({"*/product.toml": "x = 1\n"})
    repository.write({"parts/bolts.toml": PART + "\n"})
    repository.git("add", "-A")
    assert not staged_touches(git, ["*"])


def test_changed_paths(repository: Repository) -> None:
    before = repository.git("rev-parse", "HEAD").strip()
    latin = b"latin\xe9.toml".decode("utf-8", "surrogateescape")
    (repository.path / latin).write_text("x = 1\n")
    repository.git("mv", "parts/bolts.toml", "parts/screws.toml")
    after = repository.commit({"firms/firms.toml": "# none\n"})
    expected = {"firms/firms.toml", "parts/bolts.toml", "parts/screws.toml", latin}
    assert set(Git(repository.path).changed_paths(before, after)) == expected
    assert Git(repository.path).changed_paths(after, after) == []


@pytest.mark.parametrize(
    "revision",
    ["^HEAD", "HEAD^@", "HEAD^!", "HEAD..", "..", "HEAD HEAD", "HEAD:", "@{u}", "HEAD^{tree}", "--git-dir"],
)
def test_what_names_no_single_commit(repository: Repository, revision: str) -> None:
    repository.commit({"readme": "second\n"})
    with pytest.raises(FerruleError) as caught:
        Git(repository.path).commit(revision)
    assert "git log" in caught.value.hint or "name a commit" in caught.value.hint


@pytest.mark.parametrize("revision", ["HEAD", "@", "main", "v1", "HEAD^0", "HEAD^{/chan}", "main@{0}"])
def test_what_names_a_commit(repository: Repository, revision: str) -> None:
    repository.git("tag", "-a", "-m", "one", "v1")
    assert Git(repository.path).commit(revision) == repository.git("rev-parse", "HEAD").strip()


def test_digests_are_those_of_the_bytes(repository: Repository) -> None:
    """Of none, of one byte, of a piece's exact size, and of one with line ends and more than one piece."""
    contents = [b"", b"x", b"y" * (1 << 20), b"\r\n\0" * 1_000_000]
    repository.commit({f"docs/{number}": data for number, data in enumerate(contents)})
    blobs = [repository.git("rev-parse", f"HEAD:docs/{number}").strip() for number in range(len(contents))]
    expected = {blob: hashlib.sha256(data).hexdigest() for blob, data in zip(blobs, contents, strict=True)}
    assert Git(repository.path).digests(blobs) == expected
    assert Git(repository.path).digests([]) == {}


def test_a_missing_object_is_said(repository: Repository) -> None:
    nothing = "1" * 40
    for read in (Git(repository.path).digests, Git(repository.path).blobs):
        with pytest.raises(FerruleError, match="is missing from the repository"):
            read([nothing])


def test_no_index_in_a_bare_repository(repository: Repository) -> None:
    repository.git("clone", "-q", "--bare", ".", "../bare.git")
    bare = Git(repository.path.parent / "bare.git")
    assert bare.top() is None
    with pytest.raises(FerruleError, match="a bare repository has no index") as caught:
        bare.index()
    assert "--at" in caught.value.hint


def test_an_emptied_index_is_no_bare_repository(repository: Repository) -> None:
    repository.git("rm", "-q", "-r", "--cached", ".")
    assert Git(repository.path).index() == ([], [])


def test_a_git_that_cannot_be_started(
    repository: Repository, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin/git").write_text("no program\n")
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    with pytest.raises(FerruleError, match="git could not be started"):
        Git(repository.path).index()


def test_shallow(repository: Repository) -> None:
    repository.commit({"readme": "second\n"})
    repository.git("clone", "-q", "--depth", "1", f"file://{repository.path}", "../shallow")
    assert Git(repository.path.parent / "shallow").is_shallow()
    assert not Git(repository.path).is_shallow()
