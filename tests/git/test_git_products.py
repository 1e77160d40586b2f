"""Which product is meant in a bare repository or a submodule; index and revision say what the work tree says."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from ferrule.errors import FerruleError
from ferrule.source.products import open_products
from git_builders import PRODUCT, Repository


def test_a_product_named_in_a_bare_repository(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "repo")
    repository.commit({f"hardware/{name}/{path}": text for name in "ab" for path, text in PRODUCT.items()})
    repository.git("clone", "-q", "--bare", ".", "../bare.git")
    bare = tmp_path / "bare.git"
    assert [opened.folder for opened in open_products(bare, revision="HEAD")] == ["hardware/a", "hardware/b"]
    (opened,) = open_products(bare, product=Path("hardware/b/parts"), revision="HEAD")
    assert opened.folder == "hardware/b"
    with pytest.raises(FerruleError, match="no product in the commit"):
        open_products(bare, product=Path("b"), revision="HEAD")
    with pytest.raises(FerruleError, match="outside the repository"):
        open_products(bare, product=Path("../repo/b"), revision="HEAD")


@pytest.mark.parametrize("inner", ["sub", "sub/parts"])
def test_a_submodule_not_checked_out(tmp_path: Path, inner: str) -> None:
    """Its folder is empty and lies in our product, yet ours is not the one meant."""
    other = Repository(tmp_path / "other")
    other.commit(PRODUCT)
    repository = Repository(tmp_path / "repo")
    repository.commit(PRODUCT)
    repository.git("-c", "protocol.file.allow=always", "submodule", "--quiet", "add", str(other.path), "sub")
    repository.git("commit", "-q", "-m", "x")
    repository.git("clone", "-q", ".", "../clone")
    for state in ("index", "revision"):
        with pytest.raises(FerruleError, match="sub is a submodule") as caught:
            open_products(
                tmp_path / "clone",
                product=Path(inner),
                index=state == "index",
                revision="HEAD" if state == "revision" else None,
            )
        assert "git submodule update --init sub" in caught.value.hint


def test_every_state_says_the_same_of_odd_entries(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "repo")
    repository.commit({f"w20/{path}": text for path, text in PRODUCT.items()} | {"other.toml": "x = 1\n"})
    repository.write({"w20/parts/x.toml/y.toml": "", "w20/frozen/z.toml/y.toml": "", "z.toml/y.toml": ""})
    folder = repository.path / "w20" / os.fsdecode(b"caf\xe9.toml")
    folder.mkdir()
    (folder / "a.toml").write_text("")
    links = {
        "in": "../firms/firms.toml",
        "out": "../../other.toml",
        "far": "/etc/x.toml",
        "up": "../../../w20/x",
    }
    for name, target in links.items():
        (repository.path / f"w20/parts/{name}.toml").symlink_to(target)
    repository.git("add", "-A")
    repository.git("commit", "-q", "-m", "odd")
    (disk,) = open_products(repository.path / "w20")
    (index,) = open_products(repository.path / "w20", index=True)
    (revision,) = open_products(repository.path / "w20", revision="HEAD")
    snapshots = [opened.read() for opened in (disk, index, revision)]
    twice, out = (
        "a symbolic link is not followed: its file would be read twice",
        "a symbolic link is not followed: it leads out of the product",
    )
    assert {problem.path: problem.message for problem in snapshots[0].problems} == {
        "w20/caf\\udce9.toml": "the file's name is not UTF-8",
        "w20/caf\\udce9.toml/a.toml": "the file's name is not UTF-8",
        "w20/parts/far.toml": out,
        "w20/parts/in.toml": twice,
        "w20/parts/out.toml": out,
        "w20/parts/up.toml": out,
        "w20/parts/x.toml": "this is a folder, not a file",
    }
    assert snapshots[1].problems == snapshots[0].problems
    assert snapshots[2].problems == snapshots[0].problems
    paths = [[(file.path, file.data) for file in snapshot.files] for snapshot in snapshots]
    assert paths[0] == paths[1] == paths[2]
