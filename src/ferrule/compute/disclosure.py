"""A slice of a product for one recipient: which lines, which fields, under which line ids, and what forbids it."""

from __future__ import annotations

import datetime as dt
import hashlib
import hmac
import math
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.demand import is_goods
from ferrule.compute.disclosed_fields import LEVELS, Field, Piece, Spot, fields_at, open_sources
from ferrule.compute.explode import explode
from ferrule.compute.structure import Edge, Structure
from ferrule.model.exact import Exact, as_decimal
from ferrule.model.product import Product
from ferrule.model.records.disclosures import Level
from ferrule.model.records.firms import Firm

__all__ = [
    "Refused",
    "SecretPlace",
    "Slice",
    "SliceLine",
    "default_parts",
    "is_supplied_by_us",
    "line_id",
    "refusal",
    "secret_places",
    "slice_of",
    "watermark_of",
]

#: Letters and figures that nobody takes for one another.
_SIGNS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
_ID_SIGNS = 12
_Planned = Mapping[str, tuple[tuple[Decimal, dt.date | None], ...]]


class SliceLine(Struct, frozen=True, kw_only=True):
    """One line of a slice. ``amounts`` are the quantities asked in the part's unit, None where not known.

    ``work`` says that the price of making an assembly is asked, its parts left aside. ``makers`` holds the
    makers' numbers that the line shows.
    """

    id: str
    part: str
    unit: str
    opaque: bool
    work: bool
    amounts: tuple[Decimal | None, ...]
    pieces: Mapping[str, tuple[Piece, ...]]
    makers: tuple[str, ...] = ()

    def text(self, key: str) -> str:
        """Return the cell of a field, empty where nothing is shown."""
        return "; ".join(piece.text for piece in self.pieces.get(key, ()))


class Slice(Struct, frozen=True, kw_only=True):
    """What one recipient would see: fields in the order of the sheet, and lines."""

    recipient: str
    level: Level
    root: str | None
    quantities: tuple[int, ...]
    fields: tuple[Field, ...]
    lines: tuple[SliceLine, ...]


class Refused(Struct, frozen=True):
    """Why nothing may be disclosed, and what to do."""

    message: str
    hint: str


class SecretPlace(Struct, frozen=True):
    """A secret word in a slice, where it stands, and the first line that shows it."""

    word: str
    piece: Piece
    line: str


def refusal(firm: str, record: Firm, today: dt.date) -> Refused | None:
    """Return why a firm may see nothing on a day, None where it may. An agreement must be signed and in force.

    An outline needs no agreement; from level `build` on one is needed, as is common practice.
    """
    stated = record.disclosure
    if stated is None or stated.level == "nothing":
        return Refused(
            f"{firm} may see nothing", f'add disclosure = {{ level = "outline" }} to [firm.{firm}] if it may'
        )
    if LEVELS.index(stated.level) < LEVELS.index("build"):
        return None
    paper = stated.agreement
    if paper is None or paper.signed is None:
        return Refused(
            f"{firm} has level {stated.level}, and no signed confidentiality agreement is on record",
            f'have one signed and state it in disclosure of [firm.{firm}], or lower the level to "outline"',
        )
    if paper.signed > today:
        return Refused(
            f"the agreement with {firm} is signed on {paper.signed}, after {today}",
            "correct the day, or wait",
        )
    if paper.valid_until is not None and paper.valid_until < today:
        return Refused(
            f"the agreement with {firm} ended on {paper.valid_until}",
            'have it renewed and state the new one, or lower the level to "outline"',
        )
    return None


def is_supplied_by_us(product: Product, number: str, edges: Iterable[Edge]) -> bool:
    """Return whether we supply a part: stated so on it or on one of its lines, secured, or made by ourselves."""
    item = product.item(number)
    if item is not None and (item.consigned is not None or item.secured is not None or item.in_house):
        return True
    own = item.supply if item is not None else None
    words = [product.lines[edge.parent][edge.index].supply or own for edge in edges] or [own]
    return any(word in {"consigned", "free-issue"} for word in words)


