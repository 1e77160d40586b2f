"""A product read from the disk, with or without git."""

from __future__ import annotations

import hashlib
import itertools
import os
import stat
from collections.abc import Iterable, Iterator
from pathlib import Path

from ferrule.source.authors import line_authors
from ferrule.source.frozen import frozen_builds
from ferrule.source.git import Git
from ferrule.source.snapshot import LARGEST, Problem, Snapshot, SourceFile, inside, is_as_built

__all__ = [
    "folder_problem",
    "is_utf8",
    "products_below",
    "read_worktree",
    "submodule_problem",
    "symlink_problem",
    "too_large",
    "unnamed_problem",
]

_HEAD, _REPOSITORY = "product.toml", ".git"


def products_below(top: Path) -> list[str]:
    """Return the folders below ``top`` that hold a product.toml, as paths from ``top``.

    Hidden folders and other repositories are left out, as they are from the index.
    """
    found = []
    for folder, names, files in os.walk(top):
        inner = Path(folder).relative_to(top).as_posix()
        if inner != "." and (_REPOSITORY in names or _REPOSITORY in files):
            names.clear()  # another repository, as a submodule is
            continue
        names[:] = sorted(name for name in names if not name.startswith("."))
        if _HEAD in files:
            found.append("" if inner == "." else inner)
    return sorted(found)


def read_worktree(top: Path, folder: str, git: Git | None = None) -> Snapshot:
    """Return the product in ``folder`` below ``top`` as it lies on the disk, ``git`` around it if there is one."""
    root = top / folder if folder else top
    prefix = f"{folder}/" if folder else ""
    files: list[SourceFile] = []
    problems: list[Problem] = []
    for path, entry in itertools.chain(_toml_entries(root, prefix), _as_built(root / "frozen", prefix)):
        if not is_utf8(path):
            problems.append(unnamed_problem(path))
        elif isinstance(entry, Problem):
            problems.append(entry)
        elif (problem := _unfit(entry, path, root)) is not None:
            problems.append(problem)
        else:
            try:
                files.append(SourceFile(path, Path(entry.path).read_bytes()))
            except OSError as error:
                problems.append(_unreadable(path, "file", error))
    return Snapshot(
        label="work tree",
        folder=folder,
        files=tuple(sorted(files, key=lambda file: file.path)),
        problems=tuple(sorted(problems, key=lambda problem: problem.path)),
        digests=lambda paths: _digests(root, paths),
        frozen=lambda: frozen_builds(git, folder, _locks(root, prefix), "HEAD"),
        authors=lambda path: line_authors(git, path, top / path) if git is not None else (),
    )


def _locks(root: Path, prefix: str) -> dict[str, bytes]:
    """Return the locks on the disk by their path; what cannot be read is none."""
    found = {}
    for path in sorted((root / "frozen").glob("*.lock")):
        try:
            if not path.is_symlink() and path.is_file() and is_utf8(path.name):
                found[f"{prefix}frozen/{path.name}"] = path.read_bytes()
        except OSError:
            continue
    return found


def _toml_entries(
    folder: Path, prefix: str, *, top: bool = True
) -> Iterator[tuple[str, os.DirEntry[str] | Problem]]:
    """Yield every entry named *.toml of one product with its path, and folders that cannot be read.

    In no order. Not hidden ones, not ``frozen``, not those of products and repositories below.
    """
    try:
        with os.scandir(folder) as found:
            entries = list(found)
    except OSError as error:
        path = prefix.removesuffix("/")
        yield path, _unreadable(path, "folder", error)
        return
    for entry in entries:
        path = prefix + entry.name
        if entry.name.startswith(".") or (top and entry.name == "frozen"):
            continue
        named = entry.name.endswith(".toml")
        if not entry.is_dir(follow_symlinks=False):
            if named:
                yield path, entry
        elif _holds(entry.path, _REPOSITORY):
            if named:
                yield path, submodule_problem(path)
        elif not _holds(entry.path, _HEAD):
            if named:
                yield path, folder_problem(path)
            yield from _toml_entries(Path(entry.path), f"{path}/", top=False)


def _as_built(frozen: Path, prefix: str) -> Iterator[tuple[str, os.DirEntry[str] | Problem]]:
    """Yield what says how frozen builds were made; of that folder nothing else is read."""
    if frozen.is_dir() and not frozen.is_symlink():
        for path, entry in _toml_entries(frozen, f"{prefix}frozen/", top=False):
            if is_as_built(path.removeprefix(prefix).split("/")):
                yield path, entry


def _holds(folder: str, name: str) -> bool:
    try:
        return Path(folder, name).exists()
    except OSError:  # it cannot be looked into, which its own listing will say
        return False


def _unfit(entry: os.DirEntry[str], path: str, root: Path) -> Problem | None:
    if entry.is_symlink():
        return symlink_problem(path, inside=_lies_in(os.path.realpath(root), os.path.realpath(entry.path)))
    try:
        facts = entry.stat(follow_symlinks=False)
    except OSError as error:
        return _unreadable(path, "file", error)
    if not stat.S_ISREG(facts.st_mode):
        message = "this is a special file, not a file"
        return Problem(path=path, kind="not-a-file", message=message, hint="rename it")
    return too_large(path, facts.st_size)


def is_utf8(path: str) -> bool:
    """Return whether the bytes of a file's name are text."""
    try:
        path.encode()
    except UnicodeEncodeError:
        return False
    return True


def _unreadable(path: str, what: str, error: OSError) -> Problem:
    message = f"the {what} cannot be read: {error.strerror or error}"
    return Problem(path=path, kind="unreadable", message=message, hint="check its permissions")


def unnamed_problem(path: str) -> Problem:
    """Return what is wrong with a name whose bytes are no text; it is shown with those bytes escaped."""
    hint = "rename it with plain letters"
    return Problem(
        path=ascii(path)[1:-1], kind="name-not-utf8", message="the file's name is not UTF-8", hint=hint
    )


def folder_problem(path: str) -> Problem:
    """Return what is wrong with a folder named like a file."""
    return Problem(path=path, kind="not-a-file", message="this is a folder, not a file", hint="rename it")


def submodule_problem(path: str) -> Problem:
    """Return what is wrong with another repository in a folder named like a file."""
    message, hint = "this is another repository, not a file", "rename the folder of the submodule"
    return Problem(path=path, kind="submodule", message=message, hint=hint)


def symlink_problem(path: str, *, inside: bool | None = None) -> Problem:
    """Return what is wrong with a symbolic link: it leads outside, or to a file that would be read twice."""
    reason = {None: "", True: ": its file would be read twice", False: ": it leads out of the product"}
    hint = "remove the link" if inside else "put the file itself here"
    message = f"a symbolic link is not followed{reason[inside]}"
    return Problem(path=path, kind="symlink", message=message, hint=hint)


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
        try:
            if not _lies_in(base, full) or not stat.S_ISREG(os.stat(full).st_mode):  # noqa: PTH116  as below
                continue
            with open(full, "rb") as file:  # noqa: PTH123  a resolved name, checked to lie inside
                found[path] = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            continue
    return found


def _lies_in(base: str, full: str) -> bool:
    """Return whether a resolved path lies below a resolved folder."""
    return full.startswith(base.rstrip(os.sep) + os.sep)
