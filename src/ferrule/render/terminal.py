"""The only way to a rich console: no markup, no pictures, no guessing, and no width where there is none."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["console"]

_ENDLESS = 10_000  # rich assumes 80 columns off a terminal and cuts; this never does


def console(stream: TextIO, *, color: bool) -> Console:
    """Return a console that writes characters as they are, styled with the sixteen colours or not at all.

    Off a terminal it is as wide as COLUMNS says, or without limit. ``color`` is already decided: neither
    NO_COLOR nor TERM is asked again.
    """
    from rich.console import Console  # noqa: PLC0415  most runs print no colour

    size: dict[str, Any] = {}
    if not stream.isatty():
        stated = os.environ.get("COLUMNS", "")
        size = {"width": int(stated) if stated.isdigit() and int(stated) else _ENDLESS, "height": 100}
    return Console(
        file=stream,
        markup=False,
        emoji=False,
        highlight=False,
        force_terminal=color or None,
        no_color=not color,
        color_system="standard" if color else None,
        legacy_windows=False,
        **size,
    )
