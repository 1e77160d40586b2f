"""What the key path of a setting names: one field of one record, in one file.

``KIND.NAME.FIELD``, and on into the field: ``firm.harbour.payment.1.due``. An entry of a list goes by its
index, counted from 0, or by what identifies it (the name of a step, the item of a line). A name that holds
a point, or a name of digits only, stands in quotes: ``part."A.1".moq``. Names are matched exactly. The path
is looked up in the trees of the files, by the types of the records, so that a field that is not written yet
can be named as well.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

import msgspec
from msgspec import Struct

from ferrule.diagnostics.finding import Key, Path, Place
from ferrule.load.identity import natural_name
from ferrule.load.kinds import KINDS, kind_of
from ferrule.load.loaded import Loaded
from ferrule.model.bad_value import BadValue
from ferrule.model.exchange import parse_exchange
from ferrule.model.product import Home
from ferrule.model.records.about import Record
from ferrule.model.records.firms import Duty, Rate
from ferrule.model.text import nearest, quoted, visible

__all__ = [
    "Ground",
    "Target",
    "UnusablePath",
    "currencies_of",
    "field_types",
    "find_target",
    "key_path",
    "overlap",
    "shape_of",
]

_SEGMENT = re.compile(r'"((?:[^"\\]|\\["\\])+)"|([^."]+)')
_EXAMPLE = "such as firm.harbour.payment.1.due"
_LISTED = 15
_LONGEST = 60
#: What a selector is called where the record does not state the field.
_ANY = "any"


class UnusablePath(Exception):
    """A key path leads nowhere: what is wrong with it, and what to do."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class Ground(Struct, frozen=True, kw_only=True):
    """What key paths are looked up in: a product, the plan they belong to, and trees in place of files' own."""

    loaded: Loaded
    plan: str
    trees: Mapping[str, dict[str, Any]] = {}

    def tree(self, file: str) -> dict[str, Any]:
        """Return the top-level table of a file."""
        return self.trees[file] if file in self.trees else self.loaded.documents[file].tree


class Target(Struct, frozen=True, kw_only=True):
    """The place a key path names. The field need not be written there yet."""

    file: str
    path: Path
    #: For people, entries counted from one: "firm harbour, payment 2, due".
    subject: str


class _Segment(Struct, frozen=True):
    text: str
    quoted: bool = False

    @property
    def index(self) -> int | None:
        """The number a segment counts by, or None where it is a name."""
        plain = not self.quoted and self.text.isascii() and self.text.isdigit()
        return int(self.text) if plain and len(self.text) <= len("1000000") else None


class _At(Struct, frozen=True, kw_only=True):
    """Where a walk stands: the node (None: not written), its type (None: no such field), words, path so far."""

    file: str
    path: Path
    node: Any
    type: Any
    words: tuple[str, ...]
    key: str

    @property
    def subject(self) -> str:
        return ", ".join(self.words)

    @property
    def entry(self) -> str:
        """What one entry of a list is called in a message."""
        return f"entry of {self.subject}" if self.words[1:] else self.subject


def find_target(ground: Ground, key: str) -> Target:
    """Return the place that a key path names; raises UnusablePath.

    A field that its record does not have is returned like any other: the reader of files says what is wrong
    with it.
    """
    first, *rest = _split(key)
    root = None if first.quoted else _ROOTS.get(first.text)
    if root is None:
        best = nearest(first.text, _ROOTS)
        hint = f'did you mean "{best}"?' if best else f"a key path starts with one of: {', '.join(_ROOTS)}"
        raise UnusablePath(f"{quoted(first.text)} is no kind of record to set", hint)
    at, rest = root(ground, first.text, rest)
    if not rest:
        fields = _listed(field_types(at.type)) if shape_of(at.type)[0] == "record" else ""
        hint = f"go on with a field; {fields}" if fields else ""
        raise UnusablePath(f"the path ends at {at.subject}; a setting changes a field of it", hint)
    for segment in rest:
        at = _STEPS[shape_of(at.type)[0]](at, segment)
        if at.type is None:
            break
    words = at.words[:1] if first.text == at.words[-1] == "rate" else at.words
    return Target(file=at.file, path=at.path, subject=", ".join(words))


