"""How a field explains itself: the text and examples that schema, help and documents all show."""

from __future__ import annotations

from typing import Any

from msgspec import Meta, Struct

__all__ = ["ID", "NAME", "Id", "Record", "Text", "about"]

from typing import Annotated

from ferrule.model import ids

ID = Meta(pattern=ids.PATTERN)
NAME = Meta(min_length=1, max_length=400)

#: An identifier: stable, never reused, safe in a file name.
Id = Annotated[str, ID]
#: Words for people; never empty.
Text = Annotated[str, NAME]


def _written(name: str) -> str:
    """Return a field name as files write it; a trailing underscore only avoids a Python keyword."""
    return name.removesuffix("_")


class Record(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True, rename=_written
):
    """The base of everything a file can state. A field that is ``None`` or empty was not stated: unknown."""


def about(text: str, *examples: Any) -> Meta:
    """Return the description of a field and example values as they stand in a file."""
    return Meta(description=text, examples=list(examples) or None)