def default_parts(product: Product, firm: str) -> tuple[str, ...]:
    """Return the parts that a firm sells or makes for us, by number; denied sources do not count."""
    return tuple(
        sorted(
            number
            for _, number, item in product.items()
            if is_goods(item)
            and any(firm in {each.seller, each.maker} for each in item.source if each.status != "denied")
        )
    )


def line_id(key: str, product: str, recipient: str, part: str) -> str:
    """Return the id of a part for a recipient: always the same, and nobody without the key can tell the part.

    HMAC with SHA-256 (RFC 2104), sixty bits of it. A plain hash would not do: part numbers can be guessed and tried.
    """
    return "L" + _signs(key, f"line\0{product}\0{recipient}\0{part}")


def watermark_of(key: str, recipient: str, day: dt.date, content: str) -> str:
    """Return the mark of one request: it tells to whom a sheet went that turns up elsewhere."""
    return "Q" + _signs(key, f"sheet\0{recipient}\0{day.isoformat()}\0{content}")


def _signs(key: str, text: str) -> str:
    number = int.from_bytes(hmac.new(key.encode(), text.encode(), hashlib.sha256).digest())
    return "".join(_SIGNS[number >> 5 * at & 31] for at in range(_ID_SIGNS))


def slice_of(  # noqa: PLR0913  one argument for each thing that decides what is shown
    product: Product,
    structure: Structure,
    recipient: str,
    *,
    level: Level,
    key: str,
    root: str | None = None,
    parts: Sequence[str] | None = None,
    quantities: Sequence[int] = (),
    planned: _Planned | None = None,
) -> Slice:
    """Return what a recipient would see below ``root``, or of ``parts``. Raises ValueError on a ring.

    With a root the quantities asked are of it, else of each part. What we supply is opaque, and nothing below it
    is shown; what is bought whole is one line. Firmware and documents are no goods and no lines.
    """
    spots = list(_spots(product, structure, recipient, root, parts))
    fields = fields_at(level)
    lines = [
        _line(replace(spot, planned=(planned or {}).get(spot.number, ())), fields, key, quantities, root)
        for spot in spots
    ]
    if LEVELS.index(level) < LEVELS.index("build"):
        lines.sort(key=lambda line: line.id)  # the order of an assembly's lines would show its structure
    return Slice(
        recipient=recipient,
        level=level,
        root=root,
        quantities=tuple(quantities),
        fields=fields,
        lines=tuple(lines),
    )


def _spots(
    product: Product, structure: Structure, recipient: str, root: str | None, parts: Sequence[str] | None
) -> Iterator[Spot]:
    if root is None:
        for number in parts or ():
            item = product.item(number)
            if item is not None:
                opaque = is_supplied_by_us(product, number, ()) and not _sells(product, recipient, number)
                yield _spot(product, recipient, number, opaque=opaque)
        return
    shown, supplied = _shown_below(product, structure, root)
    totals = explode(product, shown, root)
    wanted = None if parts is None else set(parts)
    users: dict[str, list[Edge]] = {}
    for edges in shown.edges.values():
        for edge in edges:
            users.setdefault(edge.child, []).append(edge)
    in_root = [number for number in shown.order or () if number == root or number in totals.quantities]
    for number in in_root:
        item = product.item(number)
        if item is None or not is_goods(item) or (wanted is not None and number not in wanted):
            continue
        in_one = Decimal(1) if number == root else totals.quantities[number]
        spot = _spot(product, recipient, number, opaque=number in supplied)
        yield replace(
            spot,
            edges=tuple(users.get(number, ())) if number != root else (),
            in_one=None if number in totals.at_least else in_one,
        )


def _sells(product: Product, recipient: str, number: str) -> bool:
    """Return whether the recipient itself sells or makes a part: it then is asked for it, whoever supplies it."""
    item = product.item(number)
    return item is not None and any(recipient in {each.seller, each.maker} for each in item.source)