def overlap(one: Path, other: Path) -> bool:
    """Return whether two paths in one file touch the same fact: they are equal, or one leads to the other."""
    short = min(len(one), len(other))
    return one[:short] == other[:short]


# --- writing and reading a path -----------------------------------------------------------------------


def _split(key: str) -> list[_Segment]:
    segments: list[_Segment] = []
    at = -1
    while at < len(key):
        found = _SEGMENT.match(key, at + 1) if at < 0 or key[at] == "." else None
        if found is None:
            message = f"{quoted(key)} is not a key path"
            raise UnusablePath(
                message, f'write KIND.NAME.FIELD, {_EXAMPLE}; a name with a point in quotes: "A.1"'
            )
        inside = found[1]
        text = re.sub(r"\\(.)", r"\1", inside) if inside is not None else found[2]
        segments.append(_Segment(text, inside is not None))
        at = found.end()
    return segments


def _written(*names: object) -> str:
    """Return names as a key path; an integer is an index, text that would read as something else is quoted."""
    return ".".join(_word(name) for name in names)


def _word(name: object) -> str:
    text = str(name)
    if isinstance(name, int) or (re.fullmatch(r'[^."]+', text) and not text.isdigit()):
        return visible(text, _LONGEST)
    inside = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{visible(inside, _LONGEST)}"'


def key_path(names: Iterable[str | int]) -> str:
    """Return a path as a setting writes it: an integer is an index, a name that would read as one is quoted."""
    return ".".join(map(_whole_word, names))


def _whole_word(name: str | int) -> str:
    if isinstance(name, int) or (re.fullmatch(r'[^."]+', name) and not name.isdigit()):
        return str(name)
    inside = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{inside}"'


def _listed(names: Iterable[object]) -> str:
    known = [visible(str(name), _LONGEST) for name in names]
    more = f" and {len(known) - _LISTED} more" if len(known) > _LISTED else ""
    return f"known here: {', '.join(known[:_LISTED])}{more}" if known else ""


def _near(name: str, known: Iterable[str]) -> str:
    names = list(dict.fromkeys(known))
    best = nearest(name, names)
    return f'did you mean "{visible(best)}"?' if best else _listed(names)


# --- types --------------------------------------------------------------------------------------------


@functools.cache
def field_types(record: type[Record]) -> Mapping[str, Any]:
    """Return the type of each field of a record, by its name in files."""
    return {field.encode_name: field.type for field in msgspec.structs.fields(record)}


def shape_of(kind: Any) -> tuple[str, Any]:
    """Return "record", "list", "names" (records by name) or "value", and the type inside (itself for the rest)."""
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return shape_of(inner[0])
    if origin in (Union, UnionType):
        stated = [each for each in inner if each is not type(None)]
        return shape_of(stated[0]) if len(stated) == 1 else ("value", kind)
    if origin is tuple:
        return "list", inner[0]
    if origin is dict:
        return "names", inner[1]
    return ("record", kind) if isinstance(kind, type) and issubclass(kind, Record) else ("value", kind)


def _type_within(kind: Any, key: Key) -> Any:
    shape, inner = shape_of(kind)
    return field_types(inner).get(str(key)) if shape == "record" else inner


# --- the start: a record ------------------------------------------------------------------------------


def _stand(ground: Ground, home: Home, words: Sequence[str], key: str) -> _At:
    """Return where a walk starts: at a path that the file holds."""
    node: Any = ground.tree(home.file)
    kind: Any = KINDS[kind_of(node) or ""]
    for step in home.path:
        kind = _type_within(kind, step)
        node = node.get(step) if isinstance(node, dict) else node[step]
    return _At(file=home.file, path=home.path, node=node, type=kind, words=tuple(words), key=key)


_Start = tuple[_At, list[_Segment]]


def _named(ground: Ground, kind: str, rest: list[_Segment]) -> _Start:
    """Start at a record of a table that is keyed by name."""
    name = _first(kind, rest)
    home = ground.loaded.product.homes.get((kind, name))
    if home is None:
        raise _unknown_name(ground, kind, rest)
    return _stand(ground, home, [f"{kind} {name}"], _written(kind, name)), rest[1:]


