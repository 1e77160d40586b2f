"""`explode` and `where`: quantities below an assembly, and everything above a part."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from ferrule.app.loading import load_snapshot
from ferrule.compute.explode import Totals, explode
from ferrule.compute.structure import Context, Structure, rings, structure_of
from ferrule.compute.whereused import Above, above
from ferrule.errors import FerruleError
from ferrule.load.loaded import Loaded
from ferrule.model.product import Product
from ferrule.model.text import nearest
from ferrule.source.snapshot import Snapshot

__all__ = ["Asked", "exploded", "open_structure", "structured", "used_where"]


class Asked(Struct, frozen=True, kw_only=True):
    """A product with its structure in the asked context, and how much of it could not be read."""

    product: Product
    structure: Structure
    faults: int
    label: str


def open_structure(snapshot: Snapshot, context: Context) -> Asked:
    """Return a snapshot's product and structure; raises FerruleError where a ring forbids every answer."""
    return structured(load_snapshot(snapshot), snapshot, context)


def structured(loaded: Loaded, snapshot: Snapshot, context: Context) -> Asked:
    """Return a loaded product with its structure; raises FerruleError where a ring forbids every answer."""
    structure = structure_of(loaded.product, context)
    if structure.order is None:
        ring = next(iter(rings(loaded.product)))
        names = " > ".join([*(edge.parent for edge in ring), ring[0].parent])
        raise FerruleError(
            f"assemblies contain themselves: {names}", "`ferrule check --rule assembly-ring` shows the lines"
        )
    if context.build is not None:
        _refuse_unknown_build(loaded.product, context.build)
    faults = len(loaded.findings) + len(snapshot.problems)
    return Asked(product=loaded.product, structure=structure, faults=faults, label=snapshot.label)


def _refuse_unknown_build(product: Product, build: str) -> None:
    known = sorted({each.name for plan in product.plans.values() for each in plan.build})
    if build not in known:
        best = nearest(build, known)
        listed = f"builds: {', '.join(known)}" if known else "the plans have no builds"
        raise FerruleError(f"no plan has a build called {build}", f"did you mean {best}?" if best else listed)


def exploded(asked: Asked, root: str, qty: Decimal) -> Totals:
    """Return the totals for a quantity of an assembly; raises FerruleError for an unknown number."""
    _refuse_unknown(asked, root)
    if root not in asked.product.assemblies:
        raise FerruleError(f"{root} is a part, not an assembly", f"`ferrule where {root}` shows what uses it")
    return explode(asked.product, asked.structure, root, qty)


def used_where(asked: Asked, part: str) -> Above:
    """Return everything above a part; raises FerruleError for an unknown number."""
    _refuse_unknown(asked, part)
    return above(asked.structure, part)


def _refuse_unknown(asked: Asked, number: str) -> None:
    if asked.product.item(number) is None and number not in asked.structure.nodes:
        known = [*asked.product.parts, *asked.product.assemblies]
        best = nearest(number, known)
        hint = f"did you mean {best}?" if best else "`ferrule explode` without a number lists the assemblies"
        raise FerruleError(f"no part or assembly has the number {number}", hint)
