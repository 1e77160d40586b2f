"""What was recognised in a sheet as records of a product: parts with sources, assemblies with lines, firms.

Only what the sheet says goes in. A price without a currency stays one without; a maker's number without a
maker stays one; a status is never claimed. What has no field of ours goes into the note, never away.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, get_args

from msgspec import Struct, field

from ferrule.exchange.drafted_lines import line_fields, unit_of
from ferrule.exchange.drafted_sources import Firms, draft_source, firms_named, lead_unit
from ferrule.exchange.naming import identity_of, number_for, number_of
from ferrule.exchange.recognised import Doubt, Line, Place, Recognised
from ferrule.exchange.words import folded
from ferrule.model.records.part import PartClass
from ferrule.model.text import quoted

__all__ = ["AssemblyDraft", "Drafted", "Known", "LineDraft", "PartDraft", "SourceDraft", "draft_records"]

#: Steps between item references, so that a line can be put between two.
_STEP = 10
_MOST_ITEM = 1_000_000
_CLASSES = frozenset(get_args(PartClass))


class SourceDraft(Struct, frozen=True, kw_only=True):
    """One source: its fields as a file has them, and where in the sheet it stands."""

    fields: Mapping[str, Any]
    place: Place


class PartDraft(Struct, frozen=True, kw_only=True):
    """One part: number, fields, sources, and every place in the sheet that speaks of it."""

    number: str
    fields: Mapping[str, Any]
    sources: tuple[SourceDraft, ...]
    places: tuple[Place, ...]


class LineDraft(Struct, frozen=True, kw_only=True):
    """One line of an assembly."""

    fields: Mapping[str, Any]
    place: Place


class AssemblyDraft(Struct, frozen=True, kw_only=True):
    """One assembly: number, fields, lines."""

    number: str
    fields: Mapping[str, Any]
    lines: tuple[LineDraft, ...]


class Drafted(Struct, frozen=True, kw_only=True):
    """The records of one sheet, in its order. ``reused`` are part numbers the product has already."""

    parts: tuple[PartDraft, ...]
    assemblies: tuple[AssemblyDraft, ...]
    firms: Mapping[str, Mapping[str, Any]]
    reused: tuple[str, ...]
    doubts: tuple[Doubt, ...]
    #: The number of what tells each part apart, so that a newer sheet gives the same.
    numbers: Mapping[tuple[str, ...], str]


class Known(Struct, frozen=True, kw_only=True):
    """What a product has already: part numbers by what tells a part apart, firms by folded name or number.

    ``taken`` holds every number in use, folded; ``ours`` the numbers that an earlier reading of this sheet gave.
    """

    parts: Mapping[tuple[str, ...], str] = {}
    firms: Mapping[str, str] = {}
    taken: frozenset[str] = frozenset()
    ours: frozenset[str] = frozenset()


class _Work(Struct, kw_only=True):
    known: Known
    taken: set[str]
    root: Line | None
    lead_units: tuple[str, ...]
    numbers: dict[tuple[str, ...], str] = field(default_factory=dict)
    #: Lines of each part, in the order of the sheet.
    lines: dict[str, list[Line]] = field(default_factory=dict)
    reused: dict[str, None] = field(default_factory=dict)
    doubts: list[Doubt] = field(default_factory=list)

    def number(self, line: Line) -> str:
        """Return the number given to the part of a line."""
        return self.numbers[identity_of(line)]

    def unit(self, line: Line) -> str:
        """Return the unit that the part of a line is counted in."""
        return unit_of(self.lines[self.number(line)][0])


def draft_records(found: Recognised, top: str, known: Known | None = None) -> Drafted:
    """Return the records of a recognised sheet; ``top`` is the number of the assembly it describes.

    Several tables make several assemblies, as nothing in a sheet says how many of each the product has; a
    table with levels makes an assembly of every line that others are part of.
    """
    known = known or Known()
    work = _Work(
        known=known,
        taken=set(known.taken) | {top.casefold()},
        root=_root(found),
        lead_units=tuple(lead_unit(table.columns) for table in found.tables),
    )
    tops = _tops(found, top, work)
    for line in found.lines:
        _give_number(line, work, top)
    firms = firms_named(found.lines, known.firms)
    assembled = {work.number(line) for line in found.lines if line.assembly}
    return Drafted(
        parts=tuple(
            _part(number, lines, firms, work)
            for number, lines in work.lines.items()
            if number not in work.reused and number not in assembled
        ),
        assemblies=tuple(_assemblies(found, tops, work)),
        firms={number: fields for number, fields in firms.records.items() if number not in firms.existing},
        reused=tuple(work.reused),
        doubts=tuple(work.doubts),
        numbers=dict(work.numbers),
    )


def _root(found: Recognised) -> Line | None:
    """Return the only line at the top of the only table, if others are part of it: the assembly described."""
    tops = [line for line in found.lines if line.parent is None]
    return tops[0] if len(found.tables) == 1 and len(tops) == 1 and tops[0].assembly else None


def _tops(found: Recognised, top: str, work: _Work) -> tuple[tuple[str, str], ...]:
    """Return number and name of the assembly of each table."""
    if len(found.tables) <= 1:
        return tuple((top, table.title) for table in found.tables)
    tops = []
    for at, table in enumerate(found.tables):
        number = number_for(f"{top}-{table.title or table.sheet or at + 1}", work.taken)
        work.taken.add(number.casefold())
        tops.append((number, table.title or table.sheet))
    what = f"{len(tops)} tables became {len(tops)} assemblies; nothing says how many of each a product has"
    work.doubts.append(Doubt(what=what, about="tables"))
    return tuple(tops)


def _give_number(line: Line, work: _Work, top: str) -> None:
    """Give the part of a line its number: that of the product, that of a like line, or a new one."""
    identity = identity_of(line)
    number = work.numbers.get(identity)
    if number is None:
        number = _known_number(line, identity, work.known)
        if number is not None and number not in work.known.ours:
            work.reused[number] = None
        elif number is None and line is work.root:
            number = top
        elif number is None:
            number = number_for(number_of(line), work.taken)
        work.numbers[identity] = number
        work.taken.add(number.casefold())
        if line.part and number != line.part:
            what = f"part number {quoted(line.part)} is written as {number}"
            work.doubts.append(Doubt(what=what, place=line.place, about="part"))
    work.lines.setdefault(number, []).append(line)


def _known_number(line: Line, identity: tuple[str, ...], known: Known) -> str | None:
    keys = (("maker", folded(s.maker), folded(s.maker_part)) for s in line.supplies if s.maker_part)
    return next((known.parts[key] for key in (identity, *keys) if key in known.parts), None)


def _part(number: str, lines: Sequence[Line], firms: Firms, work: _Work) -> PartDraft:
    """Return one part from all lines that speak of it: the first that says a fact counts."""
    kind = _class_of(lines)
    unit = unit_of(lines[0])
    electrical = kind in {"", "electrical"}
    fields = {
        "name": _name(lines),
        "class": kind,
        "rev": _first(line.revision for line in lines),
        "unit": "" if unit == "each" else unit,
        "value": _first(line.value for line in lines) if electrical else "",
        "package": _first(line.footprint for line in lines) if electrical else "",
        "material": _first(line.material for line in lines),
        "note": _note(lines),
    }
    return PartDraft(
        number=number,
        fields={key: value for key, value in fields.items() if value},
        sources=tuple(_sources(lines, firms, work)),
        places=tuple(line.place for line in lines),
    )


def _first(texts: Iterable[str]) -> str:
    return next((text for text in texts if text), "")


def _name(lines: Sequence[Line]) -> str:
    """Return the name of a part in words, else what there is: category with value or maker's number."""
    said = _first(line.name for line in lines)
    if said:
        return said
    first = lines[0]
    what = first.value or _first(supply.maker_part for supply in first.supplies)
    return " ".join(word for word in (first.category, what) if word)


