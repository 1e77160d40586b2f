"""The structure of assemblies as a graph: who uses what, how many, and in which order to walk.

Line quantities are in the base unit of the part they name. A line that is not fitted, or not effective in
the asked context, is no edge. Alternates never add to a quantity.
"""

from __future__ import annotations

import datetime as dt
import graphlib
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from ferrule.model.exact import Exact, exact
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity, UnitMismatch, convert
from ferrule.model.records.assembly import Effectivity, Line

__all__ = [
    "Context",
    "Edge",
    "NoEdge",
    "Structure",
    "is_effective",
    "known_quantity",
    "line_quantity",
    "rings",
    "structure_of",
]


class Context(Struct, frozen=True, kw_only=True):
    """For which unit the structure is asked: a day, and perhaps a serial number or a build.

    Without a serial number a line with serial limits counts if it has no last serial (the newest state).
    Without a build a line limited to builds does not count.
    """

    day: dt.date
    serial: int | None = None
    build: str | None = None


class Edge(Struct, frozen=True):
    """A line that counts: parent, index of the line in the parent's file, child, quantity for one parent.

    ``qty`` is None where it is not known: not stated, or in a unit that does not fit the part.
    """

    parent: str
    index: int
    child: str
    qty: Exact | None


NoEdge = Literal["not fitted", "not effective"]


def is_effective(limits: Effectivity | None, context: Context) -> bool:
    """Return whether something with these limits holds in the context. All ends are inclusive."""
    if limits is None:
        return True
    if limits.from_ is not None and context.day < limits.from_:
        return False
    if limits.to is not None and context.day > limits.to:
        return False
    if limits.builds and context.build not in limits.builds:
        return False
    if context.serial is None:
        return limits.to_serial is None
    low, high = limits.from_serial, limits.to_serial
    return (low is None or context.serial >= low) and (high is None or context.serial <= high)


def line_quantity(line: Line, unit: str) -> Quantity | None:
    """Return how much of its part a line uses for one assembly (or for ``per`` of them), in the part's ``unit``.

    None if unknown.

    An as-required item goes by its rate, a cut length by quantity times cut; an unstated quantity with
    designators is unknown all the same, for counting them would hide a miscount. Raises UnitMismatch.
    """
    stated = line.rate if line.rate is not None else line.qty
    if stated is None:
        return None
    if line.cut is not None and line.rate is None:
        length = convert(line.cut, unit)
        with exact():
            return Quantity(stated.number * length.number, unit)
    return convert(stated, unit) if stated.unit else Quantity(stated.number, unit)


class Structure(Struct, frozen=True):
    """The edges by parent (in line order), every node, and a walk from parents to children.

    ``order`` lists parents before children; it is None where a ring makes that impossible. ``left_out``
    holds the lines that are no edges, with the reason.
    """

    edges: Mapping[str, tuple[Edge, ...]]
    nodes: frozenset[str]
    order: tuple[str, ...] | None
    left_out: tuple[tuple[str, int, NoEdge], ...]


def structure_of(product: Product, context: Context) -> Structure:
    """Return the structure of all assemblies of a product in a context."""
    edges: dict[str, tuple[Edge, ...]] = {}
    left_out: list[tuple[str, int, NoEdge]] = []
    for parent, lines in product.lines.items():
        kept = []
        for index, line in enumerate(lines):
            if not line.fitted:
                left_out.append((parent, index, "not fitted"))
            elif not is_effective(line.effective, context):
                left_out.append((parent, index, "not effective"))
            else:
                kept.append(Edge(parent, index, line.part, known_quantity(product, line)))
        edges[parent] = tuple(kept)
    nodes = frozenset(product.parts) | frozenset(product.assemblies)
    nodes |= {edge.child for children in edges.values() for edge in children}
    return Structure(edges, nodes, _topological(edges, nodes), tuple(left_out))


def known_quantity(product: Product, line: Line) -> Exact | None:
    """Return how much a line uses for one assembly, in the unit of its part; None where it is not known."""
    item = product.item(line.part)
    try:
        quantity = line_quantity(line, item.unit if item is not None else "each")
    except UnitMismatch:
        return None
    if quantity is None or line.per is None:
        return None if quantity is None else quantity.number
    return Fraction(quantity.number) / line.per


def _sorter(edges: Mapping[str, Iterable[Edge]], nodes: Iterable[str]) -> graphlib.TopologicalSorter[str]:
    sorter: graphlib.TopologicalSorter[str] = graphlib.TopologicalSorter()
    for node in sorted(nodes):
        sorter.add(node)
    for parent in sorted(edges):
        for edge in edges[parent]:
            sorter.add(edge.child, parent)
    return sorter


def _topological(edges: Mapping[str, tuple[Edge, ...]], nodes: Iterable[str]) -> tuple[str, ...] | None:
    try:
        return tuple(_sorter(edges, nodes).static_order())
    except graphlib.CycleError:
        return None


def rings(product: Product) -> Iterator[tuple[Edge, ...]]:
    """Yield rings of assemblies that contain themselves, one for each line that would have to go.

    Every line counts here, fitted or effective or not: a ring is wrong even where it sleeps. The edges of a
    ring follow one another; the last leads back to the first one's parent. At most one ring for each edge
    that closes one; a product without rings yields nothing.
    """
    edges = {
        parent: [Edge(parent, index, line.part, None) for index, line in enumerate(lines)]
        for parent, lines in product.lines.items()
    }
    while True:
        try:
            _sorter(edges, edges).prepare()
        except graphlib.CycleError as error:
            ring = _edges_along(error.args[1], edges)
            yield ring
            edges[ring[-1].parent].remove(ring[-1])
        else:
            return


def _edges_along(nodes: list[str], edges: Mapping[str, list[Edge]]) -> tuple[Edge, ...]:
    """Return the edges of a ring, started at its smallest name so that the same ring reads the same."""
    path = nodes[:-1] if nodes[0] == nodes[-1] else list(nodes)
    start = path.index(min(path))
    path = path[start:] + path[:start]
    pairs = list(zip(path, path[1:] + path[:1], strict=True))
    if not all(any(e.child == child for e in edges.get(parent, ())) for parent, child in pairs):
        path.reverse()  # the sorter lists a ring from child to parent or back, depending on the Python
        path = path[-1:] + path[:-1]
        pairs = list(zip(path, path[1:] + path[:1], strict=True))
    return tuple(next(e for e in edges[parent] if e.child == child) for parent, child in pairs)
