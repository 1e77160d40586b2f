"""Figures worked out once for a commit, kept below the git folder: never in the work tree, never needed.

An entry is written beside its name and then renamed, so that two runs at once do no harm; one that is not whole, or
not of this key, counts as absent. What cannot be written is not written. Old entries make way.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import json
import os
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from ferrule.source.git import Git

__all__ = ["FigureCache"]

_FORMAT = 1
_MOST = 4000


class FigureCache:
    """The kept figures of one repository."""

    def __init__(self, git: Git) -> None:
        self.folder = git.common_dir() / "ferrule" / "history"

    def key(self, *facts: str) -> str:
        """Return the name of an entry: a hash of all that its figures rest on, this program's own files included."""
        return hashlib.sha256(json.dumps([_FORMAT, _program(), *facts]).encode()).hexdigest()

    def get(self, key: str) -> dict[str, Any] | None:
        """Return what was kept under a key; None where there is nothing whole."""
        try:
            found = json.loads((self.folder / f"{key}.json").read_bytes())
        except (OSError, ValueError):
            return None
        if (
            not isinstance(found, dict)
            or found.get("key") != key
            or not isinstance(found.get("figures"), dict)
        ):
            return None
        figures: dict[str, Any] = found["figures"]
        return figures

    def put(self, key: str, figures: dict[str, Any]) -> None:
        """Keep figures under a key, if the folder can be written to."""
        with contextlib.suppress(OSError):
            self.folder.mkdir(parents=True, exist_ok=True)
            self._make_room()
            handle, name = tempfile.mkstemp(prefix=".", dir=self.folder)
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    json.dump({"key": key, "figures": figures}, file)
                Path(name).replace(self.folder / f"{key}.json")
            except BaseException:
                Path(name).unlink(missing_ok=True)
                raise

    def _make_room(self) -> None:
        entries = list(self.folder.glob("*.json"))
        if len(entries) >= _MOST:
            for entry in _oldest(entries)[: _MOST // 4]:
                entry.unlink(missing_ok=True)


def _oldest(entries: Iterable[Path]) -> list[Path]:
    dated = []
    for entry in entries:
        with contextlib.suppress(OSError):
            dated.append((entry.stat().st_mtime_ns, entry.name, entry))
    return [entry for _, _, entry in sorted(dated)]


@functools.cache
def _program() -> str:
    """Return what tells one state of this program from another: its files, by name, size and time."""
    top = Path(__file__).parents[1]
    found = hashlib.sha256()
    for path in sorted(top.rglob("*.py")):
        facts = path.stat()
        found.update(f"{path.relative_to(top)} {facts.st_size} {facts.st_mtime_ns}\n".encode())
    return found.hexdigest()
