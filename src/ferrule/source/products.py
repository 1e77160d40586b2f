"""Which product is meant, and its snapshot: work tree, index or revision, all through here."""

from __future__ import annotations

import os
import posixpath
from collections.abc import Callable, Iterable
from pathlib import Path

from msgspec import Struct

from ferrule.errors import FerruleError
from ferrule.model.frozen import FrozenBuild
from ferrule.source.authors import line_authors
from ferrule.source.frozen import frozen_builds
from ferrule.source.git import Entry, Git, find_git
from ferrule.source.snapshot import Problem, Snapshot, SourceFile, belongs, inside
from ferrule.source.tagging import frozen_revision
from ferrule.source.worktree import (
    folder_problem,
    is_utf8,
    products_below,
    read_worktree,
    submodule_problem,
    symlink_problem,
    too_large,
    unnamed_problem,
)

__all__ = ["Opened", "open_products"]

_HEAD = "product.toml"


class Opened(Struct, frozen=True, kw_only=True):
    """A product found, not yet read."""

    folder: str
    #: Top folder that paths start from; None in a bare repository.
    top: Path | None
    read: Callable[[], Snapshot]
    #: Reads the same product at another revision; None where it does not exist there.
    read_at: Callable[[str], Snapshot | None]


def open_products(
    start: Path, *, product: Path | None = None, revision: str | None = None, index: bool = False
) -> list[Opened]:
    """Return the product around or below ``start``: the nearest one above, else all below the repository's top.

    ``product`` names its folder instead. With ``revision`` or ``index`` product.toml is looked for there,
    not on the disk. Raises FerruleError where there is none.
    """
    if revision is not None and index:
        raise FerruleError("--at and --index exclude each other", "leave out one of them")
    if not start.is_dir():
        raise FerruleError(f"{start} is not a folder", "name a folder that exists")
    asked = (start / product) if product is not None else start
    if revision is None and not index:
        return _on_disk(asked, named=product is not None)
    return _in_git(start, asked, revision, named=product is not None)


# --- the work tree -------------------------------------------------------------------------------------


def _on_disk(asked: Path, *, named: bool) -> list[Opened]:
    if not asked.is_dir():
        raise FerruleError(f"{asked} is not a folder", "name the folder that holds product.toml")
    git = find_git(asked)
    top = git.top() if git is not None else None
    if git is not None and top is None and not (asked / _HEAD).is_file():
        raise FerruleError("a bare repository has no work tree", "pass --at with a commit, tag or branch")
    around = _around(asked.resolve(), top.resolve() if top is not None else None)
    if around is not None:
        base = top.resolve() if top is not None else around
        return [_disk_product(base, "" if around == base else around.relative_to(base).as_posix(), git)]
    base = top.resolve() if top is not None else asked.resolve()
    below = [] if named else products_below(base)
    if not below:
        raise _no_product(asked)
    return [_disk_product(base, folder, git) for folder in below]


def _around(start: Path, top: Path | None) -> Path | None:
    for folder in (start, *start.parents):
        if (folder / _HEAD).is_file():
            return folder
        if folder == top:
            return None
    return None


def _no_product(asked: Path) -> FerruleError:
    return FerruleError(
        f"no product here: {asked} and the folders above hold no product.toml",
        "run `ferrule init` to start one, or pass --product DIR",
    )


def _disk_product(top: Path, folder: str, git: Git | None) -> Opened:
    def read_at(revision: str) -> Snapshot | None:
        return _at(Git(top), folder, revision)

    def read() -> Snapshot:
        return read_worktree(top, folder, Git(top) if git is not None else None)

    return Opened(folder=folder, top=top, read=read, read_at=read_at)


# --- index and revisions -------------------------------------------------------------------------------


