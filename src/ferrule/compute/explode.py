"""Quantities of every part below an assembly, and the assembly's lines as an indented list.

Totals walk the graph once in topological order, never its paths: a 40-layer diamond takes 80 steps. The
method is the total requirement T = (I - N)^-1 d of A. Vazsonyi (Management Science 1(1), 1954), solved by
substitution.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from msgspec import Struct

from ferrule.compute.structure import Edge, Structure
from ferrule.model.exact import Exact, added, exact, times
from ferrule.model.product import Product

_NONE = Decimal(0)

__all__ = ["Totals", "TreeRow", "explode", "levels", "walk"]


class Totals(Struct, frozen=True, kw_only=True):
    """How many of everything below a root, for a quantity of the root.

    ``quantities`` is in each part's base unit and holds parts and assemblies, phantoms left out; ``depth``
    is the deepest level at which a part occurs (its low-level code; the root is 0). Parts in ``at_least``
    have an unknown quantity somewhere on the way: their total is a lower bound. ``unknown`` names the lines.
    """

    root: str
    qty: Decimal
    quantities: Mapping[str, Exact]
    depth: Mapping[str, int]
    at_least: frozenset[str]
    unknown: tuple[Edge, ...]


class TreeRow(Struct, frozen=True):
    """One line of the indented list: level from 1, the edge, and the quantity for the whole asked quantity."""

    level: int
    edge: Edge
    extended: Exact | None
    #: The line belongs to a phantom assembly, or is one; phantoms take no level.
    phantom: bool = False


def explode(product: Product, structure: Structure, root: str, qty: Decimal = Decimal(1)) -> Totals:
    """Return the totals for ``qty`` of ``root``. Exact; raises ValueError where a ring forbids an answer."""
    if structure.order is None:
        raise ValueError("the structure has a ring")
    amount: dict[str, Exact] = {root: qty}
    depth: dict[str, int] = {root: 0}
    partial: set[str] = set()
    unknown: list[Edge] = []
    with exact():
        for node in structure.order:
            if node not in amount:
                continue
            below = depth[node] + (0 if _is_phantom(product, node) and node != root else 1)
            for edge in structure.edges.get(node, ()):
                child = edge.child
                if edge.qty is None:
                    unknown.append(edge)
                amount[child] = added(amount.get(child, _NONE), times(amount[node], edge.qty or _NONE))
                depth[child] = max(depth.get(child, 0), below)
                if edge.qty is None or node in partial:
                    partial.add(child)
    kept = sorted(part for part in amount if part != root and not _is_phantom(product, part))
    return Totals(
        root=root,
        qty=qty,
        quantities={part: amount[part] for part in kept},
        depth={part: depth[part] for part in kept},
        at_least=frozenset(partial),
        unknown=tuple(unknown),
    )


def _is_phantom(product: Product, number: str) -> bool:
    assembly = product.assemblies.get(number)
    return assembly is not None and assembly.phantom


def walk(
    product: Product,
    structure: Structure,
    root: str,
    qty: Decimal = Decimal(1),
    *,
    deepest: int | None = None,
) -> Iterator[TreeRow]:
    """Yield the indented list below ``root``, in line order, down to level ``deepest``.

    Streams: memory grows with the depth, not with the number of rows. Raises ValueError on a ring.
    """
    if structure.order is None:
        raise ValueError("the structure has a ring")
    stack: list[tuple[Iterator[Edge], int, Exact | None]] = [(iter(structure.edges.get(root, ())), 1, qty)]
    while stack:
        edges, level, many = stack[-1]
        edge = next(edges, None)
        if edge is None:
            stack.pop()
            continue
        with exact():
            extended = None if edge.qty is None or many is None else times(edge.qty, many)
        phantom = _is_phantom(product, edge.child)
        yield TreeRow(level, edge, extended, phantom)
        below = level if phantom else level + 1
        if edge.child in structure.edges and (deepest is None or below <= deepest):
            stack.append((iter(structure.edges[edge.child]), below, extended))


def levels(structure: Structure) -> Mapping[str, int]:
    """Return the low-level code of every node: the longest way down to it from anything used nowhere.

    Orlicky's rule: an item is planned at the deepest level where it occurs. Raises ValueError on a ring.
    """
    if structure.order is None:
        raise ValueError("the structure has a ring")
    code = dict.fromkeys(structure.order, 0)
    for node in structure.order:
        for edge in structure.edges.get(node, ()):
            code[edge.child] = max(code[edge.child], code[node] + 1)
    return code
