"""What is above a part: every way up to the SKUs, and how many each SKU uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from msgspec import Struct

from ferrule.compute.structure import Edge, Structure
from ferrule.model.exact import Exact, added, exact, times

_NONE = Decimal(0)

__all__ = ["Above", "WayUp", "above", "ways_up"]


class Above(Struct, frozen=True, kw_only=True):
    """Quantity of one part in each assembly above it, for one of that assembly.

    ``at_least`` names assemblies for which a quantity on the way is unknown. ``ways`` counts the different
    ways up to anything that is used nowhere itself.
    """

    part: str
    quantities: Mapping[str, Exact]
    at_least: frozenset[str]
    ways: int


class WayUp(Struct, frozen=True):
    """One way up: edges from the part's direct parent to the top, and the quantity in one of the top."""

    edges: tuple[Edge, ...]
    qty: Exact | None


def _parents(structure: Structure) -> dict[str, list[Edge]]:
    used: dict[str, list[Edge]] = {}
    for parent in sorted(structure.edges):
        for edge in structure.edges[parent]:
            used.setdefault(edge.child, []).append(edge)
    return used


def above(structure: Structure, part: str) -> Above:
    """Return the quantities of ``part`` in everything above it. Raises ValueError on a ring."""
    if structure.order is None:
        raise ValueError("the structure has a ring")
    used = _parents(structure)
    amount: dict[str, Exact] = {part: Decimal(1)}
    ways: dict[str, int] = {part: 1}
    partial: set[str] = set()
    with exact():
        for node in reversed(structure.order):
            for edge in used.get(node, ()) if node in amount else ():
                amount[edge.parent] = added(
                    amount.get(edge.parent, _NONE), times(amount[node], edge.qty or _NONE)
                )
                ways[edge.parent] = ways.get(edge.parent, 0) + ways[node]
                if edge.qty is None or node in partial:
                    partial.add(edge.parent)
    tops = [node for node in amount if node != part and node not in used]
    del amount[part]
    return Above(
        part=part,
        quantities=dict(sorted(amount.items())),
        at_least=frozenset(partial),
        ways=sum(ways[top] for top in tops),
    )


def ways_up(structure: Structure, part: str) -> Iterator[WayUp]:
    """Yield every way up from ``part``, parents in order of their ids. Streams; raises ValueError on a ring."""
    if structure.order is None:
        raise ValueError("the structure has a ring")
    used = _parents(structure)
    path: list[Edge] = []
    stack: list[Iterator[Edge]] = [iter(used.get(part, ()))]
    while stack:
        edge = next(stack[-1], None)
        if edge is None:
            stack.pop()
            if path:
                path.pop()
            continue
        path.append(edge)
        higher = used.get(edge.parent, ())
        if not higher:
            yield WayUp(tuple(path), _product(path))
            path.pop()
        else:
            stack.append(iter(higher))


def _product(path: list[Edge]) -> Exact | None:
    qty: Exact = Decimal(1)
    with exact():
        for edge in path:
            if edge.qty is None:
                return None
            qty = times(qty, edge.qty)
    return qty
