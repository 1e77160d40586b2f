"""Which other records differ: firms, terms of trade, tools, plans, calendars, counts, and what a product states once."""

from __future__ import annotations

import functools
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from typing import Any

from ferrule.compute.fields import Differing, Entry, changes, entry_key, entry_keys, entry_name, pair_of
from ferrule.compute.meaning import Within, meaning
from ferrule.compute.pairing import Paired, pair_up
from ferrule.model.product import Product
from ferrule.model.records.about import Record
from ferrule.model.records.firms import Rate

__all__ = ["LISTS", "TABLES", "RecordChange", "compare_records", "pair_list"]

#: Kind of record → field of the product, for records with an id.
TABLES: dict[str, str] = {
    "firm": "firms",
    "channel": "channels",
    "lane": "lanes",
    "tool": "tools",
    "plan": "plans",
    "calendar": "calendars",
    "role": "roles",
    "rule": "severities",
    "sent": "disclosures",
}
#: Kind of record → field of the product, for records that go by their natural key. Waivers are compared apart.
LISTS: dict[str, str] = {
    "duty": "duties",
    "rate": "rates",
    "stock": "stock",
    "order": "orders",
    "movement": "movements",
    "made": "made",
}
#: What a product states once.
_ONCE: dict[str, str] = {"product": "head", "policy": "policy", "conventions": "conventions"}


class RecordChange(Differing[Record], frozen=True, kw_only=True):
    """A record that came, went or changed."""

    kind: str
    #: What identifies it; empty for what a product states once.
    name: Entry


def compare_records(before: Product, after: Product) -> tuple[tuple[RecordChange, ...], int]:
    """Return what differs in the other records, sorted by kind as above, and how many only say it otherwise."""
    around = Within(currency=before.head.currency), Within(currency=after.head.currency)
    found: list[RecordChange] = []
    rewritten = 0
    for kind, name, old, new in _all(before, after):
        if old is new:
            continue
        both = old is not None and new is not None
        fields = tuple(changes(old, new, around)) if both else ()
        if fields or not both:
            found.append(RecordChange(kind=kind, name=name, before=old, after=new, fields=fields))
        elif old != new:
            rewritten += 1
    return tuple(found), rewritten


def _all(before: Product, after: Product) -> Iterator[tuple[str, Entry, Any, Any]]:
    for kind, field in _ONCE.items():
        yield kind, (), getattr(before, field), getattr(after, field)
    for kind, field in TABLES.items():
        olds: Mapping[str, Record] = getattr(before, field)
        news: Mapping[str, Record] = getattr(after, field)
        for name in sorted({*olds, *news}):
            yield kind, (name,), olds.get(name), news.get(name)
    for kind, field in LISTS.items():
        rows = _in_list(kind, getattr(before, field), getattr(after, field))
        yield from sorted(rows, key=lambda row: (row[1], row[2] is None, row[3] is None))


def _in_list(
    kind: str, olds: Sequence[Record], news: Sequence[Record]
) -> Iterator[tuple[str, Entry, Record | None, Record | None]]:
    found = pair_list(kind, olds, news)
    yield from ((kind, _name(kind, one), one, None) for one in found.gone)
    for one, other in found.pairs:
        yield kind, min(_name(kind, one), _name(kind, other)), one, other
    yield from ((kind, _name(kind, one), None, one) for one in found.new)


def _name(kind: str, record: Record) -> Entry:
    return (
        (f"{record.rate.base}/{record.rate.quote}",) if isinstance(record, Rate) else entry_name(kind, record)
    )


def pair_list(kind: str, olds: Sequence[Any], news: Sequence[Any]) -> Paired[Any]:
    """Return which record of a list without ids is which; a rate that moved is still that of its currencies."""
    keys: list[Callable[[Any], Hashable]] = [functools.partial(entry_key, keys) for keys in entry_keys(kind)]
    return pair_up(olds, news, *keys, *([pair_of] if kind == "rate" else []), content=meaning)
