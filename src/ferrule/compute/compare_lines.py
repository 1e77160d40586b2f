"""Which lines of assemblies differ between two revisions, and which places on a board went to another line.

Lines are matched by assembly and item, then by part. The order of lines and the file they stand in say
nothing. A part under a new number (``renamed``: old number → new) is the same part here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from ferrule.compute.fields import Differing, changes
from ferrule.compute.meaning import Within, meaning
from ferrule.compute.pairing import pair_up
from ferrule.model.product import Product
from ferrule.model.records.assembly import Line

__all__ = ["LineChange", "LineChanges", "Move", "compare_lines"]

_APART = frozenset({"designators"})


class LineChange(Differing[Line], frozen=True, kw_only=True):
    """A line that came, went or changed.

    ``gained`` and ``lost`` are its designators, those that moved from or to another line included; of a line
    that came or went, all of them. They are not among the fields.
    """

    assembly: str
    gained: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()


class Move(Struct, frozen=True, order=True):
    """Designators that left one line of an assembly and entered another: (item, part) before and after."""

    assembly: str
    before: tuple[int, str]
    after: tuple[int, str]
    names: tuple[str, ...]


class LineChanges(Struct, frozen=True, kw_only=True):
    """All of it, sorted by assembly, then item and part.

    ``reordered`` counts assemblies whose lines stand in another order, ``rewritten`` lines that say the same
    in another way.
    """

    lines: tuple[LineChange, ...]
    moves: tuple[Move, ...]
    reordered: int
    rewritten: int


def compare_lines(before: Product, after: Product, renamed: Mapping[str, str]) -> LineChanges:
    """Return what differs between the lines of two products, each field of each line once."""
    found: list[LineChange] = []
    moves: list[Move] = []
    reordered = rewritten = 0
    for assembly in sorted({*before.lines, *after.lines}):
        old, new = before.lines.get(assembly, ()), after.lines.get(assembly, ())
        if old is new or old == new:
            continue
        one = _Assembly(before, after, renamed, assembly)
        here = sorted(one.compare(old, new), key=_place)
        found += here
        moves += _moves(assembly, here)
        reordered += one.reordered
        rewritten += one.rewritten
    return LineChanges(lines=tuple(found), moves=tuple(moves), reordered=reordered, rewritten=rewritten)


def _place(change: LineChange) -> tuple[int, bool, str, str]:
    """Return what sorts the changes of an assembly: what went before what came on the same item."""
    return (
        change.record.item,
        change.before is None,
        change.record.part,
        repr(meaning(change.record.effective)),
    )


class _Assembly:
    """The comparison of one assembly's lines."""

    def __init__(self, before: Product, after: Product, renamed: Mapping[str, str], assembly: str) -> None:
        self.before, self.after, self.renamed, self.assembly = before, after, renamed, assembly
        self.reordered = 0
        self.rewritten = 0

    def compare(self, old: Sequence[Line], new: Sequence[Line]) -> Iterator[LineChange]:
        number = self._part
        found = pair_up(
            old,
            new,
            lambda line: (line.item, number(line), meaning(line.effective)),
            lambda line: (line.item, number(line)),
            lambda line: line.item,
            number,
            content=_content,
        )
        for line in found.gone:
            yield LineChange(assembly=self.assembly, before=line, after=None, lost=_names(line))
        for line in found.new:
            yield LineChange(assembly=self.assembly, before=None, after=line, gained=_names(line))
        for one, other in found.pairs:
            yield from self._pair(one, other)
        places = {id(line): index for index, line in enumerate(old)}
        walked = [places[id(one)] for one, _ in found.pairs]
        self.reordered = int(walked != sorted(walked))

    def _part(self, line: Line) -> str:
        """Return the part of a line under its newest number."""
        return self.renamed.get(line.part, line.part)

    def _pair(self, one: Line, other: Line) -> Iterator[LineChange]:
        if one is other or one == other:
            return
        around = _within(self.before, one), _within(self.after, other)
        fields = tuple(changes(one, other, around, skip=_APART))
        had, has = Counter(_names(one)), Counter(_names(other))
        gained, lost = tuple(sorted((has - had).elements())), tuple(sorted((had - has).elements()))
        if fields or gained or lost:
            yield LineChange(
                assembly=self.assembly, before=one, after=other, fields=fields, gained=gained, lost=lost
            )
        else:
            self.rewritten += 1


def _content(line: Line) -> Hashable:
    return meaning(line)


def _names(line: Line) -> tuple[str, ...]:
    return line.designators.names if line.designators is not None else ()


def _within(product: Product, line: Line) -> Within:
    """Return what the quantities of a line lean on: the unit of its part."""
    item = product.item(line.part)
    return Within(unit=item.unit if item is not None else "each")


def _moves(assembly: str, found: Iterable[LineChange]) -> list[Move]:
    """Return which designators left one line and entered another.

    A name that left or entered several lines, which no board can have, is paired in the order of their items,
    so that reading the other way round gives the same pairs.
    """
    left: dict[str, list[tuple[int, str]]] = {}
    entered: dict[str, list[tuple[int, str]]] = {}
    for change in found:
        _note(left, change.before, change.lost)
        _note(entered, change.after, change.gained)
    moved: dict[tuple[tuple[int, str], tuple[int, str]], list[str]] = {}
    for name in sorted(left.keys() & entered.keys()):
        for pair in zip(sorted(left[name]), sorted(entered[name]), strict=False):
            moved.setdefault(pair, []).append(name)
    return sorted(Move(assembly, one, other, tuple(names)) for (one, other), names in moved.items())


def _note(places: dict[str, list[tuple[int, str]]], line: Line | None, names: Iterable[str]) -> None:
    if line is not None:
        for name in names:
            places.setdefault(name, []).append((line.item, line.part))
