"""The work tree read from the disk: the same files as git would hold, and every odd entry said."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from ferrule.source.products import open_products
from ferrule.source.snapshot import Snapshot
from ferrule.source.worktree import products_below, read_worktree
from git_builders import PRODUCT, Repository

NOBODY = 65534


def kinds(snapshot: Snapshot) -> dict[str, str]:
    return {problem.path: problem.kind for problem in snapshot.problems}


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    made = Repository(tmp_path / "repo")
    made.commit(PRODUCT)
    return made


@contextmanager
def as_nobody(folder: Path) -> Iterator[None]:
    """Give up root's right to read everything, if we are root; everything above the folder can be entered."""
    if os.geteuid() != 0:
        yield
        return
    changed = {
        above: above.stat().st_mode for above in (folder, *folder.parents) if not above.stat().st_mode & 0o001
    }
    for above, mode in changed.items():
        above.chmod(mode | 0o055)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
        for above, mode in changed.items():
            above.chmod(mode)


def test_what_may_not_be_read(repository: Repository) -> None:
    repository.write({"parts/secret.toml": "x = 1\n", "closed/a.toml": "x = 1\n", "docs/a.pdf": "drawing"})
    for path in ("parts/secret.toml", "closed", "docs"):
        (repository.path / path).chmod(0)
    try:
        with as_nobody(repository.path):
            snapshot = read_worktree(repository.path, "")
            digests = snapshot.digests(["docs/a.pdf", "closed/a.toml"])
    finally:
        for path in ("closed", "docs"):
            (repository.path / path).chmod(0o755)
    expected = {"closed": "unreadable", "docs": "unreadable", "parts/secret.toml": "unreadable"}
    assert kinds(snapshot) == expected
    assert {problem.message for problem in snapshot.problems} == {
        "the file cannot be read: Permission denied",
        "the folder cannot be read: Permission denied",
    }
    assert [file.path for file in snapshot.files] == sorted(PRODUCT)
    assert digests == {}


def test_a_folder_named_like_a_file_is_looked_into(repository: Repository) -> None:
    """A commit holds what lies in it, so the work tree must too."""
    repository.write({"parts/x.toml/y.toml": "[part.Y]\n"})
    repository.git("add", "-A")
    snapshot = read_worktree(repository.path, "")
    assert kinds(snapshot) == {"parts/x.toml": "not-a-file"}
    (opened,) = open_products(repository.path, index=True)
    paths = sorted([*PRODUCT, "parts/x.toml/y.toml"])
    assert [file.path for file in snapshot.files] == paths
    assert [file.path for file in opened.read().files] == paths


@pytest.mark.parametrize("files", [{"a.toml": "x = 1\n"}, PRODUCT], ids=["loose", "product"])
def test_a_submodule_is_not_part_of_the_product(
    repository: Repository, tmp_path: Path, files: dict[str, str]
) -> None:
    """Its files are no files of ours in the index either."""
    other = Repository(tmp_path / "other")
    other.commit(files)
    for place in ("firmware", "parts/sub.toml"):
        command = ("-c", "protocol.file.allow=always", "submodule", "--quiet", "add", str(other.path), place)
        repository.git(*command)
    assert products_below(repository.path) == [""]
    for index in (False, True):
        (opened,) = open_products(repository.path, index=index)
        snapshot = opened.read()
        assert [file.path for file in snapshot.files] == sorted(PRODUCT)
        assert kinds(snapshot) == {"parts/sub.toml": "submodule"}


def test_products_in_other_repositories_are_not_ours(tmp_path: Path) -> None:
    top = Repository(tmp_path / "top")
    top.commit({"a/product.toml": "x = 1\n"})
    Repository(top.path / "cloned").commit(PRODUCT)
    assert products_below(top.path) == ["a"]


def test_links_say_where_they_lead(repository: Repository, tmp_path: Path) -> None:
    (tmp_path / "repo-outside.toml").write_text("x = 1\n")  # shares the beginning of the product's path
    (repository.path / "parts/inside.toml").symlink_to("bolts.toml")
    (repository.path / "parts/outside.toml").symlink_to(tmp_path / "repo-outside.toml")
    (repository.path / "parts/nowhere.toml").symlink_to("/nowhere.toml")
    found = {problem.path: problem.message for problem in read_worktree(repository.path, "").problems}
    assert found == {
        "parts/inside.toml": "a symbolic link is not followed: its file would be read twice",
        "parts/nowhere.toml": "a symbolic link is not followed: it leads out of the product",
        "parts/outside.toml": "a symbolic link is not followed: it leads out of the product",
    }


def test_linked_folders_are_not_followed(repository: Repository) -> None:
    (repository.path / "again").symlink_to("parts")
    (repository.path / "round").symlink_to(".")
    snapshot = read_worktree(repository.path, "")
    assert [file.path for file in snapshot.files] == sorted(PRODUCT)
    assert snapshot.problems == ()


def test_a_folder_whose_name_is_not_utf8(repository: Repository) -> None:
    folder = repository.path / os.fsdecode(b"caf\xe9.toml")
    folder.mkdir()
    (folder / "a.toml").write_text("x = 1\n")
    expected = {"caf\\udce9.toml": "name-not-utf8", "caf\\udce9.toml/a.toml": "name-not-utf8"}
    assert kinds(read_worktree(repository.path, "")) == expected


def test_files_are_shown_from_the_top_and_sorted(tmp_path: Path) -> None:
    for name in ("b/z.toml", "b/a.toml", "b/a/x.toml", "b/product.toml", "z.toml"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"\xef\xbb\xbfx = 1\r\n")
    snapshot = read_worktree(tmp_path, "b")
    assert [file.path for file in snapshot.files] == ["b/a.toml", "b/a/x.toml", "b/product.toml", "b/z.toml"]
    assert {(file.data, file.blob) for file in snapshot.files} == {(b"\xef\xbb\xbfx = 1\r\n", "")}
