"""A snapshot of a commit computed into a lock: the one way, for freezing and for verifying years later."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from ferrule.app.loading import load_snapshot
from ferrule.compute.lock import Stamp, lock_of
from ferrule.compute.lock_form import Lock, LockedFile
from ferrule.compute.waived import in_force
from ferrule.errors import FerruleError
from ferrule.source.frozen import sha256_of
from ferrule.source.snapshot import Snapshot

__all__ = ["Attested", "locked"]


class Attested(Struct, frozen=True, kw_only=True):
    """What only the moment of freezing knows; everything else in a lock follows from the commit."""

    name: str
    day: dt.date
    commit: str
    ferrule: str
    rules: str
    supersedes: str = ""
    supersedes_sha256: str = ""


def locked(snapshot: Snapshot, attested: Attested) -> Lock:
    """Return the lock of a product as a commit holds it; raises FerruleError where a ring forbids an answer."""
    product = load_snapshot(snapshot).product
    prefix = f"{snapshot.folder}/" if snapshot.folder else ""
    stamp = Stamp(
        name=attested.name,
        day=attested.day,
        stage=product.head.stage,
        commit=attested.commit,
        ferrule=attested.ferrule,
        rules=attested.rules,
        files={
            file.path.removeprefix(prefix): LockedFile(blob=file.blob, sha256=sha256_of(file.data))
            for file in snapshot.files
        },
        waivers=tuple(each for each in product.waivers if in_force(each, attested.day, product.made)),
        supersedes=attested.supersedes,
        supersedes_sha256=attested.supersedes_sha256,
    )
    try:
        return lock_of(product, stamp)
    except ValueError:
        raise FerruleError(
            "assemblies contain themselves", "`ferrule check --rule assembly-ring` shows the lines"
        ) from None
