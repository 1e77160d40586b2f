"""`notes`: what a frozen build brings against an earlier one, both verified first."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from msgspec import Struct

from ferrule.app.diffing import Diff, diff, two_sides
from ferrule.app.verifying import Verified, verify
from ferrule.errors import FerruleError
from ferrule.source.products import Opened

__all__ = ["Release", "release_notes"]


class Release(Struct, frozen=True, kw_only=True):
    """Two frozen builds as they were verified, and what changed from one to the other."""

    before: Verified
    after: Verified
    diff: Diff


def release_notes(
    opened: Opened, names: tuple[str, str], today: dt.date, product: Path | None, *, effects: bool
) -> Release:
    """Return what changed between two frozen builds; raises FerruleError where one was altered or is unknown.

    Both are judged on ``today``, so that only what was written makes a difference.
    """
    (before,), (after,) = (verify(opened, name) for name in names)
    for each in (before, after):
        if each.differences:
            raise FerruleError(
                f"the frozen build {each.name} is not what was frozen",
                f"`ferrule verify {each.name}` shows where; notes on an altered build would prove nothing",
            )
    sides = two_sides(Path.cwd(), names, product=product, index=False)
    return Release(before=before, after=after, diff=diff(*sides, today, effects=effects))