def _in_git(start: Path, asked: Path, revision: str | None, *, named: bool) -> list[Opened]:
    git = _repository(start, asked)
    top = git.top()
    inner = _asked_folder(top or start, asked)
    listing = _listing(git, revision, inner)
    folders = _product_folders(listing.entries, listing.unmerged)
    _refuse_submodule(listing.entries, inner)
    chosen = _chosen(folders, inner, named=named)
    if not chosen:
        raise FerruleError(
            f"no product in the {listing.label}: it holds no product.toml there",
            "add product.toml, or name another revision",
        )
    return [_git_product(git, top, folder, listing) for folder in chosen]


def _repository(start: Path, asked: Path) -> Git:
    folder = asked if asked.is_dir() else start
    git = Git(folder)
    git.run("rev-parse", "--git-dir")
    top = git.top()
    if top is None or top.resolve() == folder.resolve():
        return git
    return Git(top)  # paths of ls-files start where git runs


def _asked_folder(top: Path, asked: Path) -> str:
    """Return the folder asked for within the paths; in a bare repository they start where we are."""
    try:
        inner = asked.resolve().relative_to(top.resolve()).as_posix()
    except ValueError:
        raise FerruleError(f"{asked} lies outside the repository {top}", "name a folder inside it") from None
    return "" if inner == "." else inner


def _refuse_submodule(entries: Iterable[Entry], asked: str) -> None:
    """Raise FerruleError for a folder in a submodule: not checked out it lies in our product, which is not meant."""
    for entry in entries:
        if entry.is_submodule and f"{asked}/".startswith(f"{entry.path}/"):
            hint = f"run `git submodule update --init {entry.path}`, then ferrule inside it"
            raise FerruleError(f"{entry.path} is a submodule, a repository of its own", hint)


def _chosen(folders: list[str], asked: str, *, named: bool) -> list[str]:
    """Return the product at or above ``asked``; if none is, and no folder was named, all products."""
    above = [folder for folder in folders if folder == asked or asked.startswith(f"{folder}/") or not folder]
    if above:
        return [max(above, key=len)]
    return [] if named else folders


class _Listing(Struct, frozen=True, kw_only=True):
    """What the index or a revision holds; ``commit`` is empty for the index."""

    label: str
    entries: list[Entry]
    unmerged: list[str] = []
    commit: str = ""


def _listing(git: Git, revision: str | None, near: str) -> _Listing:
    """Return what a revision holds, which may be the name of a frozen build, or the index without one."""
    if revision is None:
        entries, unmerged = git.index()
        return _Listing(label="index", entries=entries, unmerged=unmerged)
    commit = git.commit(frozen_revision(git, revision, near) or revision)
    short = git.short(commit)
    label = f"commit {short}" if revision.startswith(short) else f"commit {short} ({revision})"
    return _Listing(label=label, entries=git.tree(commit), commit=commit)


def _product_folders(entries: Iterable[Entry], unmerged: Iterable[str] = ()) -> list[str]:
    found = set()
    for path in (*(entry.path for entry in entries), *unmerged):
        folder, _, name = path.rpartition("/")
        if name == _HEAD and not any(part.startswith(".") for part in folder.split("/")):
            found.add(folder)
    return sorted(found)


def _git_product(git: Git, top: Path | None, folder: str, listing: _Listing) -> Opened:
    return Opened(
        folder=folder,
        top=top,
        read=lambda: _snapshot(git, folder, listing),
        read_at=lambda revision: _at(git, folder, revision),
    )


def _at(git: Git, folder: str, revision: str) -> Snapshot | None:
    listing = _listing(git, revision, folder)
    if folder not in _product_folders(listing.entries):
        return None
    return _snapshot(git, folder, listing)


