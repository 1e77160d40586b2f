"""`built`: which units hold a lot, which were made under a waiver, what one unit is."""

from __future__ import annotations

from collections.abc import Mapping

from ferrule.app.loading import load_snapshot
from ferrule.compute.built import Asked, Built, built_units
from ferrule.errors import FerruleError
from ferrule.load.lock import read_lock
from ferrule.model.frozen import FrozenBuild
from ferrule.model.product import Product
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = ["built"]


def built(snapshot: Snapshot, asked: Asked) -> tuple[Product, Built]:
    """Return the product and the units asked about; raises FerruleError for a build nobody has recorded."""
    product = load_snapshot(snapshot).product
    for name in asked.builds:
        if name not in product.as_built:
            best = nearest(name, product.as_built)
            known = ", ".join(product.as_built) or "none yet"
            hint = f"did you mean {best}?" if best else f"recorded: {known}; write frozen/{name}.asbuilt.toml"
            raise FerruleError(f"nothing is recorded of how {name} was built", hint)
    frozen = {each.name: each for each in snapshot.frozen()} if product.as_built else {}
    return product, built_units(product, asked, _makers(product, frozen))


def _makers(product: Product, frozen: Mapping[str, FrozenBuild]) -> dict[tuple[str, str], frozenset[str]]:
    """Return the makers that each frozen build chose, by build and part; a lock that cannot be read tells none."""
    found: dict[tuple[str, str], frozenset[str]] = {}
    for name in product.as_built:
        text = frozen[name].tagged or frozen[name].text if name in frozen else None
        if text is None:
            continue
        try:
            lock = read_lock(name, text.encode())
        except FerruleError:
            continue
        for number, part in lock.part.items():
            found[name, number] = frozenset(s.maker for s in part.source if s.chosen and s.maker)
    return found
