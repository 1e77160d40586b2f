"""`reconcile`: consigned parts against what is accounted for."""

from __future__ import annotations

from msgspec import Struct

from ferrule.app.loading import Places, load_snapshot
from ferrule.app.structure import Asked, structured
from ferrule.compute.reconcile import Custody, reconcile
from ferrule.compute.structure import Context
from ferrule.errors import FerruleError
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = ["Reconciled", "reconcile_snapshot"]


class Reconciled(Struct, frozen=True, kw_only=True):
    """The custody of every asked custodian, and how to lead back to the files."""

    asked: Asked
    found: tuple[Custody, ...]
    where: Places


def reconcile_snapshot(snapshot: Snapshot, context: Context, custodian: str | None = None) -> Reconciled:
    """Return the custody of one custodian or of all; raises FerruleError for one that holds nothing of ours."""
    loaded = load_snapshot(snapshot)
    asked = structured(loaded, snapshot, context)
    found = reconcile(asked.product, asked.structure)
    if custodian is not None:
        names = [custody.custodian for custody in found]
        if custodian not in names:
            best = nearest(custodian, names)
            raise FerruleError(
                f"nothing of ours was sent to {custodian}",
                f"did you mean {best}?" if best else f"custodians: {', '.join(names) or 'none'}",
            )
        found = tuple(custody for custody in found if custody.custodian == custodian)
    return Reconciled(asked=asked, found=found, where=Places(loaded, snapshot))
