"""Doubts and gaps of a whole file: what is said once for many rows, lists that look alike, and what no line says."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from ferrule.exchange.recognised import Doubt, Line, Supply
from ferrule.model.text import quoted

__all__ = ["missing_of", "once", "twins"]

#: Tables compared with each other: a workbook with more is no list of parts.
_MOST_TABLES = 60
_PRICED = frozenset({"price", "pack_price", "line_total"})


def once(doubts: Sequence[Doubt]) -> tuple[Doubt, ...]:
    """Return doubts with those about a sign of money, the same in every row, said at the first row only."""
    said: set[tuple[str, str]] = set()
    kept: list[Doubt] = []
    for doubt in doubts:
        key = (doubt.what, doubt.about)
        if "was read as" not in doubt.what or doubt.about not in _PRICED or key not in said:
            kept.append(doubt)
        said.add(key)
    return tuple(kept)


def twins(sheets: Sequence[str], lines: Sequence[Line]) -> Iterator[Doubt]:
    """Yield where two tables list nearly the same lines: an older revision, or a summary of the other."""
    keys: list[set[tuple[str, ...]]] = [set() for _ in sheets]
    for line in lines:
        number = line.supplies[0].maker_part if line.supplies else ""
        keys[line.table].add((line.part, line.name, line.value, line.designators.written, number))
    for at, one in enumerate(keys[:_MOST_TABLES]):
        for before, other in enumerate(keys[:at]):
            if len(one) >= 3 and len(one & other) * 5 >= len(one) * 4:
                names = " and ".join(quoted(sheets[index] or f"table {index + 1}") for index in (before, at))
                yield Doubt(what=f"{names} list nearly the same lines; both were counted")


def missing_of(lines: Sequence[Line]) -> tuple[tuple[str, int], ...]:
    """Return how many lines do not say a maker, seller, price, lead time and least order quantity."""
    leaves = [line.supplies for line in lines if not line.assembly]

    def silent(says: Callable[[Supply], bool]) -> int:
        return sum(1 for supplies in leaves if not any(map(says, supplies)))

    counted = {
        "maker": silent(lambda one: bool(one.maker or one.kind)),
        "seller": silent(lambda one: bool(one.seller or one.seller_part)),
        "price": silent(lambda one: one.each() is not None),
        "lead time": silent(lambda one: bool(one.lead_time)),
        "least order quantity": silent(lambda one: one.moq is not None),
    }
    return tuple((name, many) for name, many in counted.items() if many)
