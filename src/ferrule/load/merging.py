"""Two branches of one file merged by record: each change is taken from the branch that made it, comments are kept.

Tables go by their name and entries of a list by what identifies them, never by line. A true conflict is one fact that
both branches changed, each in its own way; it is named in the words of the trade and decided by nobody here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

import tomli
from msgspec import Struct

from ferrule.diagnostics.finding import Path
from ferrule.load.editing import Edit, edited, extent_of, is_header
from ferrule.load.identity import natural_name
from ferrule.load.locate import Positions
from ferrule.load.toml_text import value_text
from ferrule.model.bad_value import BadValue
from ferrule.model.designators import compact, parse_designators

__all__ = ["Clash", "Merged", "merge_texts", "merge_trees", "read_tree", "says_same"]

#: A fact that is not stated.
_NONE: Any = object()
#: Lists whose order says something: one branch's order cannot be joined with the other's.
_IN_ORDER = frozenset({"steps", "alternates", "leg", "pack"})
_SHOWN = 60


class Clash(Struct, frozen=True):
    """One fact that both branches changed: where it stands, and what it was and is, as files write it."""

    where: str
    base: str
    ours: str
    theirs: str

    @property
    def words(self) -> str:
        """Return the clash as a sentence."""
        return f"{self.where}: {self.ours} here, {self.theirs} there, was {self.base}"


class Merged(Struct, frozen=True, kw_only=True):
    """The merged text; None where it could not be made. ``clashes`` are true conflicts."""

    text: str | None
    clashes: tuple[Clash, ...] = ()


class _Unplaceable(Exception):
    """A change that has no place of its own in the text."""


def read_tree(text: str) -> dict[str, Any]:
    """Return the table of a text, decimals exact; raises ValueError for what is no TOML."""
    return tomli.loads(text, parse_float=Decimal)


def merge_texts(base: str, ours: str, theirs: str) -> Merged:
    """Return our text with what their branch changed. Raises ValueError where one of them is no TOML."""
    trees = read_tree(base), read_tree(ours), read_tree(theirs)
    tree, clashes = merge_trees(*trees)
    if clashes:
        return Merged(text=None, clashes=clashes)
    try:
        editor = _Editor(ours, theirs)
        text = edited(ours, editor.edits(trees[1], tree, trees[2]))
    except (_Unplaceable, KeyError, TypeError):
        return Merged(text=None)
    if not says_same(read_tree(text), tree):
        return Merged(text=None)
    lost = [words for words in _comments(theirs) if words not in {*_comments(base), *_comments(text)}]
    if lost:
        text = (
            text.rstrip("\n") + "\n\n# remarks of the merged branch\n" + "".join(f"{each}\n" for each in lost)
        )
    return Merged(text=text)


def merge_trees(
    base: dict[str, Any], ours: dict[str, Any], theirs: dict[str, Any]
) -> tuple[dict[str, Any], tuple[Clash, ...]]:
    """Return the merged table, and the true conflicts; where there are any ours stands in it."""
    joiner = _Joiner()
    found: dict[str, Any] = joiner.join(base, ours, theirs, "", ())
    return found, tuple(joiner.clashes)


def _where(names: tuple[str, ...]) -> str:
    """Return a place in words: ``line 30, part``."""
    return ", ".join([" ".join(names[:2]), *names[2:]])


def _same(one: Any, other: Any) -> bool:
    """Return whether two values say the same; yes is not 1."""
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    return bool(one == other)


def says_same(one: Any, other: Any, name: str = "") -> bool:
    """Return whether two tables say the same, the order of entries aside where it says nothing."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(says_same(one[key], other[key], key) for key in one)
    first, last = _keyed(name, one), _keyed(name, other)
    if name in _IN_ORDER or first is None or last is None:
        return _same(one, other)
    return first.keys() == last.keys() and all(says_same(first[key], last[key]) for key in first)


