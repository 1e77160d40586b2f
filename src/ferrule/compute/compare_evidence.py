"""Compliance and safety: evidence lost or touched, safety-critical items touched, origins that change a duty."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

from msgspec import Struct

from ferrule.compute.compare_items import ItemChange, SourceChange
from ferrule.compute.compare_lines import LineChange
from ferrule.compute.compare_papers import DocumentChange
from ferrule.compute.fields import Change
from ferrule.compute.landing import duty_for
from ferrule.model.percent import Percent
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly
from ferrule.model.records.part import Item

__all__ = [
    "DutyChange",
    "EvidenceChange",
    "SafetyTouch",
    "compare_duty_by_origin",
    "compare_evidence",
    "compare_safety",
]

#: Fields of an item that prove something, or are dated statements of an adviser.
_OF_ITEM = frozenset({"document", "substances", "battery", "approval", "customs_code", "export", "quality"})
_OF_SOURCE = frozenset({"approval", "origin_evidence"})


class EvidenceChange(Struct, frozen=True, kw_only=True):
    """One fact of evidence that differs, of an item or, where ``source`` is not empty, of its (maker, seller)."""

    number: str
    change: Change
    source: tuple[str, ...] = ()

    @property
    def state(self) -> Literal["lost", "new", "touched"]:
        """Return whether evidence is gone, came, or says something else."""
        if self.change.after is None:
            return "lost"
        return "new" if self.change.before is None else "touched"


class SafetyTouch(Struct, frozen=True, kw_only=True):
    """A safety-critical item that a change touches, and where: its record, a source, a line, a document."""

    number: str
    #: Whether it was, and whether it is, safety-critical; None where there was, or is, no such item.
    before: bool | None
    after: bool | None
    reason: str | None
    where: tuple[str, ...]


class DutyChange(Struct, frozen=True, kw_only=True):
    """Another origin that changes the rate at a border: origins and rates, sorted, before and after.

    Rates are those of the duty records for each origin, None among them where no record says one.
    """

    number: str
    destination: str
    codes: tuple[str | None, str | None]
    origins: tuple[tuple[str, ...], tuple[str, ...]]
    rates: tuple[tuple[Percent | None, ...], tuple[Percent | None, ...]]


def compare_evidence(
    items: Iterable[ItemChange], sources: Iterable[SourceChange]
) -> tuple[EvidenceChange, ...]:
    """Return what differs in the evidence of items that are on both sides, by number."""
    found = [
        EvidenceChange(number=item.number, change=change)
        for item in items
        for change in item.fields
        if _proves(change)
    ]
    for source in sources:
        firms = (source.record.maker or "", source.record.seller or "")
        found += [
            EvidenceChange(number=source.number, change=change, source=firms)
            for change in source.fields
            if change.path[0] in _OF_SOURCE
        ]
    return tuple(sorted(found, key=lambda row: row.number))


def _proves(change: Change) -> bool:
    return change.path[0] in _OF_ITEM or (change.path[0] == "steps" and "program" in change.path)


def compare_safety(
    products: tuple[Product, Product],
    items: Sequence[ItemChange],
    sources: Sequence[SourceChange],
    lines: Sequence[LineChange],
    documents: Sequence[DocumentChange],
) -> tuple[SafetyTouch, ...]:
    """Return the items that are or were safety-critical and are touched, by number."""
    touched: dict[str, set[str]] = {}
    for number, where in _touched(items, sources, lines, documents):
        touched.setdefault(number, set()).add(where)
    was = {item.number: item.was for item in items if item.was}
    rows = (_touch(products, number, was.get(number, number), touched[number]) for number in sorted(touched))
    return tuple(row for row in rows if row is not None)


def _touched(
    items: Sequence[ItemChange],
    sources: Sequence[SourceChange],
    lines: Sequence[LineChange],
    documents: Sequence[DocumentChange],
) -> Iterator[tuple[str, str]]:
    yield from ((item.number, "record") for item in items)
    yield from ((source.number, "source") for source in sources)
    for line in lines:
        for side in (line.before, line.after):
            if side is not None:
                yield side.part, f"line {line.assembly}/{side.item}"
    for document in documents:
        yield from ((number, f"content of {document.file}") for _, number in document.owners)


def _touch(products: tuple[Product, Product], number: str, was: str, where: set[str]) -> SafetyTouch | None:
    old, new = products[0].item(was), products[1].item(number)
    if not any(item is not None and item.safety_critical for item in (old, new)):
        return None
    return SafetyTouch(
        number=number,
        before=old.safety_critical if old is not None else None,
        after=new.safety_critical if new is not None else None,
        reason=next(
            (item.safety_reason for item in (new, old) if item is not None and item.safety_reason), None
        ),
        where=tuple(sorted(where)),
    )


def compare_duty_by_origin(
    before: Product, after: Product, items: Iterable[ItemChange], sources: Iterable[SourceChange]
) -> tuple[DutyChange, ...]:
    """Return where another origin of goods changes their duty at a border, by number and destination.

    Origins are those an assembly states and those of sources that may be bought; what is not stated is no
    origin. A record for the origin wins over one for any, as `duty_for` says.
    """
    was = {
        item.number: item.was or item.number
        for item in items
        if item.before is not None and item.after is not None
    }
    was |= {source.number: was.get(source.number, source.number) for source in sources}
    rows: list[DutyChange] = []
    for number in sorted(was):
        old, new = before.item(was[number]), after.item(number)
        if old is not None and new is not None:
            rows += _duties(before, after, number, old, new)
    return tuple(rows)


def _duties(before: Product, after: Product, number: str, old: Item, new: Item) -> Iterator[DutyChange]:
    origins = _origins(old), _origins(new)
    if origins[0] == origins[1] or not all(origins):
        return
    codes = tuple({code.destination: code.code for code in item.customs_code} for item in (old, new))
    for destination in sorted({*codes[0], *codes[1]}):
        pair = codes[0].get(destination), codes[1].get(destination)
        rates = (
            _rates(before, destination, pair[0], origins[0]),
            _rates(after, destination, pair[1], origins[1]),
        )
        if set(rates[0]) != set(rates[1]):
            yield DutyChange(number=number, destination=destination, codes=pair, origins=origins, rates=rates)


def _origins(item: Item) -> tuple[str, ...]:
    stated = {source.origin for source in item.source if source.status != "denied"}
    stated |= {item.origin} if isinstance(item, Assembly) else set()
    return tuple(sorted(origin for origin in stated if origin))


def _rates(
    product: Product, destination: str, code: str | None, origins: Iterable[str]
) -> tuple[Percent | None, ...]:
    """Return the rate for each origin, in their order."""
    if code is None:
        return (None,)
    records = (duty_for(product, destination, code, origin) for origin in origins)
    return tuple(None if record is None else record.rate for record in records)
