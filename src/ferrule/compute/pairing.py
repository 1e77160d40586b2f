"""Which record of one list is which of another: by what identifies it, never by place or likeness.

A pair is made only where nothing else could be meant: one on each side with the same key, or the same
content. So an entry that comes or goes never changes what is said of the others, and reading the lists the
other way round gives the same pairs.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import Generic, TypeVar

from msgspec import Struct

__all__ = ["Paired", "pair_up"]

T = TypeVar("T")


class Paired(Struct, Generic[T], frozen=True):
    """Pairs in the order of the list after, and what is left over on each side, in its own order."""

    pairs: tuple[tuple[T, T], ...]
    gone: tuple[T, ...]
    new: tuple[T, ...]


def pair_up(
    before: Sequence[T],
    after: Sequence[T],
    *keys: Callable[[T], Hashable],
    content: Callable[[T], Hashable],
) -> Paired[T]:
    """Return the pairs of two lists by one key after the other, what has no pair yet going on to the next.

    Entries that share a key are told apart by their ``content``; those left are paired if they are one and one.
    A key of None pairs nothing.
    """
    taken: dict[int, int] = {}  # index after → index before
    old, new = list(range(len(before))), list(range(len(after)))
    for key in keys:
        for olds, news in _groups(before, after, old, new, key):
            taken.update(_unmistakable(before, after, olds, news, content))
        used = set(taken.values())
        old = [index for index in old if index not in used]
        new = [index for index in new if index not in taken]
        if not old or not new:
            break
    return Paired(
        pairs=tuple((before[taken[index]], after[index]) for index in sorted(taken)),
        gone=tuple(before[index] for index in old),
        new=tuple(after[index] for index in new),
    )


def _groups(
    before: Sequence[T],
    after: Sequence[T],
    old: Iterable[int],
    new: Iterable[int],
    key: Callable[[T], Hashable],
) -> list[tuple[list[int], list[int]]]:
    """Return the indexes on both sides that share a key, for keys on both sides."""
    olds: dict[Hashable, list[int]] = {}
    for index in old:
        olds.setdefault(key(before[index]), []).append(index)
    news: dict[Hashable, list[int]] = {}
    for index in new:
        news.setdefault(key(after[index]), []).append(index)
    return [(olds[name], found) for name, found in news.items() if name is not None and name in olds]


def _unmistakable(
    before: Sequence[T],
    after: Sequence[T],
    olds: list[int],
    news: list[int],
    content: Callable[[T], Hashable],
) -> dict[int, int]:
    if len(olds) == len(news) == 1:
        return {news[0]: olds[0]}
    found: dict[int, int] = {}
    waiting: dict[Hashable, list[int]] = {}
    for index in reversed(olds):
        waiting.setdefault(content(before[index]), []).append(index)
    for index in news:
        equal = waiting.get(content(after[index]))
        if equal:
            found[index] = equal.pop()
    old = [index for index in olds if index not in set(found.values())]
    new = [index for index in news if index not in found]
    return found | {new[0]: old[0]} if len(old) == len(new) == 1 else found
