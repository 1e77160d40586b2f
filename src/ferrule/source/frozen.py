"""The frozen builds that a state of a product knows of: locks in its folder, tags in its history."""

from __future__ import annotations

import hashlib
import os
import posixpath
from collections.abc import Iterator, Mapping
from pathlib import Path

from ferrule.errors import FerruleError
from ferrule.model.frozen import FrozenBuild
from ferrule.source.git import Git
from ferrule.source.tagging import Tagged, lock_path, tagged_builds

__all__ = ["disk_blob", "frozen_builds", "frozen_on_disk", "lf", "sha256_of"]


def lf(data: bytes) -> bytes:
    """Return text with the line ends it has in git; a lock holds no carriage return of its own."""
    return data.replace(b"\r\n", b"\n")


def frozen_builds(
    git: Git | None, folder: str, locks: Mapping[str, bytes], revision: str
) -> tuple[FrozenBuild, ...]:
    """Return the frozen builds of the product in ``folder``, sorted by name.

    ``locks`` are the lock files of the state by path. A tag without one counts where its commit lies in the
    history of ``revision``: that lock was taken away. Without git nothing is known of tags.
    """
    tags = {each.name: each for each in tagged_builds(git, folder)} if git is not None else {}
    by_name = {posixpath.basename(path).removesuffix(".lock"): (path, data) for path, data in locks.items()}
    found = [
        FrozenBuild(
            name=name,
            file=path,
            text=lf(data).decode("utf-8", "replace"),
            tagged=_tagged_text(tags.get(name)),
            tag_fault=tags[name].fault if name in tags else "",
            in_git=git is not None,
        )
        for name, (path, data) in by_name.items()
    ]
    if git is not None:
        found += _taken_away(
            git, folder, {name: tags[name] for name in tags.keys() - by_name.keys()}, revision
        )
    return tuple(sorted(found, key=lambda each: each.name))


def _taken_away(git: Git, folder: str, tags: Mapping[str, Tagged], revision: str) -> Iterator[FrozenBuild]:
    for name, tag in tags.items():
        try:
            git.run("merge-base", "--is-ancestor", tag.commit, revision)
        except FerruleError:  # not in this history, or there is none yet
            continue
        text = _tagged_text(tag)
        yield FrozenBuild(
            name=name, file=lock_path(folder, name), text=None, tagged=text, tag_fault=tag.fault
        )


def _tagged_text(tag: Tagged | None) -> str | None:
    return tag.lock.decode("utf-8", "replace") if tag is not None and tag.lock is not None else None


def disk_blob(git: Git, path: str) -> str:
    """Return the object name git would give a file of the work tree, line ends and filters minded; empty for none."""
    full = os.path.join(git.folder, path)  # noqa: PTH118  bytes that are no text stay as they are
    if os.path.islink(full) or not os.path.isfile(full):  # noqa: PTH113, PTH114
        return ""
    return git.run("hash-object", f"--path={path}", "--", full).decode().strip()


def sha256_of(data: bytes) -> str:
    """Return the SHA-256 of bytes, hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def frozen_on_disk(top: Path | None, path: str) -> bytes | None:
    """Return a lock as it lies in the work tree, with the line ends of git; None where it does not."""
    full = top / path if top is not None else None
    if full is None or full.is_symlink() or not full.is_file():
        return None
    return lf(full.read_bytes())
