"""`demo`: the example product with its history."""

from __future__ import annotations

from pathlib import Path

from ferrule.source.demo import Revision, write_repository
from ferrule.source.packaged import example_files, example_revisions

__all__ = ["demo"]

_AUTHOR = ("Wrenfield Engineering", "engineering@wrenfield.example")
_DAYS = ("2026-09-14T09:00:00 +0000", "2026-10-19T09:00:00 +0000", "2026-11-23T09:00:00 +0000")
_NEWEST_TAG = "rev-C"
_NEWEST_MESSAGE = """\
Revision C: another amplifier, 24 recorders a carton

U-OPAMP-B has two makers and half the lead time, and costs more. The carton of 24 saves a pallet layer.
"""


def demo(folder: Path) -> list[str]:
    """Write the repository; return the tags, oldest first. Raises FerruleError where the folder is in use."""
    newest = example_files()
    revisions = []
    for (name, message, differing, absent), when in zip(example_revisions(), _DAYS, strict=False):
        files = {path: data for path, data in (newest | differing).items() if path not in absent}
        revisions.append(
            Revision(
                tag=name,
                message=message,
                when=when,
                files=files,
            )
        )
    revisions.append(Revision(tag=_NEWEST_TAG, message=_NEWEST_MESSAGE, when=_DAYS[-1], files=newest))
    write_repository(folder, revisions, _AUTHOR)
    return [revision.tag for revision in revisions]
