"""`quote sent`: the requests on record, all or those to one firm."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from ferrule.app.loading import Places, load_snapshot
from ferrule.app.quoting import known_firm
from ferrule.model.product import Product
from ferrule.model.records.disclosures import Sent
from ferrule.source.snapshot import Snapshot

__all__ = ["Listed", "list_sent"]


class Listed(Struct, frozen=True, kw_only=True):
    """Requests by mark, of which product, and the way back to its files."""

    product: Product
    sents: Mapping[str, Sent]
    label: str
    faults: int
    where: Places


def list_sent(snapshot: Snapshot, firm: str | None) -> Listed:
    """Return the requests on record, or those to a firm; raises FerruleError for an unknown one."""
    loaded = load_snapshot(snapshot)
    if firm is not None and all(sent.recipient != firm for sent in loaded.product.disclosures.values()):
        known_firm(loaded.product, firm)
    return Listed(
        product=loaded.product,
        sents={
            mark: sent
            for mark, sent in loaded.product.disclosures.items()
            if firm is None or sent.recipient == firm
        },
        label=snapshot.label,
        faults=len(loaded.findings) + len(snapshot.problems),
        where=Places(loaded, snapshot),
    )
