"""The git reader itself: what counts as staged, hashes only, documents in pieces, plain words on failure."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from ferrule.errors import FerruleError
from ferrule.source.git import Git
from git_builders import PRODUCT, Repository

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


def test_reading_the_index_with_an_announced_file_writes_nothing(repository: Repository) -> None:
    repository.write({"parts/announced.toml": "[part.X]\n"})
    repository.git("add", "-N", "parts/announced.toml")
    before = (repository.path / ".git/index").read_bytes()
    git = Git(repository.path)
    git.index()
    assert (repository.path / ".git/index").read_bytes() == before