class _Joiner:
    """Joins three values, one inside the other; collects what clashes."""

    def __init__(self) -> None:
        self.clashes: list[Clash] = []

    def join(self, base: Any, ours: Any, theirs: Any, name: str, where: tuple[str, ...]) -> Any:
        if says_same(ours, theirs, name) or says_same(base, theirs, name):
            return ours
        if says_same(base, ours, name):
            return theirs
        if isinstance(ours, dict) and isinstance(theirs, dict):
            return self._tables(base if isinstance(base, dict) else {}, ours, theirs, where)
        keyed = [_keyed(name, side) for side in ([] if base is _NONE else base, ours, theirs)]
        if name not in _IN_ORDER and all(side is not None for side in keyed):
            was, mine, other = (side or {} for side in keyed)
            return self._lists(was, mine, other, where)
        if name == "designators" and all(isinstance(side, str) for side in (base, ours, theirs)):
            places = _places(base, ours, theirs)
            if places is not None:
                return places
        self.clashes.append(Clash(_where(where), _shown(base), _shown(ours), _shown(theirs)))
        return ours

    def _tables(
        self,
        base: Mapping[str, Any],
        ours: Mapping[str, Any],
        theirs: Mapping[str, Any],
        where: tuple[str, ...],
    ) -> dict[str, Any]:
        skipped = {"qty"} if _both_moved(base, ours, theirs) else set[str]()
        found = {}
        for key in dict.fromkeys([*ours, *theirs]):
            was, mine, other = (side.get(key, _NONE) for side in (base, ours, theirs))
            value = mine if key in skipped else self.join(was, mine, other, key, (*where, key))
            if value is not _NONE:
                found[key] = value
        if (
            skipped
        ):  # both branches gave or took places: the quantity is the number of places, as it was on all sides
            found["qty"] = len(parse_designators(found["designators"]).names)
        return found

    def _lists(
        self,
        base: dict[tuple[str, ...], Any],
        ours: dict[tuple[str, ...], Any],
        theirs: dict[tuple[str, ...], Any],
        where: tuple[str, ...],
    ) -> list[Any]:
        found = []
        for key in dict.fromkeys([*ours, *theirs]):
            was, mine, other = (side.get(key, _NONE) for side in (base, ours, theirs))
            value = self.join(was, mine, other, "", (*where, "+".join(key)))
            if value is not _NONE:
                found.append(value)
        return found


def _keyed(name: str, value: Any) -> dict[tuple[str, ...], Any] | None:
    """Return the entries of a list of tables by what identifies them; None where that is not beyond doubt."""
    if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
        return None
    keys = [natural_name(name, entry) for entry in value]
    if not all(keys) or len(set(keys)) != len(keys):
        return None
    return dict(zip(keys, value, strict=True))


def _both_moved(*sides: Mapping[str, Any]) -> bool:
    """Return whether both branches changed the places of a line whose quantity is their number throughout."""
    base, *others = sides
    return all(map(_is_counted, sides)) and all(side["designators"] != base["designators"] for side in others)


def _is_counted(side: Any) -> bool:
    """Return whether a line's quantity is the number of its places."""
    try:
        return bool(side["qty"] == len(parse_designators(side["designators"]).names))
    except (BadValue, KeyError, TypeError):
        return False


def _places(base: str, ours: str, theirs: str) -> str | None:
    """Return the places of our side, less what theirs took away, with what theirs added."""
    try:
        was, mine, other = (set(parse_designators(side).names) for side in (base, ours, theirs))
    except BadValue:
        return None
    kept = (mine - (was - other)) | (other - was)
    return compact(sorted(kept)) if kept else None


def _shown(value: Any) -> str:
    if value is _NONE:
        return "not stated"
    try:
        text = value_text(value)
    except TypeError:
        text = str(value)
    return text if len(text) <= _SHOWN else text[:_SHOWN] + "\u2026"


