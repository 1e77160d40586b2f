"""The one error of every parser of written values."""

from __future__ import annotations

__all__ = ["BadValue"]


class BadValue(ValueError):
    """A value that cannot be read: what is wrong with it, and accepted forms as examples."""

    def __init__(self, message: str, forms: tuple[object, ...] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.forms = forms
