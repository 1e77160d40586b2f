"""The one error of every parser of written values."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

__all__ = ["BadValue", "usable"]


class BadValue(ValueError):
    """A value that cannot be read: what is wrong with it, and accepted forms as examples."""

    def __init__(self, message: str, forms: tuple[object, ...] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.forms = forms


def usable(
    parse: Callable[[Any], object], tries: Iterable[str], otherwise: tuple[object, ...]
) -> tuple[object, ...]:
    """Return the first form of each of ``tries`` that ``parse`` reads, as it prints it, else ``otherwise``.

    So no message ever offers what the parser would refuse as well.
    """
    forms: list[str] = []
    for text in tries:
        try:
            form = str(parse(text))
        except BadValue:
            continue
        if form not in forms:
            forms.append(form)
    return tuple(forms) or otherwise
