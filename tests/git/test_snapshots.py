"""Work tree, index and revisions give the same snapshot of the same content; everything odd is said."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from ferrule.errors import FerruleError
from ferrule.source.products import Opened, open_products
from ferrule.source.snapshot import Snapshot
from ferrule.source.worktree import read_worktree
from git_builders import HEAD, PART, PRODUCT, Repository


def only(found: list[Opened]) -> Opened:
    assert len(found) == 1
    return found[0]


def contents(snapshot: Snapshot) -> dict[str, bytes]:
    return {file.path: file.data for file in snapshot.files}


def read(
    folder: Path, *, revision: str | None = None, index: bool = False, product: Path | None = None
) -> Snapshot:
    return only(open_products(folder, product=product, revision=revision, index=index)).read()


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    made = Repository(tmp_path / "repo")
    made.commit(PRODUCT)
    return made


def test_three_states_are_told_apart(repository: Repository) -> None:
    repository.write({"parts/bolts.toml": PART.replace("0.03", "0.04")})
    repository.git("add", "-A")
    repository.write({"parts/bolts.toml": PART.replace("0.03", "0.05"), "parts/new.toml": "[part.NEW]\n"})
    prices = {
        "HEAD": contents(read(repository.path, revision="HEAD")),
        "index": contents(read(repository.path, index=True)),
        "work tree": contents(read(repository.path)),
    }
    assert b"0.03" in prices["HEAD"]["parts/bolts.toml"]
    assert b"0.04" in prices["index"]["parts/bolts.toml"]
    assert b"0.05" in prices["work tree"]["parts/bolts.toml"]
    assert "parts/new.toml" not in prices["index"]
    assert "parts/new.toml" in prices["work tree"]


def test_a_staged_deletion_is_gone_from_the_index_only(repository: Repository) -> None:
    repository.git("rm", "-q", "--cached", "parts/bolts.toml")
    assert "parts/bolts.toml" not in contents(read(repository.path, index=True))
    assert "parts/bolts.toml" in contents(read(repository.path))
    assert "parts/bolts.toml" in contents(read(repository.path, revision="HEAD"))


def test_reading_writes_nothing(repository: Repository) -> None:
    os.utime(repository.path / "parts/bolts.toml", (1, 1))  # git would like to refresh its index now
    before = (repository.path / ".git/index").read_bytes()
    for state in ({"index": True}, {"revision": "HEAD"}, {}):
        read(repository.path, **state)
    assert (repository.path / ".git/index").read_bytes() == before


def test_product_in_a_subfolder_from_anywhere_below(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "repo")
    repository.commit(
        {f"hardware/w20/{path}": text for path, text in PRODUCT.items()} | {"code/main.toml": "x = 1\n"}
    )
    deep = repository.path / "hardware/w20/parts"
    for state in ({}, {"index": True}, {"revision": "HEAD"}):
        snapshot = read(deep, **state)
        assert snapshot.folder == "hardware/w20"
        assert sorted(contents(snapshot)) == [f"hardware/w20/{path}" for path in sorted(PRODUCT)]


def test_several_products_and_a_nested_one(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "repo")
    files = {f"{name}/{path}": text for name in ("a", "b", "b/inner") for path, text in PRODUCT.items()}
    repository.commit(files)
    for state in ({}, {"index": True}, {"revision": "HEAD"}):
        found = open_products(repository.path, **state)
        assert [opened.folder for opened in found] == ["a", "b", "b/inner"]
        assert sorted(contents(found[1].read())) == [f"b/{path}" for path in sorted(PRODUCT)]
        named = open_products(repository.path, product=Path("a"), **state)
        assert only(named).folder == "a"


def test_hidden_and_frozen_folders_are_not_the_product(repository: Repository) -> None:
    extra = {
        ".ferrule/x.toml": "x = 1\n",
        ".hidden.toml": "x = 1\n",
        "frozen/one.toml": "x = 1\n",
        "a/.b/c.toml": "x = 1\n",
    }
    repository.commit(extra)
    for state in ({}, {"index": True}, {"revision": "HEAD"}):
        assert sorted(contents(read(repository.path, **state))) == sorted(PRODUCT)


def test_a_product_that_came_later_is_looked_for_in_the_revision(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "repo")
    first = repository.commit({"readme": "x\n"})
    repository.commit(PRODUCT)
    with pytest.raises(FerruleError, match=r"no product in the commit"):
        open_products(repository.path, revision=first)
    assert only(open_products(repository.path)).read_at(first) is None


@pytest.mark.parametrize("options", [["--object-format=sha256"], []], ids=["sha256", "sha1"])
@pytest.mark.parametrize(
    "settings", [["index.version", "4"], ["core.splitIndex", "true"]], ids=["v4", "split"]
)
def test_other_object_and_index_formats(tmp_path: Path, options: list[str], settings: list[str]) -> None:
    repository = Repository(tmp_path / "repo", *options)
    repository.git("config", *settings)
    repository.commit(PRODUCT)
    repository.write({"parts/bolts.toml": PART.replace("0.03", "0.04")})
    repository.git("add", "-A")
    assert b"0.04" in contents(read(repository.path, index=True))["parts/bolts.toml"]
    assert b"0.03" in contents(read(repository.path, revision="HEAD"))["parts/bolts.toml"]


def test_linked_worktree(repository: Repository) -> None:
    repository.git("worktree", "add", "-q", "../linked", "-b", "side")
    linked = repository.path.parent / "linked"
    (linked / "parts/bolts.toml").write_text(PART.replace("0.03", "0.07"))
    repository.git("add", "-A", cwd=linked)
    assert b"0.07" in contents(read(linked, index=True))["parts/bolts.toml"]
    assert b"0.03" in contents(read(repository.path, index=True))["parts/bolts.toml"]


def test_bare_repository(repository: Repository) -> None:
    repository.git("clone", "-q", "--bare", ".", "../bare.git")
    bare = repository.path.parent / "bare.git"
    assert sorted(contents(read(bare, revision="main"))) == sorted(PRODUCT)
    with pytest.raises(FerruleError, match="bare repository has no work tree"):
        open_products(bare)


def test_no_commit_yet(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "repo")
    repository.write(PRODUCT)
    repository.git("add", "-A")
    assert sorted(contents(read(repository.path, index=True))) == sorted(PRODUCT)
    with pytest.raises(FerruleError) as caught:
        open_products(repository.path, revision="HEAD")
    assert caught.value.hint == "there is no commit yet"


def test_merge_conflict_in_the_index(repository: Repository) -> None:
    repository.git("checkout", "-q", "-b", "side")
    repository.commit({"parts/bolts.toml": PART.replace("0.03", "0.04")})
    repository.git("checkout", "-q", "main")
    repository.commit({"parts/bolts.toml": PART.replace("0.03", "0.05")})
    repository.git("merge", "-q", "side", fine=(1,))
    snapshot = read(repository.path, index=True)
    assert [(problem.path, problem.kind) for problem in snapshot.problems] == [
        ("parts/bolts.toml", "merge-conflict")
    ]
    assert "parts/bolts.toml" not in contents(snapshot)


def test_shallow_clone_says_how_to_get_the_rest(repository: Repository) -> None:
    first = repository.git("rev-parse", "HEAD").strip()
    repository.commit({"parts/bolts.toml": PART.replace("0.03", "0.04")})
    address = f"file://{repository.path}"
    repository.git("clone", "-q", "--depth", "1", address, "../shallow")
    with pytest.raises(FerruleError, match="shallow clone does not hold") as caught:
        open_products(repository.path.parent / "shallow", revision=first)
    assert "git fetch --unshallow" in caught.value.hint


@pytest.mark.parametrize(
    "revision", ["--all", "--output=x", "", "main..side", "x\ny", "x\0y", "-1", "HEAD:parts", "nowhere"]
)
def test_hostile_revisions(repository: Repository, revision: str) -> None:
    with pytest.raises(FerruleError):
        open_products(repository.path, revision=revision)
    assert not (repository.path / "x").exists()


def test_without_git_the_work_tree_still_reads(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "plain"
    for path, text in PRODUCT.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)
    assert sorted(contents(read(folder))) == sorted(PRODUCT)
    with pytest.raises(FerruleError, match="not a git repository"):
        open_products(folder, index=True)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert sorted(contents(read(folder))) == sorted(PRODUCT)
    with pytest.raises(FerruleError, match="git was not found"):
        open_products(folder, revision="HEAD")


def test_someone_elses_repository(repository: Repository, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")
    with pytest.raises(FerruleError, match="belongs to someone else") as caught:
        open_products(repository.path)
    assert "safe.directory" in caught.value.hint


def kinds(snapshot: Snapshot) -> dict[str, str]:
    return {problem.path: problem.kind for problem in snapshot.problems}


def test_what_is_no_file(repository: Repository, tmp_path: Path) -> None:
    (tmp_path / "outside.toml").write_text("[part.X]\n")
    (repository.path / "parts/link.toml").symlink_to(tmp_path / "outside.toml")
    (repository.path / "parts/folder.toml").mkdir()
    os.mkfifo(repository.path / "parts/pipe.toml")
    assert kinds(read(repository.path)) == {
        "parts/folder.toml": "not-a-file", "parts/link.toml": "symlink", "parts/pipe.toml": "not-a-file",
    }  # fmt: skip
    repository.git("add", "parts/link.toml")
    assert kinds(read(repository.path, index=True)) == {"parts/link.toml": "symlink"}


def test_names_that_are_not_utf8(repository: Repository) -> None:
    (repository.path / os.fsdecode(b"parts/latin\xe9.toml")).write_text("[part.X]\n")
    repository.git("add", "-A")
    repository.git("commit", "-q", "-m", "latin")
    for state in ({}, {"index": True}, {"revision": "HEAD"}):
        assert kinds(read(repository.path, **state)) == {"parts/latin\\udce9.toml": "name-not-utf8"}


def test_too_large_files_are_not_read(repository: Repository) -> None:
    with (repository.path / "parts/huge.toml").open("wb") as file:
        file.truncate(100 << 20)
    assert kinds(read(repository.path)) == {"parts/huge.toml": "too-large"}


def test_submodule_named_like_a_file(repository: Repository) -> None:
    repository.git("clone", "-q", ".", "../other")
    commit = repository.git("rev-parse", "HEAD").strip()
    repository.git("update-index", "--add", "--cacheinfo", f"160000,{commit},parts/sub.toml")
    assert kinds(read(repository.path, index=True)) == {"parts/sub.toml": "submodule"}


def test_digests_of_documents(repository: Repository, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("secret")
    repository.write({"docs/a.txt": "drawing\n"})
    (repository.path / "docs/link.txt").symlink_to(tmp_path / "secret")
    repository.git("add", "-A")
    asked = ["docs/a.txt", "docs/none.txt", "../secret", "/etc/passwd", "docs/link.txt", "docs"]
    expected = {"docs/a.txt": hashlib.sha256(b"drawing\n").hexdigest()}
    assert read(repository.path).digests(asked) == expected
    assert read(repository.path, index=True).digests(asked) == expected
    assert read(repository.path, revision="HEAD").digests(asked) == {}


def test_line_ends_of_a_checkout_do_not_change_a_revision(repository: Repository) -> None:
    repository.git("config", "core.autocrlf", "true")
    (repository.path / "parts/bolts.toml").unlink()
    repository.git("checkout", "-q", "--", "parts/bolts.toml")
    assert b"\r\n" in contents(read(repository.path))["parts/bolts.toml"]
    assert b"\r\n" not in contents(read(repository.path, revision="HEAD"))["parts/bolts.toml"]


def test_the_environment_of_a_hook_stays_with_its_own_repository(
    repository: Repository, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a hook GIT_INDEX_FILE names the committing repository's index; it is followed there and only there."""
    other = Repository(tmp_path / "other")
    other.commit(PRODUCT)
    partial = repository.path / ".git/next-index-1.lock"
    monkeypatch.setenv("GIT_INDEX_FILE", str(partial))
    repository.git("read-tree", "HEAD")
    repository.git("rm", "-q", "--cached", "parts/bolts.toml")
    assert "parts/bolts.toml" not in contents(read(repository.path, index=True))
    assert "parts/bolts.toml" in contents(read(other.path, index=True))
    monkeypatch.setenv("GIT_DIR", str(repository.path / ".git"))
    assert "parts/bolts.toml" in contents(read(other.path, index=True))
    monkeypatch.delenv("GIT_DIR")
    monkeypatch.delenv("GIT_INDEX_FILE")
    assert "parts/bolts.toml" in contents(read(repository.path, index=True))


def test_ten_thousand_files_are_walked(tmp_path: Path) -> None:
    for folder in range(100):
        (tmp_path / f"parts/{folder}").mkdir(parents=True)
        for number in range(100):
            (tmp_path / f"parts/{folder}/{number}.toml").touch()
    (tmp_path / "product.toml").write_text(HEAD)
    assert len(read_worktree(tmp_path, "").files) == 10_001