class _Editor:
    """Makes the edits that turn our text into the merged table; what is new in theirs comes with its comments."""

    def __init__(self, ours: str, theirs: str) -> None:
        self.ours, self.theirs = Positions(ours), Positions(theirs)

    def edits(self, ours: dict[str, Any], merged: dict[str, Any], theirs: dict[str, Any]) -> list[Edit]:
        return list(self._tables(ours, merged, theirs, ((), ())))

    def _tables(self, ours: Any, merged: Any, theirs: Any, paths: tuple[Path, Path]) -> Iterator[Edit]:
        for key in (key for key in ours if key not in merged):
            path = (*paths[0], key)
            many = isinstance(ours[key], list) and self._is_header(self.ours, (*path, 0))
            yield from (Edit(path=(*path, at)) for at in range(len(ours[key]))) if many else [Edit(path=path)]
        for key, value in merged.items():
            here = (*paths[0], key), (*paths[1], key)
            other = theirs.get(key) if isinstance(theirs, dict) else None
            if key not in ours:
                yield from self._new(value, here)
            elif not _same(ours[key], value):
                yield from self._changed(key, ours[key], value, other, here)

    def _new(self, value: Any, paths: tuple[Path, Path]) -> Iterator[Edit]:
        mine, other = paths
        many = isinstance(value, list) and self._is_header(self.theirs, (*other, 0))
        if many or self._is_header(self.theirs, other):
            yield self._block(other)
        elif mine[:-1] and mine[:-1] not in self.ours.spans:
            raise _Unplaceable
        else:
            yield Edit(path=mine, value=value)

    def _block(self, path: Path) -> Edit:
        """Return their text of a table or list of tables, to stand at the end of ours."""
        if any(isinstance(key, int) for key in path[:-1]):
            raise _Unplaceable  # a table inside an entry belongs to the entry last above it
        many = [at for at in self.theirs.spans if at[:-1] == path and isinstance(at[-1], int)]
        parts = many if path not in self.theirs.spans and many else [path]
        text = "".join(self._text(part) for part in parts)
        return Edit(block=text.replace("\r\n", "\n").strip("\n") + "\n")

    def _text(self, path: Path) -> str:
        start, end = extent_of(self.theirs, path)
        return self.theirs.text[start:end]

    def _changed(
        self, key: str, ours: Any, merged: Any, theirs: Any, paths: tuple[Path, Path]
    ) -> Iterator[Edit]:
        mine = paths[0]
        if isinstance(ours, dict) and isinstance(merged, dict) and self._stands_open(mine):
            yield from self._tables(ours, merged, theirs, paths)
            return
        keyed = [_keyed(key, side) for side in (ours, merged, theirs)]
        if isinstance(ours, list) and ours and self._is_header(self.ours, (*mine, 0)):
            if None in keyed[:2]:
                raise _Unplaceable
            yield from self._entries([side or {} for side in keyed], paths)
            return
        if mine not in self.ours.spans:
            raise _Unplaceable
        yield Edit(path=mine, value=merged)

    def _entries(self, keyed: list[dict[tuple[str, ...], Any]], paths: tuple[Path, Path]) -> Iterator[Edit]:
        ours, merged, theirs = keyed
        places, others = {key: at for at, key in enumerate(ours)}, {key: at for at, key in enumerate(theirs)}
        for key, at in places.items():
            if key not in merged:
                yield Edit(path=(*paths[0], at))
            elif not _same(ours[key], merged[key]):
                here = (*paths[0], at), (*paths[1], others.get(key, -1))
                yield from self._tables(ours[key], merged[key], theirs.get(key, {}), here)
        for key in merged:
            if key not in ours:
                yield self._block((*paths[1], others[key]))

    def _stands_open(self, path: Path) -> bool:
        """Return whether a table is one of headers, its own or those below it."""
        return self._is_header(self.ours, path) or any(
            below[: len(path)] == path and self._is_header(self.ours, below) for below in self.ours.spans
        )

    @staticmethod
    def _is_header(positions: Positions, path: Path) -> bool:
        return path in positions.spans and is_header(positions.spans[path])


_REMARK = re.compile(r"""^\s*(#.*)$|\s(#[^"']*)$""")


def _comments(text: str) -> Iterable[str]:
    """Yield the remarks of a text, those behind a value too."""
    for row in text.splitlines():
        found = _REMARK.search(row)
        if found:
            yield (found[1] or found[2]).strip()
