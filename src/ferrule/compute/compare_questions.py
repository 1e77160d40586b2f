"""What a reviewer has to answer because of a change: no figure decides it, and silence would be an answer.

Form, fit and function (common practice): if old and new cannot be mixed freely in every use, the new one
takes a new number; if they can, the number stays and the revision of the documents rises.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from msgspec import Struct

from ferrule.compute.compare_evidence import SafetyTouch
from ferrule.compute.compare_items import ItemChange, SourceChange
from ferrule.compute.compare_lines import LineChange
from ferrule.compute.compare_papers import DocumentChange
from ferrule.compute.compare_reach import Ways, reach
from ferrule.compute.fields import Change
from ferrule.model.product import Product
from ferrule.model.records.part import Item

__all__ = ["Question", "QuestionKind", "Seen", "questions"]

QuestionKind = Literal[
    "form-fit-function", "interchange", "certificate", "battery tests", "safety approval", "market"
]

#: What a thing is, apart from who sells it, what it costs and what is written beside it.
_CONTENT = frozenset(
    {
        "unit",
        "document",
        "safety_critical",
        "mass",
        "size",
        "battery",
        "packing",
        "characteristic",
        "class",
        "value",
    }
    | {
        "package",
        "rating",
        "material",
        "finish",
        "kerf",
        "moisture",
        "programmed",
        "version",
        "toolchain",
        "phantom",
    }
)
_OF_LINE = frozenset({"part", "qty", "per", "fitted", "kitted", "rate", "cut", "alternates"})
_CELL = frozenset({"chemistry", "cell_maker", "cell_model", "watt_hours"})


class Question(Struct, frozen=True, kw_only=True):
    """A question about an item, tool or market, and the facts that raise it.

    ``facts``: fields that changed (form-fit-function, battery tests), items (certificate), places
    (safety approval), the part it replaces (interchange).
    """

    kind: QuestionKind
    subject: str
    facts: tuple[str, ...] = ()


class Seen(Struct, frozen=True, kw_only=True):
    """What was found so far, which the questions follow from."""

    before: Product
    after: Product
    items: Sequence[ItemChange]
    sources: Sequence[SourceChange]
    lines: Sequence[LineChange]
    documents: Sequence[DocumentChange]
    safety: Sequence[SafetyTouch]
    ways: Ways


def questions(seen: Seen) -> tuple[Question, ...]:
    """Return the questions, form-fit-function first, each kind by subject."""
    content = _content(seen)
    return (
        *_form_fit_function(seen, content),
        *_interchange(seen),
        *_certificates(seen, content),
        *_battery_tests(seen),
        *_safety_approvals(seen),
        *_markets(seen),
    )


def _content(seen: Seen) -> dict[str, tuple[str, ...]]:
    """Return what differs in the content of items on both sides: number → fields, lines and files."""
    found: dict[str, set[str]] = {}
    for item in seen.items:
        if item.before is not None and item.after is not None:
            words = {str(change.path[0]) for change in item.fields} & _CONTENT
            found.setdefault(item.number, set()).update(words)
    for line in seen.lines:
        if line.gained or line.lost or line.sign != "changed" or _changes_content(line.fields):
            found.setdefault(line.assembly, set()).add("line")
    for document in seen.documents:
        for kind, number in document.owners:
            if kind in {"part", "assembly"}:
                found.setdefault(number, set()).add("document")
    return {number: tuple(sorted(words)) for number, words in sorted(found.items()) if words}


def _changes_content(fields: Sequence[Change]) -> bool:
    return any(change.path[0] in _OF_LINE for change in fields)


def _form_fit_function(seen: Seen, content: dict[str, tuple[str, ...]]) -> Iterator[Question]:
    """Yield items whose content changed under the same number while their revision did not."""
    for number, facts in content.items():
        old, new = seen.before.item(number), seen.after.item(number)
        if old is not None and new is not None and old.rev == new.rev:
            yield Question(kind="form-fit-function", subject=number, facts=facts)


def _interchange(seen: Seen) -> Iterator[Question]:
    """Yield new items that replace another without a word on whether both can be mixed."""
    for item in seen.items:
        new = item.after
        if new is not None and new.replaces and new.interchange is None and not _replaced(item.before, new):
            yield Question(kind="interchange", subject=item.number, facts=(new.replaces,))


def _replaced(before: Item | None, after: Item) -> bool:
    return before is not None and before.replaces == after.replaces


def _certificates(seen: Seen, content: dict[str, tuple[str, ...]]) -> Iterator[Question]:
    """Yield certifications of what has changed content inside."""
    for name, tool in seen.after.tools.items():
        if tool.kind != "certification":
            continue
        inside = [number for number in content if _above(seen, number) & set(tool.makes)]
        if inside:
            yield Question(kind="certificate", subject=name, facts=tuple(inside))


def _above(seen: Seen, number: str) -> set[str]:
    found = reach(seen.before, seen.after, seen.ways, (number,))
    return {*found.touched, *found.assemblies, *found.skus}


def _battery_tests(seen: Seen) -> Iterator[Question]:
    """Yield batteries whose cell changed while the test summary is the old one."""
    for item in seen.items:
        old = item.before.battery if item.before is not None else None
        new = item.after.battery if item.after is not None else None
        if old is None or new is None or old.test_summary != new.test_summary:
            continue
        facts = [
            str(change.path[1])
            for change in item.fields
            if change.path[0] == "battery" and len(change.path) > 1
        ]
        if set(facts) & _CELL:
            yield Question(
                kind="battery tests", subject=item.number, facts=tuple(f for f in facts if f in _CELL)
            )


def _safety_approvals(seen: Seen) -> Iterator[Question]:
    """Yield safety-critical items that are touched while nobody approved anew."""
    for touch in seen.safety:
        new = seen.after.item(touch.number)
        old = seen.before.item(touch.number)
        if new is not None and new.safety_critical and _approvals(old) == _approvals(new):
            yield Question(kind="safety approval", subject=touch.number, facts=touch.where)


def _approvals(item: Item | None) -> frozenset[object]:
    if item is None:
        return frozenset()
    return frozenset((*item.approval, *(one for source in item.source for one in source.approval)))


def _markets(seen: Seen) -> Iterator[Question]:
    for market in sorted({*seen.after.head.markets} - {*seen.before.head.markets}):
        yield Question(kind="market", subject=market)
