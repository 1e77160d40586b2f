"""Who last changed each line of a file, by git: what an approval must not be signed by."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec

from ferrule.errors import FerruleError
from ferrule.source.git import Git
from ferrule.source.snapshot import Author

__all__ = ["line_authors"]

_HEAD = re.compile(rb"([0-9a-f]{40}(?:[0-9a-f]{24})?) [0-9]+ [0-9]+(?: [0-9]+)?")
_IDENT = re.compile(r"(.*) <(.*)> ([0-9]+) [+-][0-9]{4}")
_LATEST = 1 << 62


def line_authors(git: Git, path: str, state: str | bytes | Path) -> tuple[Author, ...]:
    """Return the author of each line of a file: at a commit, as given bytes, or as it lies on the disk.

    A line not committed yet is the present user's. Changed blanks are no change. Empty where git cannot say.
    """
    try:
        out = _blame(git, path, state)
        own = _present(git)
        marks, authors = _read(out, own)
        approvers = _approvers(git, {mark for mark in marks if mark.strip("0")})
    except FerruleError:
        return ()
    return tuple(msgspec.structs.replace(authors[mark], approvers=approvers.get(mark, ())) for mark in marks)


def _blame(git: Git, path: str, state: str | bytes | Path) -> bytes:
    if isinstance(state, str):
        return git.run("blame", "-w", "--porcelain", state, "--", path)
    if isinstance(state, bytes):
        return git.run("blame", "-w", "--porcelain", "--contents", "-", "--", path, given=state)
    return git.run("blame", "-w", "--porcelain", "--contents", str(state), "--", path)


def _present(git: Git) -> Author:
    found = _IDENT.fullmatch(git.run("var", "GIT_AUTHOR_IDENT").decode("utf-8", "replace").strip())
    return Author(found[1], found[2], _LATEST) if found else Author("", "", _LATEST)


def _read(out: bytes, own: Author) -> tuple[list[str], dict[str, Author]]:
    """Return the commit of each line, and each commit's author."""
    marks: list[str] = []
    facts: dict[str, dict[str, str]] = {}
    for row in out.split(b"\n"):
        if row.startswith(b"\t"):
            continue
        found = _HEAD.fullmatch(row)
        if found is not None:
            marks.append(found[1].decode())
            facts.setdefault(marks[-1], {})
        elif marks:
            name, _, value = row.decode("utf-8", "replace").partition(" ")
            facts[marks[-1]].setdefault(name, value)
    authors = {
        mark: Author(
            told.get("author", ""), told.get("author-mail", "").strip("<>"), int(told.get("author-time", 0))
        )
        if mark.strip("0")
        else own
        for mark, told in facts.items()
    }
    return marks, authors


def _approvers(git: Git, commits: set[str]) -> dict[str, tuple[str, ...]]:
    """Return the values of the trailer ``Approved-by`` by commit."""
    if not commits:
        return {}
    form = "--format=%H%x00%(trailers:key=Approved-by,valueonly,separator=%x00)"
    given = "".join(f"{commit}\n" for commit in sorted(commits)).encode()
    out = git.run("log", "--no-walk=unsorted", "--stdin", form, given=given).decode("utf-8", "replace")
    rows = (row.split("\0") for row in out.splitlines())
    return {row[0]: tuple(value.strip() for value in row[1:] if value.strip()) for row in rows}
