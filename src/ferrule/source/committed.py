"""When a file's present content was committed: the proof that it stood before something else happened."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from msgspec import Struct

from ferrule.source.git import find_git

__all__ = ["Committed", "committed"]


class Committed(Struct, frozen=True):
    """The commit that gave a file its present content, and the day it was committed (UTC)."""

    commit: str
    day: dt.date


def committed(path: Path) -> Committed | None:
    """Return the commit that last changed a file, or None where its present content is not committed.

    Any change not committed counts, staged or not. A file outside a repository was never committed.
    """
    git = find_git(path.parent)
    if git is None or git.top() is None:
        return None
    name = path.name
    if git.run("status", "--porcelain", "-z", "--", name).strip(b"\0 \n"):
        return None
    found = git.run("log", "-1", "--format=%h %ct", "--", name, fine=(0, 128)).decode().split()
    if len(found) != 2:
        return None
    return Committed(found[0], dt.datetime.fromtimestamp(int(found[1]), tz=dt.UTC).date())
