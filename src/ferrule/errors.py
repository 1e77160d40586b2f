"""What stops a command: an expected failure, told without a traceback."""

from __future__ import annotations

__all__ = ["FerruleError"]


class FerruleError(Exception):
    """A command cannot start or go on. Message and hint are for people; the exit code is 2."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
