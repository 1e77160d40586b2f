"""What each level of disclosure shows of a part, field by field. The one place that decides it.

- *outline*: line id, class, name, unit, the quantities asked. A firm always sees what it told us itself: the maker,
  the maker's number and its own number of what it sells or makes.
- *build* adds what one needs to make or choose the part: part number and revision, where it goes and how many, value,
  package, rating, material, finish, approved makers, drawings by name, revision and hash, characteristics, handling,
  mass and size, notes for the assembler.
- *price* adds when how many are planned.
- *all* adds life-cycle, statements on substances, origin, and whether it is safety-critical.

Nobody sees sellers other than itself, prices, terms, evidence of quotes, what is written into a processor, test
programs, or what was measured. A part that we supply is a line without contents: how many, where, in which package.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.structure import Edge
from ferrule.model.exact import Exact, in_full
from ferrule.model.product import Product
from ferrule.model.records.disclosures import Level
from ferrule.model.records.part import Item, Part, Source

__all__ = ["FIELDS", "LEVELS", "Field", "Piece", "Spot", "fields_at", "open_sources"]

#: From nothing to all.
LEVELS: tuple[Level, ...] = ("nothing", "outline", "build", "price", "all")
#: Documents one builds by. Quotes, agreements, programs, certificates and reports are shown to nobody by this door.
_BUILD_PAPERS = (
    "drawing",
    "board",
    "panel",
    "stencil",
    "artwork",
    "model",
    "specification",
    "instruction",
    "quality plan",
)
_Path = tuple[str | int, ...]


class Piece(Struct, frozen=True):
    """A text that is disclosed, and the record and field it comes from."""

    text: str
    kind: str
    number: str
    path: _Path = ()


class Spot(Struct, frozen=True, kw_only=True):
    """A part as one recipient may see it: its record, the lines that use it, and how many in one."""

    product: Product
    recipient: str
    number: str
    kind: str
    item: Item
    opaque: bool = False
    edges: tuple[Edge, ...] = ()
    in_one: Exact | None = None
    planned: tuple[tuple[Decimal, dt.date | None], ...] = ()

    def piece(self, text: object, *path: str | int) -> Piece:
        """Return a piece that comes from this part's own record."""
        return Piece(str(text), self.kind, self.number, path)

    @property
    def part(self) -> Part | None:
        """Return the record where it is a part, None for an assembly."""
        return self.item if isinstance(self.item, Part) else None


Read = Callable[[Spot], Iterator[Piece]]


class Field(Struct, frozen=True, kw_only=True):
    """One column of a request: from which level on it is shown, and what it reads.

    ``opaque`` says whether it is shown of a part that we supply; ``own`` marks what the recipient told us itself.
    """

    key: str
    heading: str
    level: Level
    about: str
    read: Read
    kind: Literal["string", "number"] = "string"
    opaque: bool = False
    own: bool = False


def fields_at(level: Level) -> tuple[Field, ...]:
    """Return the fields that a level shows, in the order of the sheet."""
    return tuple(field for field in FIELDS if LEVELS.index(field.level) <= LEVELS.index(level))


def open_sources(spot: Spot) -> Iterator[tuple[int, Source]]:
    """Yield the sources whose maker's number an offer may name: those not denied, with their index."""
    for at, source in enumerate(spot.item.source):
        if source.status != "denied":
            yield at, source


def _stated(*names: str) -> Read:
    """Return a reader of the part's own fields, of which those stated are joined."""

    def read(spot: Spot) -> Iterator[Piece]:
        for name in names:
            value = getattr(spot.item, name, None)
            if value is not None:
                yield spot.piece(value, name.removesuffix("_"))

    return read


def _what(spot: Spot) -> Iterator[Piece]:
    if spot.opaque:
        yield spot.piece("supplied by us")
    elif spot.part is None:
        bought = bool(spot.item.source) and not spot.product.lines.get(spot.number)
        yield spot.piece(
            "assembly, bought whole" if bought else "assembly: price of the work on one, without parts"
        )
    elif spot.part.class_ is not None:
        yield spot.piece(spot.part.class_, "class")