def _class_of(lines: Iterable[Line]) -> str:
    """Return the class of a part where the sheet leaves no doubt, else nothing."""
    kept = list(lines)
    if any(supply.kind == "drawing" for line in kept for supply in line.supplies):
        return "fabricated"
    said = {folded(line.category) for line in kept} & _CLASSES
    if len(said) == 1:
        return said.pop()
    if any(line.quantity.as_needed for line in kept):
        return "as-required"
    return "electrical" if any(line.designators.names for line in kept) else ""


def _note(lines: Sequence[Line]) -> str:
    """Return in one line what the sheet says of a part beside our fields."""
    said = [
        text for line in lines for text in (line.category, *(f"{key}: {text}" for key, text in line.extra))
    ]
    return "; ".join(dict.fromkeys(" ".join(text.split()) for text in said if text))


def _sources(lines: Iterable[Line], firms: Firms, work: _Work) -> Iterable[SourceDraft]:
    seen: set[tuple[str, ...]] = set()
    for line in lines:
        for supply in line.supplies:
            key = tuple(
                folded(text)
                for text in (supply.maker, supply.maker_part, supply.seller, supply.seller_part, supply.link)
            )
            fields = draft_source(supply, firms, work.lead_units[line.table])
            if fields and key not in seen:
                seen.add(key)
                yield SourceDraft(fields=fields, place=supply.place)


