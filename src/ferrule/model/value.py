"""The base of written values: small, immutable, compared by content."""

from __future__ import annotations

from typing import Any, ClassVar, dataclass_transform

__all__ = ["Value"]


class _ValueType(type):
    """Turns the annotations of a value class into slots and constructor arguments, in order."""

    def __new__(mcs, name: str, bases: tuple[type, ...], space: dict[str, Any]) -> _ValueType:
        own = tuple(field for field in space.get("__annotations__", ()) if not field.startswith("_"))
        inherited = tuple(field for base in bases for field in getattr(base, "_fields", ()))
        defaults = {key: value for base in bases for key, value in getattr(base, "_defaults", {}).items()}
        space["__slots__"] = own
        space["_defaults"] = defaults | {field: space.pop(field) for field in own if field in space}
        space["_fields"] = inherited + own
        return super().__new__(mcs, name, bases, space)


@dataclass_transform(frozen_default=True)
class Value(metaclass=_ValueType):
    """A value read from a file: fields are its annotations, equality and hash go by content.

    A plain class on purpose: msgspec hands text to its decode hook only for types it does not know, and
    it knows dataclasses and its own structs.
    """

    _fields: ClassVar[tuple[str, ...]]
    _defaults: ClassVar[dict[str, Any]]

    def __init__(self, *args: Any, **named: Any) -> None:
        """Take the fields by position or name; a missing one without default raises TypeError."""
        if len(args) > len(self._fields):
            raise TypeError(f"{type(self).__name__} takes {len(self._fields)} values")
        given = dict(zip(self._fields, args, strict=False)) | named
        for field in self._fields:
            if field not in given and field not in self._defaults:
                raise TypeError(f"{type(self).__name__} needs {field}")
            object.__setattr__(self, field, given.pop(field) if field in given else self._defaults[field])
        if given:
            raise TypeError(f"{type(self).__name__} has no {', '.join(given)}")

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is immutable")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{type(self).__name__} is immutable")

    def __reduce__(self) -> tuple[object, ...]:
        # Copying and pickling set slots one by one, which an immutable value refuses; building anew works.
        return type(self), self._content()

    def _content(self) -> tuple[object, ...]:
        return tuple(getattr(self, field) for field in self._fields)

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return self._content() == other._content()

    def __hash__(self) -> int:
        return hash((type(self), self._content()))

    def __repr__(self) -> str:
        inner = ", ".join(f"{f}={v!r}" for f, v in zip(self._fields, self._content(), strict=True))
        return f"{type(self).__name__}({inner})"
