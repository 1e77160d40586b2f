"""Identifiers: stable, never reused, safe in file names and messages."""

from __future__ import annotations

import re
from typing import Any

from ferrule.model.bad_value import BadValue
from ferrule.model.text import quoted

__all__ = ["EXAMPLES", "PATTERN", "parse_id"]

#: A letter or digit, then letters, digits and . _ + - ; 64 in all.
PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._+-]{0,63}$"
EXAMPLES = ("C-100N-0603",)


def parse_id(written: Any) -> str:
    """Return the identifier that is written; raises BadValue."""
    if not isinstance(written, str) or not re.fullmatch(PATTERN, written) or written.endswith("\n"):
        raise BadValue(f"{quoted(written)} is not an identifier", EXAMPLES)
    return written
