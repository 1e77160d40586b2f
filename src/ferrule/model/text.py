"""Text from files is data: made harmless before it is shown, and compared to find near misses."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

__all__ = ["guarded", "nearest", "quoted", "visible"]

_CONTROL = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff\ufffe\uffff\ufff9-\ufffb\u180e"
    "\U00013430-\U0001343f\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e007f]"
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_SHOWN = 120
_BITS = 4096


def visible(text: str, limit: int | None = None) -> str:
    r"""Return text with control, bidi and invisible characters spelled out as \\uXXXX, on one line.

    With ``limit``, a longer text is cut there and ends in an ellipsis.
    """
    clean = (
        _CONTROL.sub(lambda found: f"\\u{ord(found[0]):04x}", str(text))
        .replace("\n", "\\n")
        .replace("\t", " ")
    )
    return clean if limit is None or len(clean) <= limit else clean[: limit - 1] + "…"


def quoted(written: object) -> str:
    """Return what was written as it may stand in a message: in quotes if text, harmless, not too long."""
    if isinstance(written, bool):
        return str(written).lower()
    if isinstance(written, str):
        return f'"{visible(written, _SHOWN)}"'
    if isinstance(written, int) and written.bit_length() > _BITS:
        return visible(f"{written:#x}", _SHOWN)  # Python refuses to print longer ones in decimal
    return visible(str(written), _SHOWN)


def guarded(text: str) -> str:
    """Return text that no spreadsheet program runs as a formula: an apostrophe before what begins like one.

    Source: Common Weakness Enumeration, CWE-1236.
    """
    return f"'{text}" if text.startswith(_FORMULA) else text


def nearest(word: str, candidates: Iterable[str], *, likeness: float = 0.6) -> str | None:
    """Return the candidate most like ``word``, or None if none is near; equal ones by spelling.

    One that differs in capitals only comes before all others: ``mL`` is ml, not m.
    """
    known = sorted(set(candidates))
    folded = {candidate.casefold(): candidate for candidate in reversed(known)}
    same = folded.get(word.casefold())
    if same is not None:
        return same
    best = difflib.get_close_matches(word, known, n=1, cutoff=likeness)
    return best[0] if best else None