def _name(spot: Spot) -> Iterator[Piece]:
    if spot.opaque:
        yield spot.piece("part supplied by us")
    elif spot.item.name is not None:
        yield spot.piece(spot.item.name, "name")


def _own(spot: Spot) -> Iterator[tuple[int, Source]]:
    for at, source in open_sources(spot):
        if spot.recipient in {source.seller, source.maker}:
            yield at, source


def _own_maker(spot: Spot) -> Iterator[Piece]:
    for at, source in _own(spot):
        yield from _maker_piece(spot, at, source)


def _own_number(spot: Spot) -> Iterator[Piece]:
    for at, source in _own(spot):
        if source.seller == spot.recipient and source.seller_part:
            yield spot.piece(source.seller_part, "source", at, "seller_part")


def _makers(spot: Spot) -> Iterator[Piece]:
    for at, source in open_sources(spot):
        for piece in _maker_piece(spot, at, source):
            status = "" if source.status == "approved" else f" ({source.status}, not approved)"
            yield replace(piece, text=piece.text + status)


def _maker_piece(spot: Spot, at: int, source: Source) -> Iterator[Piece]:
    firm = spot.product.firms.get(source.maker or "")
    words = " ".join(text for text in (firm.name if firm else source.maker, source.maker_part) if text)
    if words:
        yield spot.piece(words, "source", at, "maker_part" if source.maker_part else "maker")


def _number(spot: Spot) -> Iterator[Piece]:
    yield spot.piece(spot.number)


def _places(spot: Spot) -> Iterator[Piece]:
    for edge in spot.edges:
        line = spot.product.lines[edge.parent][edge.index]
        words = f"{edge.parent} item {line.item}"
        yield Piece(words, "assembly", edge.parent, ("line", edge.index, "item"))


def _in_one(spot: Spot) -> Iterator[Piece]:
    if spot.in_one is not None:
        yield spot.piece(in_full(spot.in_one))


def _designators(spot: Spot) -> Iterator[Piece]:
    for edge in spot.edges:
        places = spot.product.lines[edge.parent][edge.index].designators
        if places is not None:
            yield Piece(str(places), "assembly", edge.parent, ("line", edge.index, "designators"))


def _notes(spot: Spot) -> Iterator[Piece]:
    for edge in spot.edges:
        note = spot.product.lines[edge.parent][edge.index].note
        if note:
            yield Piece(note, "assembly", edge.parent, ("line", edge.index, "note"))


def _documents(spot: Spot) -> Iterator[Piece]:
    for at, paper in enumerate(spot.item.document):
        if paper.kind in _BUILD_PAPERS:
            words = f"{paper.kind} {paper.file.rpartition('/')[2]}"
            words += f" rev {paper.rev}" if paper.rev else ""
            words += f" sha256 {paper.sha256}" if paper.sha256 else ""
            yield spot.piece(words, "document", at, "file")


def _characteristics(spot: Spot) -> Iterator[Piece]:
    for at, one in enumerate(spot.item.characteristic):
        words = [one.name]
        words += [str(one.nominal)] if one.nominal is not None else []
        if one.low is not None or one.high is not None:
            words.append(f"({'' if one.low is None else one.low} to {'' if one.high is None else one.high})")
        words += [f"by {one.method}"] if one.method else []
        yield spot.piece(" ".join(words), "characteristic", at, "name")


def _handling(spot: Spot) -> Iterator[Piece]:
    if spot.part is None:
        return
    if spot.part.moisture is not None:
        life = spot.part.moisture.floor_life
        words = f"moisture class {spot.part.moisture.level}" + (f", {life} out of the bag" if life else "")
        yield spot.piece(words, "moisture")
    if spot.part.static_sensitive:
        yield spot.piece("protect from static", "static_sensitive")


def _size(spot: Spot) -> Iterator[Piece]:
    if spot.item.mass is not None:
        yield spot.piece(spot.item.mass, "mass")
    if spot.item.size:
        yield spot.piece(" x ".join(map(str, spot.item.size)), "size")


