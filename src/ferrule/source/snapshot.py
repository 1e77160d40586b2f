"""The files of one product as they stand in the work tree, the index or a revision."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterable
from typing import Literal

from msgspec import Struct

__all__ = ["LARGEST", "Problem", "ProblemKind", "Snapshot", "SourceFile", "belongs", "inside"]

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


def belongs(path: str, folders: Iterable[str], folder: str) -> bool:
    """Return whether a TOML path is one of the product in ``folder``.

    Not in hidden folders, not in ``frozen``, and not in the folder of another product below
    (``folders`` are the folders of all products).
    """
    prefix = f"{folder}/" if folder else ""
    if not path.startswith(prefix):
        return False
    inner = path[len(prefix) :].split("/")
    if any(name.startswith(".") for name in inner) or inner[0] == "frozen":
        return False
    nested = (other for other in folders if other != folder and other.startswith(prefix))
    return not any(path.startswith(f"{other}/") for other in nested)


def inside(path: str) -> str | None:
    """Return a path from the product's folder in its plain form, or None where it leaves the folder."""
    if not path or "\\" in path or "\0" in path or posixpath.isabs(path):
        return None
    plain = posixpath.normpath(path)
    return None if plain == ".." or plain.startswith("../") else plain