def _spot(product: Product, recipient: str, number: str, *, opaque: bool) -> Spot:
    item = product.item(number)
    assert item is not None  # noqa: S101  the caller looked
    kind = "part" if number in product.parts else "assembly"
    return Spot(product=product, recipient=recipient, number=number, kind=kind, item=item, opaque=opaque)


def _shown_below(product: Product, structure: Structure, root: str) -> tuple[Structure, set[str]]:
    """Return the structure below a root without what stands below parts that we supply or buy whole; and those."""
    if structure.order is None:
        raise ValueError("the structure has a ring")
    users: dict[str, list[Edge]] = {}
    edges: dict[str, tuple[Edge, ...]] = {}
    opaque: set[str] = set()
    for node in structure.order:
        if node != root and node not in users:
            continue
        if node != root and is_supplied_by_us(product, node, users[node]):
            opaque.add(node)
            continue
        edges[node] = structure.edges.get(node, ())
        for edge in edges[node]:
            users.setdefault(edge.child, []).append(edge)
    return Structure(edges, structure.nodes, structure.order, structure.left_out), opaque


def _line(
    spot: Spot, fields: Iterable[Field], key: str, quantities: Sequence[int], root: str | None
) -> SliceLine:
    pieces = {field.key: tuple(field.read(spot)) for field in fields if field.opaque or not spot.opaque}
    shown = {field for field in ("own_maker", "makers") if pieces.get(field)}
    whole = spot.part is None and bool(spot.product.lines.get(spot.number))
    return SliceLine(
        id=line_id(key, spot.product.head.id, spot.recipient, spot.number),
        part=spot.number,
        unit=spot.item.unit,
        opaque=spot.opaque,
        work=whole and not spot.opaque,
        amounts=tuple(_amount(spot, qty, root) for qty in quantities),
        pieces=pieces,
        makers=_numbers(spot, own_only="makers" not in shown) if shown else (),
    )


def _numbers(spot: Spot, *, own_only: bool) -> tuple[str, ...]:
    """Return the makers' numbers that a line shows."""
    return tuple(
        dict.fromkeys(
            source.maker_part
            for _, source in open_sources(spot)
            if source.maker_part and (not own_only or spot.recipient in {source.seller, source.maker})
        )
    )


def _amount(spot: Spot, qty: int, root: str | None) -> Decimal | None:
    """Return how much of a part is asked for a quantity: whole pieces, none where it is not known."""
    if root is None:
        return Decimal(qty)
    if spot.in_one is None:
        return None
    much = Fraction(spot.in_one) * qty
    return _whole(much) if spot.item.unit == "each" else as_decimal(much) or _whole(much)


def _whole(much: Exact) -> Decimal:
    return Decimal(math.ceil(much))


def secret_places(
    product: Product, firm: str, found: Slice, others: Iterable[Piece] = ()
) -> tuple[SecretPlace, ...]:
    """Return every secret word that a slice shows to a firm not cleared for it, and where; case does not matter.

    ``others`` are further texts that go with it, such as names of files.
    """
    record = product.firms.get(firm)
    stated = record.disclosure if record is not None else None
    cleared = {_folded(word) for word in stated.cleared_words} if stated is not None else set()
    words = [word for word in product.policy.secret_words if _folded(word) and _folded(word) not in cleared]
    if not words:
        return ()
    seen: dict[tuple[str, Piece], SecretPlace] = {}
    shown = [
        (line.part, piece) for line in found.lines for pieces in line.pieces.values() for piece in pieces
    ]
    for line, piece in [*shown, *(("", piece) for piece in others)]:
        text = _folded(piece.text)
        for word in words:
            if _folded(word) in text:
                seen.setdefault((word, piece), SecretPlace(word, piece, line))
    return tuple(seen.values())


def _folded(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())
