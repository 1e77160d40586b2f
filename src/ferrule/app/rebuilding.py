"""`rebuild`: what is missing to build one unit of a frozen build today."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from decimal import Decimal

from msgspec import Struct

from ferrule.app.loading import load_snapshot
from ferrule.app.verifying import open_git, tagged_build
from ferrule.compute.lock_form import Lock
from ferrule.compute.rebuild import Rebuild, rebuild
from ferrule.errors import FerruleError
from ferrule.load.lock import read_lock
from ferrule.model.text import nearest
from ferrule.source.products import Opened

__all__ = ["Rebuilt", "rebuilt"]


class Rebuilt(Struct, frozen=True, kw_only=True):
    """The frozen build, what is missing for each SKU asked about, and how much of today's files is faulty."""

    lock: Lock
    answers: tuple[Rebuild, ...]
    label: str
    faults: int


def rebuilt(opened: Opened, name: str, sku: str | None, qty: Decimal, today: dt.date) -> Rebuilt:
    """Return what is missing to build some of a frozen build; raises FerruleError where there is no such build."""
    git = open_git(opened)
    tagged = tagged_build(git, opened, name)
    if tagged.lock is None:
        raise FerruleError(f"the tag {tagged.tag} holds no lock", f"`ferrule verify {name}` says more")
    lock = read_lock(f"{tagged.tag}.lock", tagged.lock)
    skus = sorted({each.sku for part in lock.part.values() for each in part.each})
    if sku is not None and sku not in skus:
        best = nearest(sku, skus)
        hint = f"did you mean {best}?" if best else f"frozen are: {', '.join(skus)}"
        raise FerruleError(f"{name} holds no list of {sku}", hint)
    snapshot = opened.read()
    loaded = load_snapshot(snapshot)
    kept = _keeper(opened, lock)
    asked = [sku] if sku is not None else skus
    return Rebuilt(
        lock=lock,
        answers=tuple(rebuild(lock, loaded.product, each, qty=qty, today=today, kept=kept) for each in asked),
        label=snapshot.label,
        faults=len(loaded.findings) + len(snapshot.problems),
    )


def _keeper(opened: Opened, lock: Lock) -> Callable[[str, str], bool]:
    """Return what tells whether a content is at hand: in the frozen commit, or on the disk."""
    places: list[Mapping[str, str]] = [opened.read().digests(lock.document)]
    try:
        frozen = opened.read_at(lock.commit)
        if frozen is not None:
            places.append(frozen.digests(lock.document))
    except FerruleError:  # a shallow or damaged clone: then only the disk counts
        pass
    return lambda path, digest: any(place.get(path) == digest for place in places)
