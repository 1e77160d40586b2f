"""What a folder of files cannot hold: repositories, special files, permissions. One function a case.

Each prepares the copy of its case; its docstring tells the gallery's reader what was done. It may return
the folder to run in, where that is not the copy itself.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path

__all__ = ["SITUATIONS", "environment"]

_DAY = "2026-11-25T08:00:00+0000"


def environment(home: Path) -> dict[str, str]:
    """Return an environment in which nothing of the person or machine running the tests is left."""
    kept = {name: os.environ[name] for name in ("PATH", "SYSTEMROOT") if name in os.environ}
    return kept | {
        "HOME": str(home),
        "TMPDIR": str(home),
        "LC_ALL": "C.UTF-8",
        "NO_COLOR": "1",
        "PYTHONDONTWRITEBYTECODE": "1",
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_AUTHOR_NAME": "R. Alder",
        "GIT_AUTHOR_EMAIL": "r.alder@wrenfield.example",
        "GIT_AUTHOR_DATE": _DAY,
        "GIT_COMMITTER_NAME": "R. Alder",
        "GIT_COMMITTER_EMAIL": "r.alder@wrenfield.example",
        "GIT_COMMITTER_DATE": _DAY,
    }


def _git(folder: Path, *arguments: str, fine: tuple[int, ...] = (0,)) -> None:
    done = subprocess.run(
        ["git", "-C", str(folder), *arguments],
        env=environment(folder.parent),
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode in fine, done.stderr


def _committed(folder: Path) -> None:
    """`git init`, `git add`, `git commit`"""
    _git(folder, "init", "-q", "-b", "main")
    _git(folder, "add", "--all")
    _git(folder, "commit", "-q", "-m", "start")


def _unborn(folder: Path) -> None:
    """`git init` only: there is no commit yet"""
    _git(folder, "init", "-q", "-b", "main")


def _symlink(folder: Path) -> None:
    """`ln -s ../elsewhere.toml parts.toml`"""
    (folder / "parts.toml").symlink_to("../elsewhere.toml")


def _symlink_committed(folder: Path) -> None:
    """`ln -s ../elsewhere.toml parts.toml`, committed"""
    _symlink(folder)
    _committed(folder)


def _symlink_head(folder: Path) -> None:
    """`ln -s missing.toml product.toml`"""
    (folder / "product.toml").symlink_to("missing.toml")


def _folder_as_file(folder: Path) -> None:
    """`mkdir parts.toml`"""
    (folder / "parts.toml").mkdir()


def _folder_as_head(folder: Path) -> None:
    """`mkdir product.toml`"""
    (folder / "product.toml").mkdir()


def _fifo(folder: Path) -> None:
    """`mkfifo parts.toml`"""
    os.mkfifo(folder / "parts.toml")


def _too_large(folder: Path) -> None:
    """`truncate -s 67108865 parts.toml`"""
    with (folder / "parts.toml").open("wb") as file:
        file.truncate((64 << 20) + 1)


def _no_permission(folder: Path) -> None:
    """`chmod 000 parts.toml`"""
    (folder / "parts.toml").chmod(0)


def _no_permission_folder(folder: Path) -> None:
    """`chmod 000 parts`"""
    (folder / "parts").chmod(0)


def _no_writing(folder: Path) -> None:
    """`chmod 555 .`"""
    folder.chmod(0o555)


def _name_not_utf8(folder: Path) -> None:
    r"""a file named `parts-\xff.toml`, the \xff being one byte"""
    with open(os.fsencode(folder) + b"/parts-\xff.toml", "wb"):  # noqa: PTH123  a name in bytes
        pass


def _name_with_escape(folder: Path) -> None:
    r"""a file named `parts-\e[31m.toml`, the \e being the escape character, that holds a lone `[`"""
    (folder / "parts-\x1b[31m.toml").write_text("[")


def _bare(folder: Path) -> Path:
    """`git clone --bare`, and the command run in the clone"""
    _committed(folder)
    _git(folder.parent, "clone", "-q", "--bare", str(folder), str(folder.parent / "clone.git"))
    return folder.parent / "clone.git"


def _shallow(folder: Path) -> Path:
    """two commits, the first tagged rev-A; `git clone --depth 1`, and the command run in the clone"""
    _committed(folder)
    _git(folder, "tag", "rev-A")
    _git(folder, "commit", "-q", "--allow-empty", "-m", "second")
    origin, clone = folder.as_uri(), str(folder.parent / "clone")
    _git(folder.parent, "clone", "-q", "--depth", "1", "--no-tags", origin, clone)
    return folder.parent / "clone"


def _conflict(folder: Path) -> None:
    """two branches change the same line of parts.toml; `git merge` stops at the conflict"""
    parts = folder / "parts.toml"
    _committed(folder)
    _git(folder, "switch", "-q", "-c", "other")
    parts.write_text('[part.R-1]\nname = "other"\n')
    _git(folder, "commit", "-q", "-a", "-m", "other")
    _git(folder, "switch", "-q", "main")
    parts.write_text('[part.R-1]\nname = "mine"\n')
    _git(folder, "commit", "-q", "-a", "-m", "mine")
    _git(folder, "merge", "-q", "other", fine=(1,))


def _submodule(folder: Path) -> None:
    """a submodule in a folder named parts.toml"""
    _committed(folder)
    (folder / "parts.toml").mkdir()
    _git(folder / "parts.toml", "init", "-q", "-b", "main")
    _git(folder / "parts.toml", "commit", "-q", "--allow-empty", "-m", "start")
    _git(folder, "-c", "advice.addEmbeddedRepo=false", "add", "parts.toml")
    _git(folder, "commit", "-q", "-m", "submodule")


def _object_lost(folder: Path) -> None:
    """committed, then the object of product.toml deleted from .git/objects"""
    _committed(folder)
    named = subprocess.run(
        ["git", "-C", str(folder), "rev-parse", "HEAD:product.toml"],
        env=environment(folder.parent),
        capture_output=True,
        text=True,
        check=True,
    ).stdout.strip()
    (folder / ".git/objects" / named[:2] / named[2:]).unlink()


def _product_outside(folder: Path) -> Path:
    """a repository in `inner` only, and the command run there"""
    (folder / "inner").mkdir()
    (folder / "inner/.keep").touch()
    _committed(folder / "inner")
    return folder / "inner"


#: Case → what has to be done to its copy before the command runs.
SITUATIONS: dict[str, Callable[[Path], Path | None]] = {
    "at-bare-repository": _bare,
    "at-both-index": _committed,
    "at-empty": _committed,
    "at-hostile-newline": _committed,
    "at-hostile-option": _committed,
    "at-hostile-range": _committed,
    "at-hostile-escape": _committed,
    "at-no-product-there": _committed,
    "at-object-lost": _object_lost,
    "at-outside-repository": _product_outside,
    "at-shallow-clone": _shallow,
    "at-unborn-head": _unborn,
    "at-unknown-revision": _committed,
    "bare-repository": _bare,
    "index-merge-conflict": _conflict,
    "index-nothing-staged": _unborn,
    "init-no-permission": _no_writing,
    "merge-conflict-in-work-tree": _conflict,
    "since-unknown-revision": _committed,
    "unreadable-fifo": _fifo,
    "unreadable-folder-as-file": _folder_as_file,
    "unreadable-folder-as-product": _folder_as_head,
    "unreadable-name-escape": _name_with_escape,
    "unreadable-name-not-utf8": _name_not_utf8,
    "unreadable-permission": _no_permission,
    "unreadable-permission-folder": _no_permission_folder,
    "unreadable-submodule": _submodule,
    "unreadable-symlink": _symlink,
    "unreadable-symlink-at-revision": _symlink_committed,
    "unreadable-symlink-as-product": _symlink_head,
    "unreadable-too-large": _too_large,
}
