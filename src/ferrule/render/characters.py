"""What may leave the program, and how wide it is: the one edge where foreign text becomes harmless."""

from __future__ import annotations

import re

from ferrule.model.text import visible

__all__ = ["logged", "logged_characters"]

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