def _snapshot(git: Git, folder: str, listing: _Listing) -> Snapshot:
    entries, unmerged = listing.entries, listing.unmerged
    folders = _product_folders(entries, unmerged)
    mine = [
        entry for entry in entries if entry.path.endswith(".toml") and belongs(entry.path, folders, folder)
    ]
    sizes = git.sizes(entry.blob for entry in mine if not entry.is_submodule)
    problems = [
        _conflict(path) for path in unmerged if path.endswith(".toml") and belongs(path, folders, folder)
    ]
    problems += [_folder(path) for path in _toml_folders(entries) if belongs(path, folders, folder)]
    links = git.blobs(entry.blob for entry in mine if entry.is_symlink)
    kept = []
    for entry in mine:
        problem = _linked(entry, links[entry.blob], folder) if entry.is_symlink else _unfit(entry, sizes)
        if problem is None:
            kept.append(entry)
        else:
            problems.append(problem)
    data = git.blobs(entry.blob for entry in kept)
    of_path = {entry.path: data[entry.blob] for entry in kept}
    return Snapshot(
        label=listing.label,
        folder=folder,
        files=tuple(
            sorted((SourceFile(e.path, of_path[e.path], e.blob) for e in kept), key=lambda file: file.path)
        ),
        problems=tuple(sorted(problems, key=lambda problem: problem.path)),
        digests=lambda paths: _digests(git, folder, entries, paths),
        frozen=lambda: _frozen(git, folder, listing),
        authors=lambda path: line_authors(git, path, listing.commit or of_path[path]),
    )


def _frozen(git: Git, folder: str, listing: _Listing) -> tuple[FrozenBuild, ...]:
    """Return the frozen builds of a listing; an index stands on HEAD."""
    prefix = f"{folder}/frozen/" if folder else "frozen/"
    mine = {
        entry.path: entry.blob
        for entry in listing.entries
        if entry.path.startswith(prefix)
        and entry.path.endswith(".lock")
        and "/" not in entry.path[len(prefix) :]
        and not entry.is_symlink
        and not entry.is_submodule
    }
    data = git.blobs(mine.values()) if mine else {}
    return frozen_builds(
        git, folder, {path: data[blob] for path, blob in mine.items()}, listing.commit or "HEAD"
    )


def _conflict(path: str) -> Problem:
    hint = f"resolve it, then `git add {path}`"
    return Problem(path=path, kind="merge-conflict", message="the file is in an unfinished merge", hint=hint)


def _toml_folders(entries: Iterable[Entry]) -> list[str]:
    """Return the folders named like a TOML file."""
    found: set[str] = set()
    for entry in entries:
        parts = entry.path.split("/")
        found.update("/".join(parts[:n]) for n in range(1, len(parts)) if parts[n - 1].endswith(".toml"))
    return sorted(found)


def _folder(path: str) -> Problem:
    return folder_problem(path) if is_utf8(path) else unnamed_problem(path)


def _linked(entry: Entry, target: bytes, folder: str) -> Problem:
    """Return what is wrong with a link, judged by the path it holds."""
    if not is_utf8(entry.path):
        return unnamed_problem(entry.path)
    leads = posixpath.normpath(posixpath.join(posixpath.dirname(entry.path), os.fsdecode(target)))
    inside = not leads.startswith(("/", "../")) and (not folder or leads.startswith(f"{folder}/"))
    return symlink_problem(entry.path, inside=inside)


def _unfit(entry: Entry, sizes: dict[str, int]) -> Problem | None:
    if not is_utf8(entry.path):
        return unnamed_problem(entry.path)
    if entry.is_submodule:
        return submodule_problem(entry.path)
    return too_large(entry.path, sizes.get(entry.blob, 0))


def _digests(git: Git, folder: str, entries: list[Entry], paths: Iterable[str]) -> dict[str, str]:
    known = {entry.path: entry.blob for entry in entries if not entry.is_symlink and not entry.is_submodule}
    prefix = f"{folder}/" if folder else ""
    wanted = {}
    for path in paths:
        plain = inside(path)
        if plain is not None and prefix + plain in known:
            wanted[path] = known[prefix + plain]
    found = git.digests(wanted.values()) if wanted else {}
    return {path: found[blob] for path, blob in wanted.items()}
