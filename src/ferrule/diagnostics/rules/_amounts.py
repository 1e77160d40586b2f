"""Amounts of money wherever records hold them."""

from __future__ import annotations

import functools
import typing
from collections.abc import Iterator, Mapping

import msgspec

from ferrule.diagnostics.finding import Path, Place
from ferrule.diagnostics.rule import place_of
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.shares import Share

__all__ = ["amounts", "used_currencies"]


def amounts(record: msgspec.Struct) -> Iterator[tuple[Path, Money]]:
    """Yield every amount inside a record with its key path there, in the order of the record's fields."""
    for path, value in _facts(record):
        if isinstance(value, Money):
            yield path, value


def used_currencies(product: Product) -> dict[str, Place]:
    """Return every currency that a record states, with the first place that does (by kind, then id)."""
    found: dict[str, Place] = {}
    for kind, number, record in _records(product):
        for path, value in _facts(record):
            code = value.currency if isinstance(value, Money) else value
            if code and code not in found:
                found[code] = place_of(product, kind, number, *_inside(kind, path))
    return found


def _inside(kind: str, path: Path) -> Path:
    return path[1:] if kind == "plan" and path[:1] == ("plan",) else path


def _records(product: Product) -> Iterator[tuple[str, str | int, msgspec.Struct]]:
    tables: tuple[tuple[str, Mapping[str, msgspec.Struct]], ...] = (
        ("assembly", product.assemblies),
        ("channel", product.channels),
        ("firm", product.firms),
        ("lane", product.lanes),
        ("part", product.parts),
        ("plan", product.plans),
        ("tool", product.tools),
    )
    for kind, table in tables:
        for number in sorted(table):
            yield kind, number, table[number]
    for kind, records in (("duty", product.duties), ("order", product.orders), ("stock", product.stock)):
        yield from ((kind, index, record) for index, record in enumerate(records))


def _facts(record: msgspec.Struct, path: Path = ()) -> Iterator[tuple[Path, Money | str]]:
    """Yield the amounts and the stated currencies of a record."""
    for name, written in _money_fields(type(record)):
        yield from _within(getattr(record, name), (*path, written))


def _within(value: object, path: Path) -> Iterator[tuple[Path, Money | str]]:
    if isinstance(value, Money | str):
        yield path, value
    elif isinstance(value, Share):
        if value.per_unit is not None:
            yield path, value.per_unit
    elif isinstance(value, msgspec.Struct):
        yield from _facts(value, path)
    elif isinstance(value, tuple):
        for index, entry in enumerate(value):
            yield from _within(entry, (*path, index))
    elif isinstance(value, dict):
        for key, entry in value.items():
            yield from _within(entry, (*path, key))


@functools.cache
def _money_fields(kind: type[msgspec.Struct]) -> tuple[tuple[str, str], ...]:
    """Return name and written name of the fields that can hold money, so that others are never walked."""
    return tuple(
        (field.name, field.encode_name)
        for field in msgspec.structs.fields(kind)
        if field.encode_name == "currency" or _holds_money(field.type)
    )


def _holds_money(kind: object) -> bool:
    if isinstance(kind, type):
        if issubclass(kind, msgspec.Struct):
            return bool(_money_fields(kind))
        if issubclass(kind, Money | Share):
            return True
    return any(_holds_money(inner) for inner in typing.get_args(kind))
