"""One way in which a file does not fit its kind."""

from __future__ import annotations

from msgspec import Struct

from ferrule.diagnostics.finding import Key, Path

__all__ = ["Misfit", "path_order"]


class Misfit(Struct, frozen=True, kw_only=True):
    """One way in which a file does not fit its kind."""

    rule: str
    path: Path
    message: str
    hint: str = ""
    #: Point at the key, not at its value.
    on_key: bool = False


def path_order(path: Path) -> tuple[tuple[bool, Key], ...]:
    """Return a sort key for key paths: indexes by number, names by spelling."""
    return tuple((isinstance(key, str), key) for key in path)