def _assemblies(found: Recognised, tops: Sequence[tuple[str, str]], work: _Work) -> Iterable[AssemblyDraft]:
    names = dict(tops) | {work.number(line): _name([line]) for line in found.lines if line.assembly}
    revs = {work.number(line): line.revision for line in found.lines if line.assembly}
    inside: dict[str, dict[int | None, list[Line]]] = {number: {} for number in names}
    for line in found.lines:
        if line is not work.root:
            parent = None if line.parent is None else found.lines[line.parent]
            above = tops[line.table][0] if parent is None else work.number(parent)
            inside[above].setdefault(line.parent, []).append(line)
    for number, occurrences in inside.items():
        if occurrences:
            lines = _agreed(number, list(occurrences.values()), work)
            said = {"name": names[number] or number, "rev": revs.get(number, "")}
            fields = {"id": number} | {key: value for key, value in said.items() if value}
            yield AssemblyDraft(number=number, fields=fields, lines=tuple(_lines(lines, work)))


def _agreed(number: str, occurrences: Sequence[Sequence[Line]], work: _Work) -> Sequence[Line]:
    """Return the lines of an assembly as they first stand in the sheet; another content elsewhere is doubted."""
    first = occurrences[0]
    content = [
        sorted((work.number(line), str(line.quantity.number)) for line in lines) for lines in occurrences
    ]
    for lines, other in zip(occurrences[1:], content[1:], strict=True):
        if other != content[0]:
            what = f"{number} stands here with other lines than at {first[0].place}; those there were taken"
            work.doubts.append(Doubt(what=what, place=lines[0].place, about="level"))
    return first


def _lines(lines: Sequence[Line], work: _Work) -> Iterable[LineDraft]:
    for item, line in zip(_items(lines), lines, strict=True):
        fields, doubts = line_fields(line, work.unit(line))
        work.doubts += doubts
        yield LineDraft(fields={"item": item, "part": work.number(line), **fields}, place=line.place)


def _items(lines: Sequence[Line]) -> list[int]:
    """Return the item references of the sheet where they are whole numbers used once, else steps of ten."""
    written = [line.item.strip() for line in lines]
    if all(text.isascii() and text.isdecimal() and 0 < int(text) < _MOST_ITEM for text in written):
        numbers = [int(text) for text in written]
        if len(set(numbers)) == len(numbers):
            return numbers
    return [_STEP * at for at in range(1, len(lines) + 1)]