def _assembly(ground: Ground, kind: str, rest: list[_Segment]) -> _Start:
    """Start at an assembly, or at its lines, which stand beside it in the file."""
    at, rest = _named(ground, kind, rest)
    if rest[:1] != [_Segment("line")]:
        return at, rest
    lines = Home(at.file, ("line",))
    return _stand(ground, lines, [at.subject, "line"], f"{at.key}.line"), rest[1:]


def _head(ground: Ground, kind: str, rest: list[_Segment]) -> _Start:
    """Start at a table of product.toml."""
    home = ground.loaded.product.homes.get(("product", ground.loaded.product.head.id))
    if home is None:
        raise UnusablePath("there is no product.toml to set it in")
    return _stand(ground, Home(home.file, (kind,)), [kind], kind), rest


def _plan(ground: Ground, kind: str, rest: list[_Segment]) -> _Start:
    """Start at the plan itself, or at an entry of one of its lists."""
    home = ground.loaded.product.homes["plan", ground.plan]
    at = _stand(ground, Home(home.file, (kind,)), [kind], kind)
    if kind == "plan":
        return at, rest
    _first(kind, rest)
    return _entry(at, rest[0]), rest[1:]


def _counted(ground: Ground, kind: str, rest: list[_Segment]) -> _Start:
    """Start at an entry of a list that goes over several files."""
    _first(kind, rest)
    homes, entries = _all(ground, kind)
    whole = _At(file="", path=(kind,), node=entries, type=None, words=(kind,), key=kind)
    index = _pick(whole, rest[0])
    return _stand(ground, homes[index], [f"{kind} {_shown(rest[0])}"], _written(kind, index)), rest[1:]


def _all(ground: Ground, kind: str) -> tuple[list[Home], list[Any]]:
    """Return places and nodes of every entry of a list, over all files, in their order."""
    homes: list[Home] = []
    entries: list[Any] = []
    product = ground.loaded.product
    while (home := product.homes.get((kind, len(homes)))) is not None:
        place = ground.loaded.original(Place(file=home.file, path=home.path))
        homes.append(Home(place.file, place.path))
        entries.append(_stand(ground, homes[-1], [], "").node)
    return homes, entries


def _first(kind: str, rest: list[_Segment]) -> str:
    if not rest:
        message = f"the path ends at `{kind}` and names none of them"
        raise UnusablePath(message, f"write {kind}.NAME.FIELD")
    return rest[0].text


def _unknown_name(ground: Ground, kind: str, rest: list[_Segment]) -> UnusablePath:
    product, name = ground.loaded.product, rest[0].text
    if product.knows(kind, name):
        return UnusablePath(
            f"{kind} {quoted(name)} could not be read", "mend what is wrong in its file first"
        )
    known = sorted(str(number) for each, number in product.homes if each == kind)
    message = f"no {kind} is called {quoted(name)}"
    for end in range(len(rest), 1, -1):
        whole = ".".join(segment.text for segment in rest[:end])
        if whole in known:
            return UnusablePath(
                message, f"write {_written(kind, whole)}: a name with a point stands in quotes"
            )
    for other in ("part", "assembly"):
        if other != kind and kind in ("part", "assembly") and (other, name) in product.homes:
            return UnusablePath(message, f"write {_written(other, name)}")
    return UnusablePath(message, _near(name, known))


# --- duty and rates: records without a name -----------------------------------------------------------


def _duty(ground: Ground, kind: str, rest: list[_Segment]) -> _Start:
    """Start at a duty, by destination; by code and origin too where several have it."""
    destination = _first(kind, rest)
    homes, entries = _all(ground, kind)
    found = [i for i, entry in enumerate(entries) if entry.get("destination") == destination]
    if not found:
        known = sorted({str(entry.get("destination")) for entry in entries})
        raise UnusablePath(f"no duty is for {quoted(destination)}", _near(destination, known))
    index, used = _narrowed(entries, found, rest, (1, Duty, (destination,), ("code", "origin")))
    return _chosen(ground, kind, homes[index], rest[:used]), rest[used:]


