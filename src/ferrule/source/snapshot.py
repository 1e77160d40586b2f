"""The files of one product as they stand in the work tree, the index or a revision."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterable, Sequence
from typing import Literal

from msgspec import Struct

from ferrule.model.frozen import FrozenBuild

__all__ = [
    "LARGEST",
    "Author",
    "Problem",
    "ProblemKind",
    "Snapshot",
    "SourceFile",
    "belongs",
    "inside",
    "is_as_built",
]

#: A larger file is not read: no parts list needs it, and a mistake should not fill the memory.
LARGEST = 64 << 20

ProblemKind = Literal[
    "symlink", "not-a-file", "unreadable", "too-large", "name-not-utf8", "merge-conflict", "submodule"
]


class SourceFile(Struct, frozen=True):
    """One TOML file: its path from the repository's top (or the product's folder), its bytes, its blob id.

    The blob id is empty for a file of the work tree.
    """

    path: str
    data: bytes
    blob: str = ""


class Author(Struct, frozen=True):
    """Who wrote something, as git has it; ``when`` in seconds since 1970, ``approvers`` by the commit's trailers."""

    name: str
    email: str
    when: int = 0
    approvers: tuple[str, ...] = ()


class Problem(Struct, frozen=True, kw_only=True):
    """A path of the product that could not be read as a file, and what to do about it."""

    path: str
    kind: ProblemKind
    message: str
    hint: str = ""


class Snapshot(Struct, frozen=True, kw_only=True):
    """A product at one moment. ``folder`` is its folder within the paths, empty at the top."""

    label: str
    folder: str
    files: tuple[SourceFile, ...]
    problems: tuple[Problem, ...] = ()
    #: Returns SHA-256 by path for those of the given paths (from the product's folder) that are files.
    digests: Callable[[Iterable[str]], dict[str, str]]
    #: Returns the frozen builds that this state knows of.
    frozen: Callable[[], tuple[FrozenBuild, ...]] = tuple
    #: Returns who last changed each line of a file, as empty without git.
    authors: Callable[[str], tuple[Author, ...]] = lambda _: ()


def belongs(path: str, folders: Iterable[str], folder: str) -> bool:
    """Return whether a TOML path is one of the product in ``folder``.

    Not in hidden folders, not in ``frozen`` unless it says how a frozen build was made, and not in the
    folder of another product below (``folders`` are the folders of all products).
    """
    prefix = f"{folder}/" if folder else ""
    if not path.startswith(prefix):
        return False
    inner = path[len(prefix) :].split("/")
    if any(name.startswith(".") for name in inner):
        return False
    if inner[0] == "frozen" and not is_as_built(inner):
        return False
    nested = (other for other in folders if other != folder and other.startswith(prefix))
    return not any(path.startswith(f"{other}/") for other in nested)


def is_as_built(names: Sequence[str]) -> bool:
    """Return whether the names of a path from the product's folder lead to an addendum: ``frozen/NAME.asbuilt.toml``."""
    return len(names) == 2 and names[1].endswith(".asbuilt.toml")


def inside(path: str) -> str | None:
    """Return a path from the product's folder in its plain form, or None where it leaves the folder."""
    if not path or "\\" in path or "\0" in path or posixpath.isabs(path):
        return None
    plain = posixpath.normpath(path)
    return None if plain == ".." or plain.startswith("../") else plain
