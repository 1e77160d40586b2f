"""How many columns text takes where every character has a fixed place: terminals, and pictures in a fixed-pitch face."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

__all__ = ["width", "wrap"]


def width(text: str) -> int:
    """Return the columns text takes on a terminal: wide East Asian characters two, combining marks none."""
    return len(text) if text.isascii() else sum(map(_width, text))


def _width(character: str) -> int:
    if unicodedata.category(character) in {"Mn", "Me", "Cf"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def wrap(text: str, columns: int) -> list[str]:
    """Return text in lines of at most ``columns`` (two or more), broken at blanks, words only if they must."""
    lines = [""]
    for word in _pieces(text, columns):
        if lines[-1] and width(lines[-1] + word.rstrip()) > columns:
            lines[-1] = lines[-1].rstrip()
            lines.append("")
        lines[-1] += word
    return [*lines[:-1], lines[-1].rstrip()]


def _pieces(text: str, columns: int) -> Iterator[str]:
    for word in re.findall(r"\S+\s*|\s+", text):
        piece = ""
        for character in word:
            if piece and not character.isspace() and width(piece + character) > columns:
                yield piece
                piece = ""
            piece += character
        yield piece