def _rate(ground: Ground, kind: str, rest: list[_Segment]) -> _Start:
    """Start at an exchange rate, by its two currencies in either order; by its day where several have them."""
    _first(kind, rest)
    pair = tuple(segment.text for segment in rest[:2])
    homes, entries = _all(ground, kind)
    pairs = [currencies_of(entry.get("rate")) for entry in entries]
    found = [i for i, each in enumerate(pairs) if len(pair) > 1 and each == frozenset(pair)]
    if not found:
        known = sorted({".".join(sorted(each)) for each in pairs if each})
        message = f"no exchange rate is between {' and '.join(map(quoted, pair))}"
        raise UnusablePath(
            message if len(pair) > 1 else "an exchange rate goes by two currencies", _listed(known)
        )
    index, used = _narrowed(entries, found, rest, (2, Rate, pair, ("date",)))
    return _chosen(ground, kind, homes[index], rest[:used]), rest[used:] or [_Segment("rate")]


def currencies_of(written: object) -> frozenset[str]:
    """Return the two currencies of a written exchange rate; empty if it cannot be read."""
    try:
        rate = parse_exchange(written)
    except BadValue:
        return frozenset()
    return frozenset((rate.base, rate.quote))


def _chosen(ground: Ground, kind: str, home: Home, names: list[_Segment]) -> _At:
    words = [segment.text for segment in names]
    return _stand(ground, home, [" ".join([kind, *words])], _written(kind, *words))


def _narrowed(
    entries: list[Any],
    found: list[int],
    rest: list[_Segment],
    by: tuple[int, type[Record], tuple[str, ...], tuple[str, ...]],
) -> tuple[int, int]:
    """Return the one entry meant among those found, and how many segments named it.

    ``by`` is the number of segments used so far, the record, its name so far and the fields that tell its
    entries apart.
    """
    used, record, names, fields = by
    for field in fields:
        if used < len(rest):
            same = [i for i in found if _selector(entries[i], field) == rest[used].text]
            found, used = (same, used + 1) if same else (found, used)
    kind, name = record.__name__.lower(), " ".join(names)
    beyond = [segment.text for segment in rest[used:]]
    if len(beyond) > 1 and nearest(beyond[0], field_types(record), likeness=0.7) is None:
        known = sorted({_selector(entries[i], field) for i in found for field in fields})
        raise UnusablePath(f"no {kind} {name} has {' or '.join(fields)} {quoted(beyond[0])}", _listed(known))
    if len(found) > 1:
        paths = [_written(kind, *names, *(_selector(entries[i], field) for field in fields)) for i in found]
        alike = len(set(paths)) < len(paths)
        hint = "take out one of those that are alike" if alike else f"write one of: {', '.join(paths)}"
        raise UnusablePath(f"{len(found)} records are called {kind} {name}", hint)
    return found[0], used


def _selector(entry: Any, field: str) -> str:
    return str(entry.get(field, _ANY))


_ROOTS: dict[str, Callable[[Ground, str, list[_Segment]], _Start]] = {
    **dict.fromkeys(("part", "firm", "channel", "lane", "tool", "calendar"), _named),
    "assembly": _assembly,
    "duty": _duty,
    "rate": _rate,
    **dict.fromkeys(("product", "policy", "conventions"), _head),
    **dict.fromkeys(("plan", "build", "sales", "overhead", "one_off", "funding", "loan"), _plan),
    **dict.fromkeys(("stock", "order", "movement", "made"), _counted),
}


# --- on into the record -------------------------------------------------------------------------------


def _field(at: _At, segment: _Segment) -> _At:
    """Go into a field of a record, written or not."""
    if at.node is not None and not isinstance(at.node, dict):
        raise _unreadable(at)
    node = None if at.node is None else at.node.get(segment.text)
    return _further(at, segment.text, node, (*at.words, segment.text), _written(segment.text))


def _name(at: _At, segment: _Segment) -> _At:
    """Go into a record that is kept by name within a field."""
    if not isinstance(at.node, dict) or not at.node:
        raise _none_yet(at) if not at.node else _unreadable(at)
    if segment.text not in at.node:
        message = f"no {at.entry} is called {quoted(segment.text)}"
        raise UnusablePath(message, _near(segment.text, at.node))
    words = (*at.words[:-1], f"{at.words[-1]} {segment.text}")
    return _further(at, segment.text, at.node[segment.text], words, _written(segment.text))


