"""Laws of explosion on generated structures, judged by networkx and by a matrix solve in exact fractions."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import CONTEXT, product, structure_files
from ferrule.compute.explode import Totals, explode, walk
from ferrule.compute.structure import structure_of
from ferrule.compute.whereused import above, ways_up

pytestmark = pytest.mark.property

Bom = dict[str, dict[str, Decimal]]


@st.composite
def boms(draw: st.DrawFn) -> Bom:
    """Return a structure without rings: node n00 on top, children have higher numbers."""
    size = draw(st.integers(2, 9))
    quantities = st.decimals("0.001", "50", places=3)
    bom: Bom = {}
    for parent in range(size - 1):
        children = draw(st.sets(st.integers(parent + 1, size - 1), max_size=4))
        if parent == 0 and not children:
            children = {1}
        if children:
            bom[f"n{parent:02}"] = {f"n{child:02}": draw(quantities) for child in sorted(children)}
    return bom


def totals(bom: Bom, qty: Decimal = Decimal(1)) -> Totals:
    made = product(structure_files(bom))
    return explode(made, structure_of(made, CONTEXT), "n00", qty)


@settings(max_examples=60, deadline=None)
@given(boms())
def test_paths_of_networkx_give_the_same_totals(bom: Bom) -> None:
    graph: nx.DiGraph[str] = nx.DiGraph()
    for parent, children in bom.items():
        for child, qty in children.items():
            graph.add_edge(parent, child, qty=Fraction(qty))
    expected: dict[str, Fraction] = {}
    for node in sorted(nx.descendants(graph, "n00")):
        expected[node] = Fraction(0)
        for path in nx.all_simple_paths(graph, "n00", node):
            ways = Fraction(1)
            for edge in nx.utils.pairwise(path):
                ways *= graph.edges[edge]["qty"]
            expected[node] += ways
    assert {part: Fraction(qty) for part, qty in totals(bom).quantities.items()} == expected


@settings(max_examples=60, deadline=None)
@given(boms())
def test_matrix_solve_gives_the_same_totals(bom: Bom) -> None:
    """T = d + N T, A. Vazsonyi, Management Science 1(1), 1954; solved by elimination in fractions."""
    nodes = sorted({n for parent, children in bom.items() for n in (parent, *children)})
    index = {node: i for i, node in enumerate(nodes)}
    rows = [[Fraction(int(i == j)) for j in range(len(nodes))] + [Fraction(0)] for i in range(len(nodes))]
    rows[index["n00"]][-1] = Fraction(1)
    for parent, children in bom.items():
        for child, qty in children.items():
            rows[index[child]][index[parent]] -= Fraction(qty)
    for i in range(len(nodes)):
        pivot = next(r for r in range(i, len(nodes)) if rows[r][i])
        rows[i], rows[pivot] = rows[pivot], rows[i]
        rows[i] = [x / rows[i][i] for x in rows[i]]
        for r in range(len(nodes)):
            if r != i and rows[r][i]:
                rows[r] = [a - rows[r][i] * b for a, b in zip(rows[r], rows[i], strict=True)]
    solved = {node: rows[index[node]][-1] for node in nodes if rows[index[node]][-1] and node != "n00"}
    assert {part: Fraction(qty) for part, qty in totals(bom).quantities.items()} == solved


@settings(max_examples=40, deadline=None)
@given(boms(), st.integers(1, 100_000))
def test_k_builds_are_k_times_one(bom: Bom, times: int) -> None:
    one = totals(bom).quantities
    assert totals(bom, Decimal(times)).quantities == {part: qty * times for part, qty in one.items()}


@settings(max_examples=40, deadline=None)
@given(boms(), st.randoms())
def test_order_of_lines_and_files_does_not_matter(bom: Bom, random: object) -> None:
    shuffled = list(bom.items())
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    turned = {parent: dict(reversed(children.items())) for parent, children in shuffled}
    assert totals(turned).quantities == totals(bom).quantities


@settings(max_examples=40, deadline=None)
@given(boms())
def test_tree_rows_add_up_to_the_totals(bom: Bom) -> None:
    made = product(structure_files(bom))
    summed: dict[str, Fraction] = {}
    for row in walk(made, structure_of(made, CONTEXT), "n00", Decimal(3)):
        assert row.extended is not None
        summed[row.edge.child] = summed.get(row.edge.child, Fraction(0)) + Fraction(row.extended)
    assert summed == totals(bom, Decimal(3)).quantities


@settings(max_examples=40, deadline=None)
@given(boms())
def test_where_is_explode_seen_from_below(bom: Bom) -> None:
    made = product(structure_files(bom))
    structure = structure_of(made, CONTEXT)
    for part, qty in totals(bom).quantities.items():
        found = above(structure, part)
        assert found.quantities["n00"] == qty
        to_top = [way for way in ways_up(structure, part) if way.edges[-1].parent == "n00"]
        assert sum((Fraction(way.qty) for way in to_top if way.qty is not None), Fraction(0)) == qty
        assert found.ways == sum(1 for _ in ways_up(structure, part))
