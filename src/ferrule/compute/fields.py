"""Which facts differ between two records of one thing, field by field, each fact once.

A plain walk over the fields of the records: every step is one of ours, so a list is a heap or a row as its
field says, entries go by what identifies them, and values are compared by what they mean.
"""

from __future__ import annotations

import functools
from collections.abc import Hashable, Iterator, Mapping, Sequence
from typing import Any, Generic, Literal, TypeVar

import msgspec
from msgspec import Struct

from ferrule.compute.meaning import IN_ORDER, Within, deeper, meaning, same
from ferrule.compute.pairing import pair_up
from ferrule.model.exchange import Exchange
from ferrule.model.natural_keys import keys_of
from ferrule.model.records.about import Record

__all__ = [
    "Around",
    "Change",
    "Differing",
    "Entry",
    "Path",
    "Sign",
    "changes",
    "entry_key",
    "entry_keys",
    "entry_name",
    "pair_of",
    "written",
]

#: The words that identify an entry of a list or table.
Entry = tuple[str, ...]
#: From the record down: names of fields as files write them, and entries.
Path = tuple[str | Entry, ...]
Sign = Literal["added", "removed", "changed"]
Around = tuple[Within, Within]

#: Lists whose entries have neither name nor id, and whose place names them in findings.
_ALSO: dict[str, tuple[str, ...]] = {
    "offer": ("incoterm",),
    "expedite": ("lead_time",),
    "cancellation": ("before",),
    "agreement": ("title",),
    "curve": ("week",),
}
#: What still identifies an entry when its full key has no counterpart.
_SECOND: dict[str, tuple[str, ...]] = {"source": ("maker", "seller")}


class Change(Struct, frozen=True):
    """One fact that differs: the value before and after, None where it is not stated.

    ``sort``: a value of a field, an entry of a list that came or went, or the order of a list (entries as
    before and after, those on both sides only).
    """

    path: Path
    before: Any
    after: Any
    sort: Literal["value", "entry", "order"] = "value"

    @property
    def sign(self) -> Sign:
        """Return whether the fact came, went or changed."""
        if self.sort != "entry":
            return "changed"
        return "added" if self.before is None else "removed"


R = TypeVar("R", bound=Record)


class Differing(Struct, Generic[R], frozen=True, kw_only=True):
    """A record that came (no ``before``), went (no ``after``) or changed, with every field that differs."""

    before: R | None
    after: R | None
    fields: tuple[Change, ...] = ()

    @property
    def sign(self) -> Sign:
        """Return whether the record came, went or changed."""
        if self.before is None:
            return "added"
        return "removed" if self.after is None else "changed"

    @property
    def record(self) -> R:
        """Return the record as it is now, or as it last was."""
        found = self.after if self.after is not None else self.before
        assert found is not None  # noqa: S101  one side is always there
        return found


@functools.cache
def written(record: type[Struct]) -> Mapping[str, str]:
    """Return field → name as files write it, in the order of the record."""
    return {field.name: field.encode_name for field in msgspec.structs.fields(record)}


def entry_name(table: str, entry: Any) -> Entry:
    """Return the words that identify an entry of a list."""
    if not isinstance(entry, Record):
        return (str(entry),)
    fields = {name: field for field, name in written(type(entry)).items()}
    keys = [fields[key] for key in _ALSO.get(table) or keys_of(table) if key in fields]
    return tuple(str(value) for key in keys if (value := getattr(entry, key)) is not None)


def entry_keys(table: str) -> list[tuple[str, ...]]:
    """Return the keys by which entries of a list are paired, one after the other."""
    first = _ALSO.get(table) or keys_of(table)
    return [first, _SECOND[table]] if table in _SECOND else [first]


def entry_key(keys: tuple[str, ...], entry: Any) -> Hashable:
    """Return what identifies an entry by some keys, apart from how it is written; None where nothing does."""
    if not isinstance(entry, Record):
        return meaning(entry)
    fields = {name: field for field, name in written(type(entry)).items()}
    found = tuple(meaning(getattr(entry, fields[key])) for key in keys if key in fields)
    return found if any(part is not None for part in found) else ()


def pair_of(entry: Any) -> Hashable:
    """Return the two currencies of an exchange rate; None for anything else."""
    rate = getattr(entry, "rate", None)
    return (rate.base, rate.quote) if isinstance(rate, Exchange) else None


def changes(
    before: Record, after: Record, around: Around, path: Path = (), skip: frozenset[str] = frozenset()
) -> Iterator[Change]:
    """Yield every fact that differs between two records of one type, in the order of their fields.

    ``around`` is what bare numbers lean on outside them; ``skip`` names fields compared elsewhere.
    """
    inner = deeper(around[0], before), deeper(around[1], after)
    for field, name in written(type(before)).items():
        old, new = getattr(before, field), getattr(after, field)
        if old is not new and field not in skip:
            yield from _between(field, old, new, inner, (*path, name))


def _between(name: str, old: Any, new: Any, around: Around, path: Path) -> Iterator[Change]:
    if same(old, new, around, name):
        return
    if isinstance(old, Record) and isinstance(new, Record):
        yield from changes(old, new, around, path)
    elif isinstance(old, dict) and isinstance(new, dict):
        yield from _in_table(old, new, around, path)
    elif _is_list(old) and _is_list(new):
        yield from _in_list(name, old, new, around, path)
    else:
        yield Change(path, old, new)


def _is_list(value: Any) -> bool:
    return isinstance(value, tuple) and all(isinstance(entry, Record) for entry in value)


def _in_table(old: Mapping[str, Any], new: Mapping[str, Any], around: Around, path: Path) -> Iterator[Change]:
    for key in sorted({*old, *new}):
        place = (*path, (key,))
        if key in old and key in new:
            yield from _between("", old[key], new[key], around, place)
        else:
            yield Change(place, old.get(key), new.get(key), "entry")


def _in_list(
    name: str, old: Sequence[Record], new: Sequence[Record], around: Around, path: Path
) -> Iterator[Change]:
    table = str(path[-1])
    keys = [functools.partial(entry_key, keys) for keys in entry_keys(table)]
    found = pair_up(old, new, *keys, content=functools.partial(meaning))
    for one in found.gone:
        yield Change((*path, entry_name(table, one)), one, None, "entry")
    for before, after in found.pairs:
        # Of two ways to write one key the same is taken whichever side it stands on.
        name_here = min(entry_name(table, before), entry_name(table, after))
        yield from changes(before, after, around, (*path, name_here))
    for one in found.new:
        yield Change((*path, entry_name(table, one)), None, one, "entry")
    if name in IN_ORDER:
        yield from _order(table, old, found.pairs, path)


def _order(
    table: str, old: Sequence[Record], pairs: Sequence[tuple[Record, Record]], path: Path
) -> Iterator[Change]:
    """Yield the order of what is on both sides, where it is another one. Pairs come in the order after."""
    places = {id(entry): index for index, entry in enumerate(old)}
    by_old = sorted(pairs, key=lambda pair: places[id(pair[0])])
    if by_old != list(pairs):
        names = [
            tuple(min(entry_name(table, one) for one in pair) for pair in row) for row in (by_old, pairs)
        ]
        yield Change(path, names[0], names[1], "order")