def _entry(at: _At, segment: _Segment) -> _At:
    """Go into an entry of a list."""
    if not isinstance(at.node, list) or not at.node:
        raise _none_yet(at) if not at.node else _unreadable(at)
    index = _pick(at, segment)
    words = (*at.words[:-1], f"{at.words[-1]} {_shown(segment)}")
    if at.path == ("line",):
        words = (*at.words[:-1], f"line {at.node[index].get('item')}")
    return _further(at, index, at.node[index], words, _written(index))


def _value(at: _At, segment: _Segment) -> _At:
    message = f"{at.subject} is one value, and the path goes on with {quoted(segment.text)}"
    raise UnusablePath(message, f"write {at.key}")


_STEPS: dict[str, Callable[[_At, _Segment], _At]] = {
    "record": _field,
    "names": _name,
    "list": _entry,
    "value": _value,
}


def _further(at: _At, key: Key, node: Any, words: tuple[str, ...], written: str) -> _At:
    kind = _type_within(at.type, key)
    return _At(
        file=at.file, path=(*at.path, key), node=node, type=kind, words=words, key=f"{at.key}.{written}"
    )


def _shown(segment: _Segment) -> str:
    return segment.text if segment.index is None else str(segment.index + 1)


def _none_yet(at: _At) -> UnusablePath:
    hint = f"set it as a whole: {at.key}" if at.words[1:] else ""
    return UnusablePath(f"{at.subject} has no entries", hint)


def _unreadable(at: _At) -> UnusablePath:
    return UnusablePath(f"{at.subject} could not be read", f"mend {visible(at.file)} first")


def _pick(at: _At, segment: _Segment) -> int:
    """Return the index of the entry of a list that is meant; raises UnusablePath."""
    table = str(at.path[-1])
    names = [natural_name(table, entry) for entry in at.node]
    whole = ["+".join(words) for words in names]
    found = [i for i, name in enumerate(whole) if name == segment.text]
    if table == "line":
        return _line(at, segment, found)
    if segment.index is not None:
        return _counted_off(at, segment, whole, bool(found))
    found = found or [i for i, words in enumerate(names) if segment.text in words]
    return _only(at, segment, found, whole, [f"{at.key}.{i}" for i in found])


def _line(at: _At, segment: _Segment, found: list[int]) -> int:
    """Pick a line by its item, its part, or both where several share the item: ``80+LBL-REG-A``."""
    rows = [entry if isinstance(entry, dict) else {} for entry in at.node]
    found = [i for i in found if rows[i]]
    pairs = [(str(row.get("item")), str(row.get("part"))) for row in rows]
    found = found or [i for i, pair in enumerate(pairs) if segment.text in (pair[1], "+".join(pair))]
    paths = [f"{at.key}.{_written('+'.join(pairs[i]))}" for i in found]
    return _only(at, segment, found, [item for item, _ in pairs], paths)


def _only(at: _At, segment: _Segment, found: list[int], names: list[str], paths: list[str]) -> int:
    if not found:
        message = f"no {at.entry} is called {quoted(segment.text)}"
        raise UnusablePath(message, _near(segment.text, names))
    if len(found) > 1:
        alike = len(set(paths)) < len(paths)
        hint = "give each a name of its own" if alike else f"write one of: {', '.join(paths[:_LISTED])}"
        message = f"{len(found)} entries of {at.subject} are called {quoted(segment.text)}"
        raise UnusablePath(message, hint)
    return found[0]


def _counted_off(at: _At, segment: _Segment, names: list[str], named: bool) -> int:  # noqa: FBT001
    index = segment.index or 0
    if index < len(names):
        return index
    shown = [f"{i} is {visible(name, _LONGEST)}" for i, name in enumerate(names[:_LISTED])]
    hint = f"did you mean {at.key}.{_word(segment.text)}?" if named else ", ".join(shown)
    raise UnusablePath(f"{at.subject} has no entry {index}, counted from 0", hint)
