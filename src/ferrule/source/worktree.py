"""A product read from the disk, with or without git."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Iterable, Iterator
from pathlib import Path

from ferrule.source.snapshot import LARGEST, Problem, Snapshot, SourceFile, inside

__all__ = ["products_below", "read_worktree"]

_HEAD = "product.toml"


def products_below(top: Path) -> list[str]:
    """Return the folders below ``top`` that hold a product.toml, as paths from ``top``; hidden ones left out."""
    found = []
    for folder, names, files in os.walk(top):
        names[:] = sorted(name for name in names if not name.startswith("."))
        if _HEAD in files:
            found.append("" if Path(folder) == top else Path(folder).relative_to(top).as_posix())
    return sorted(found)


def read_worktree(top: Path, folder: str) -> Snapshot:
    """Return the product in ``folder`` below ``top`` as it lies on the disk."""
    root = top / folder if folder else top
    prefix = f"{folder}/" if folder else ""
    files: list[SourceFile] = []
    problems: list[Problem] = []
    for entry, inner in _toml_entries(root, ""):
        path = prefix + inner
        problem = _unfit(entry, path)
        if problem is None:
            try:
                files.append(SourceFile(path, Path(entry.path).read_bytes()))
                continue
            except OSError as error:
                problem = _unreadable(path, error)
        problems.append(problem)
    return Snapshot(
        label="work tree",
        folder=folder,
        files=tuple(sorted(files, key=lambda file: file.path)),
        problems=tuple(sorted(problems, key=lambda problem: problem.path)),
        digests=lambda paths: _digests(root, paths),
    )


def _toml_entries(folder: Path, inner: str) -> Iterator[tuple[os.DirEntry[str], str]]:
    """Yield every entry named *.toml of one product, in no order: not hidden, not frozen, not nested products."""
    with os.scandir(folder) as entries:
        for entry in entries:
            name = entry.name
            path = f"{inner}/{name}" if inner else name
            if name.startswith(".") or path == "frozen":
                continue
            if name.endswith(".toml"):
                yield entry, path
            elif entry.is_dir(follow_symlinks=False) and not Path(entry.path, _HEAD).is_file():
                yield from _toml_entries(Path(entry.path), path)


def _unfit(entry: os.DirEntry[str], path: str) -> Problem | None:
    if not _is_utf8(path):
        hint = "rename it with plain letters"
        return Problem(
            path=ascii(path)[1:-1], kind="name-not-utf8", message="the file's name is not UTF-8", hint=hint
        )
    if entry.is_symlink():
        return symlink_problem(path)
    try:
        facts = entry.stat(follow_symlinks=False)
    except OSError as error:
        return _unreadable(path, error)
    if not stat.S_ISREG(facts.st_mode):
        kind = "folder" if stat.S_ISDIR(facts.st_mode) else "special file"
        return Problem(
            path=path, kind="not-a-file", message=f"this is a {kind}, not a file", hint="rename it"
        )
    return too_large(path, facts.st_size)


def _is_utf8(path: str) -> bool:
    try:
        path.encode()
    except UnicodeEncodeError:
        return False
    return True


def _unreadable(path: str, error: OSError) -> Problem:
    message = f"the file cannot be read: {error.strerror or error}"
    return Problem(path=path, kind="unreadable", message=message, hint="check its permissions")


def symlink_problem(path: str) -> Problem:
    """Return what is wrong with a symbolic link: its target may lie anywhere, or be read twice."""
    hint = "put the file itself here"
    return Problem(path=path, kind="symlink", message="a symbolic link is not followed", hint=hint)


def too_large(path: str, size: int) -> Problem | None:
    """Return what is wrong with a file of this size, if anything."""
    if size <= LARGEST:
        return None
    message = f"the file has {size:,} bytes; at most {LARGEST:,} are read"
    return Problem(path=path, kind="too-large", message=message, hint="split it")


def _digests(root: Path, paths: Iterable[str]) -> dict[str, str]:
    found = {}
    base = os.path.realpath(root)
    for path in paths:
        plain = inside(path)
        if plain is None:
            continue
        full = os.path.realpath(root / plain)
        if not full.startswith(base + os.sep) or not Path(full).is_file():
            continue
        try:
            with open(full, "rb") as file:  # noqa: PTH123  a resolved name, checked to lie inside
                found[path] = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            continue
    return found
