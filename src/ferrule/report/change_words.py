"""Facts of records in words: where a fact stands, what it says, and what a record says as a whole."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

import msgspec

from ferrule.compute.fields import Change, Path, written
from ferrule.model.designators import Designators, compact
from ferrule.model.number import plain
from ferrule.model.records.about import Record
from ferrule.model.records.assembly import Line
from ferrule.model.records.part import Item, PriceBreak, Source

__all__ = [
    "change_sides",
    "item_words",
    "ladder",
    "line_words",
    "path_words",
    "record_words",
    "source_name",
    "source_words",
    "value_words",
    "whole_words",
]

_HASH = re.compile("[0-9a-f]{64}")
_SHOWN = 12
#: Names in files that are not yet words.
_WORDS = {
    "qty": "quantity",
    "moq": "minimum order",
    "ncnr": "non-cancellable",
    "rev": "revision",
    "sha256": "content hash",
    "alternates": "alternate",
    "steps": "step",
    "maker_part": "maker's number",
    "seller_part": "seller's number",
    "un_number": "UN number",
}
#: Tables whose entries are told by more than their key.
_FROM = frozenset({"price", "tier"})


def path_words(path: Path) -> str:
    """Return where a fact stands: ``document docs/x.txt, content hash``."""
    words: list[str] = []
    table = ""
    for step in path:
        if isinstance(step, str):
            words.append(_WORDS.get(step, step.replace("_", " ")))
            table = step
        else:
            name = " + ".join(step)
            words[-1:] = [f"{words[-1]} from {name}" if table in _FROM else f"{words[-1]} {name}".rstrip()]
    return ", ".join(words)


def value_words(value: Any) -> str | None:
    """Return a value as people read it; None where it is not stated."""
    if isinstance(value, Record):
        return record_words(value)
    if isinstance(value, Mapping):
        return "; ".join(f"{key} {value_words(one)}" for key, one in sorted(value.items())) or "none"
    if isinstance(value, tuple | list):
        return ", ".join(_entry(one) for one in value) or "none"
    return None if value is None else _figure(value)


def _figure(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, str) and _HASH.fullmatch(value):
        return f"{value[:_SHOWN]}\u2026"  # enough to tell two apart; the documents have them in full
    return compact(value.names) if isinstance(value, Designators) else str(value)


def _entry(value: Any) -> str:
    if isinstance(value, tuple):
        return " + ".join(value)
    return value_words(value) or "?"


def record_words(record: Record, skip: Iterable[str] = ()) -> str:
    """Return what a record states, field by field, defaults left out."""
    return "; ".join(_stated(record, frozenset(skip))) or "nothing stated"


def _stated(record: Record, skip: frozenset[str]) -> Iterator[str]:
    for field in msgspec.structs.fields(type(record)):
        value = getattr(record, field.name)
        if field.name in skip or value is None or value in ((), {}, False) or value == field.default:
            continue
        words = ladder(value) if field.name == "price" and isinstance(value, tuple) else value_words(value)
        yield f"{path_words((written(type(record))[field.name],))} {words}"


def ladder(breaks: Iterable[PriceBreak], currency: str = "") -> str:
    """Return price breaks as one reads them aloud: ``2500 at 0.58, 5000 at 0.55 USD``."""
    steps = sorted(breaks, key=lambda step: step.from_)
    return f"{', '.join(f'{plain(step.from_)} at {_each(step)}' for step in steps) or 'none'} {currency}".rstrip()


def _each(step: PriceBreak) -> str:
    if step.each is not None:
        return str(step.each)
    return f"{step.pack} a pack" if step.pack is not None else "?"


def source_name(source: Source) -> str:
    """Return a source by its firms and the maker's number: ``dunlin DN2042S8 from norholt``."""
    maker = " ".join(word for word in (source.maker, source.maker_part) if word) or "maker not stated"
    return f"{maker} from {source.seller or 'seller not stated'}"


def source_words(source: Source) -> str:
    """Return what a buyer asks first about a source: status, prices, least quantity, lead time, quote."""
    words = [source.status, ladder(source.price, source.currency or "")]
    words += [f"minimum order {plain(source.moq)}"] if source.moq is not None else []
    words += [f"lead time {source.lead_time}"] if source.lead_time is not None else []
    words += [f"quote {source.quote}"] if source.quote is not None else []
    return "; ".join(words)


def item_words(item: Item) -> str:
    """Return the name of a part or assembly and what it states, sources left out; how many of what comes in lists."""
    return f"{item.name or 'no name'}; {whole_words(item, skip=('id', 'name', 'note', 'source'))}"


def whole_words(record: Record, skip: Iterable[str] = ()) -> str:
    """Return what a record states that came or went as a whole; how many of what comes in lists."""
    left = frozenset(skip)
    lists = [
        name
        for name in record.__struct_fields__
        if isinstance(getattr(record, name), tuple | dict) and getattr(record, name) and name not in left
    ]
    words = (
        [] if len(lists) == len(record.__struct_fields__) else [record_words(record, skip=(*left, *lists))]
    )
    return "; ".join([*words, *(f"{path_words((name,))} ({len(getattr(record, name))})" for name in lists)])


def line_words(line: Line) -> str:
    """Return what a line says beside its item and part."""
    return record_words(line, skip=("item", "part"))


def change_sides(change: Change) -> tuple[str | None, str | None]:
    """Return both values of a change in words; of an entry that came or went, nothing on the other side."""
    before, after = value_words(change.before), value_words(change.after)
    if change.sort != "entry":
        return before, after
    return ("", after) if change.before is None else (before, "")
