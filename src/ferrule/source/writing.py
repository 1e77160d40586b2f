"""Files written whole or not at all: beside the target first, then moved over it."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from ferrule.errors import FerruleError

__all__ = ["write_file", "write_new"]


def write_file(path: Path, data: bytes) -> None:
    """Write a file so that its name always holds the old or the new content; raises FerruleError."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        beside = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            beside.chmod(0o644)
            beside.replace(path)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FerruleError(
            f"{path} cannot be written: {error.strerror or error}", "check the folder and its permissions"
        ) from None


def write_new(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files below ``folder``; raises FerruleError, before anything is written, if one exists."""
    for path in files:
        if (folder / path).exists():
            raise FerruleError(
                f"{folder / path} exists already", "choose another folder; nothing was written"
            )
    for path, data in files.items():
        write_file(folder / path, data)