def _planned(spot: Spot) -> Iterator[Piece]:
    for qty, day in spot.planned:
        yield spot.piece(
            f"{in_full(Fraction(qty))} by {day.isoformat() if day is not None else 'a day not fixed'}"
        )


def _lifecycle(spot: Spot) -> Iterator[Piece]:
    if spot.item.lifecycle is not None:
        yield spot.piece(spot.item.lifecycle.status, "lifecycle", "status")


def _substances(spot: Spot) -> Iterator[Piece]:
    for at, one in enumerate(spot.item.substances):
        day = f", statement of {one.date.isoformat()}" if one.date else ""
        exemption = f", exemption {one.exemption}" if one.exemption else ""
        yield spot.piece(f"{one.rule}{day}{exemption}", "substances", at, "rule")


def _origins(spot: Spot) -> Iterator[Piece]:
    for at, source in open_sources(spot):
        if source.origin:
            yield spot.piece(source.origin, "source", at, "origin")


def _safety(spot: Spot) -> Iterator[Piece]:
    if spot.item.safety_critical:
        yield spot.piece("safety-critical: no change without our word", "safety_critical")


#: In the order of the sheet.
FIELDS: tuple[Field, ...] = (
    Field(key="what", heading="what it is", level="outline", about="Kind of part.", read=_what, opaque=True),
    Field(key="name", heading="name", level="outline", about="Name in words.", read=_name, opaque=True),
    Field(
        key="unit", heading="unit", level="outline", about="Unit of quantities and prices.", read=_stated("unit"),
        opaque=True,
    ),
    Field(
        key="own_maker", heading="maker you offered", level="outline", about="What you told us.", read=_own_maker,
        own=True,
    ),
    Field(
        key="own_number", heading="your number", level="outline", about="What you told us.", read=_own_number,
        own=True,
    ),
    Field(key="part", heading="part number", level="build", about="Our number.", read=_number),
    Field(key="rev", heading="revision", level="build", about="Revision of its papers.", read=_stated("rev")),
    Field(
        key="places", heading="goes into", level="build", about="Assembly and item.", read=_places, opaque=True
    ),
    Field(
        key="in_one", heading="quantity in one", level="build", about="For one of what is asked.", read=_in_one,
        kind="number", opaque=True,
    ),
    Field(
        key="designators", heading="designators", level="build", about="Places on the board.", read=_designators,
        opaque=True,
    ),
    Field(
        key="value", heading="value", level="build", about="Rated value and limits.", read=_stated("value", "rating")
    ),
    Field(
        key="package", heading="package", level="build", about="Case or package.", read=_stated("package"),
        opaque=True,
    ),
    Field(
        key="material", heading="material and finish", level="build", about="Material, surface, colour.",
        read=_stated("material", "finish"),
    ),
    Field(
        key="makers", heading="approved makers", level="build", about="Makers and their numbers.", read=_makers
    ),
    Field(
        key="documents", heading="documents", level="build", about="Name, revision and SHA-256.", read=_documents
    ),
    Field(
        key="characteristics", heading="characteristics", level="build", about="What is measured, with limits.",
        read=_characteristics,
    ),
    Field(key="handling", heading="handling", level="build", about="Moisture and static.", read=_handling),
    Field(key="size", heading="mass and size", level="build", about="Of one.", read=_size),
    Field(key="notes", heading="notes", level="build", about="For the assembler.", read=_notes),
    Field(
        key="planned", heading="planned", level="price", about="Quantities and the days they are needed.",
        read=_planned,
    ),
    Field(key="lifecycle", heading="life-cycle", level="all", about="Whether it is still made.", read=_lifecycle),
    Field(
        key="substances", heading="substances", level="all", about="Statements we hold.", read=_substances
    ),
    Field(key="origin", heading="origin", level="all", about="Countries of origin stated to us.", read=_origins),
    Field(key="safety", heading="safety", level="all", about="Whether a certificate depends on it.", read=_safety),
)  # fmt: skip
