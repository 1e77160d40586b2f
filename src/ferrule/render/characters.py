"""What may leave the program, and how wide it is: the one edge where foreign text becomes harmless."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from ferrule.model.text import visible

__all__ = ["logged", "logged_characters", "width", "wrap"]

# Runners of several services obey "##[name]" and "##name[" wherever they stand in a line of a log.
_LOG_COMMAND = re.compile(r"##(?=\w*\[)")
_HARMLESS = "#\\u0023"


def logged(text: str) -> str:
    """Return cleaned text for a log that is read by a runner: no command in it is one."""
    return _LOG_COMMAND.sub(lambda _: _HARMLESS, visible(text))


def logged_characters(text: str) -> list[str]:
    """Return how each character of a text is shown by `logged`; joined they are the whole."""
    shown = [character if " " <= character <= "~" else visible(character) for character in text]
    for found in _LOG_COMMAND.finditer(text):
        shown[found.start() + 1] = _HARMLESS[1:]
    return shown


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
