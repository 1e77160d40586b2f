"""Which kinds of change a comparison holds, as roles approve them: safety, money, supplier, document, waiver."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Literal, get_args

from msgspec import Struct

from ferrule.compute.compare_evidence import EvidenceChange, SafetyTouch
from ferrule.compute.compare_items import ItemChange, SourceChange
from ferrule.compute.compare_lines import LineChange
from ferrule.compute.compare_papers import DocumentChange
from ferrule.compute.compare_records import RecordChange
from ferrule.compute.compare_waivers import WaiverChange
from ferrule.compute.fields import Change
from ferrule.model.product import Product

__all__ = ["KINDS", "ChangeKind", "Content", "Need", "kinds_of", "needs"]

ChangeKind = Literal["safety", "money", "supplier", "document", "waiver"]
KINDS: tuple[ChangeKind, ...] = get_args(ChangeKind)

#: Fields of a source that say what is paid and when; all others say who supplies what.
_PAID = frozenset(
    {
        "price",
        "offer",
        "charge",
        "currency",
        "incoterm",
        "moq",
        "multiple",
        "pack",
        "full_packs_only",
        "payment",
    }
    | {
        "quote",
        "quoted",
        "valid_until",
        "evidence",
        "basis",
        "held_by",
        "price_at_delivery",
        "expedite",
        "ncnr",
    }
    | {"cancellation", "reschedule"}
)
#: Fields of an item, and inside its steps, that are money; those that are supply; the rest is what it is.
_MONEY = frozenset(
    {"customs_value", "qualify_cost", "price", "markup", "sale", "currency", "cost", "tier"}
) | {"hour_rate", "retest_cost"}
_SUPPLY = frozenset(
    {"supply", "factory", "lifecycle", "in_house", "lead_time", "origin", "consigned", "loss_chance"}
)
_OF_RECORD: dict[str, ChangeKind] = {
    "firm": "supplier",
    "channel": "money",
    "lane": "money",
    "duty": "money",
    "rate": "money",
    "tool": "money",
    "plan": "money",
    "order": "money",
    "calendar": "supplier",
    "product": "document",
    "policy": "document",
    "conventions": "document",
    "role": "document",
    "rule": "document",
}  # counts of what is there need nobody's approval


class Content(Struct, frozen=True, kw_only=True):
    """The parts of a comparison that call for approval."""

    items: Sequence[ItemChange]
    sources: Sequence[SourceChange]
    lines: Sequence[LineChange]
    records: Sequence[RecordChange]
    documents: Sequence[DocumentChange]
    evidence: Sequence[EvidenceChange]
    safety: Sequence[SafetyTouch]
    waivers: Sequence[WaiverChange]


class Need(Struct, frozen=True, kw_only=True):
    """A kind of change that is present, what it is about, and the roles that approve it; none may exist."""

    kind: ChangeKind
    subjects: tuple[str, ...]
    roles: tuple[str, ...]


def kinds_of(content: Content) -> dict[ChangeKind, tuple[str, ...]]:
    """Return the kinds present, each with what it is about, in the order of KINDS."""
    found: dict[ChangeKind, set[str]] = {}
    for kind, subject in _kinds(content):
        found.setdefault(kind, set()).add(subject)
    return {kind: tuple(sorted(found[kind])) for kind in KINDS if kind in found}


def needs(product: Product, kinds: Mapping[ChangeKind, Iterable[str]]) -> tuple[Need, ...]:
    """Return for each kind the roles of a product that approve it; nobody approves their own rules away here."""
    return tuple(
        Need(
            kind=kind,
            subjects=tuple(subjects),
            roles=tuple(sorted(name for name, role in product.roles.items() if kind in role.approves)),
        )
        for kind, subjects in kinds.items()
    )


def _kinds(content: Content) -> Iterator[tuple[ChangeKind, str]]:
    yield from (("safety", touch.number) for touch in content.safety)
    yield from (("safety", row.number) for row in content.evidence if row.change.path[0] == "battery")
    for item in content.items:
        yield from ((kind, item.number) for kind in _of_item(item))
    for source in content.sources:
        yield from ((kind, source.number) for kind in _of_source(source))
    for line in content.lines:
        yield "document", line.assembly
        if any(change.path == ("supply",) for change in line.fields):
            yield "supplier", line.assembly
    for record in content.records:
        if record.kind in _OF_RECORD:
            yield _OF_RECORD[record.kind], " ".join((record.kind, *record.name))
    yield from (("document", document.file) for document in content.documents)
    yield from (("waiver", f"{waiver.record.rule} {waiver.record.subject}") for waiver in content.waivers)


def _of_item(item: ItemChange) -> set[ChangeKind]:
    if item.before is None or item.after is None or item.was:
        found: set[ChangeKind] = {"document"}
        return found | ({"supplier", "money"} if item.record.source and not item.was else set())
    return {_of_field(change) for change in item.fields}


def _of_field(change: Change) -> ChangeKind:
    named = {step for step in change.path if isinstance(step, str)}
    if named & _MONEY:
        return "money"
    return "supplier" if change.path[0] in _SUPPLY else "document"


def _of_source(source: SourceChange) -> set[ChangeKind]:
    if source.sign != "changed":
        return {"supplier", "money"}
    return {"money" if change.path[0] in _PAID else "supplier" for change in source.fields}
