"""`explode` and `where` in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from ferrule.compute.explode import Totals, TreeRow
from ferrule.compute.structure import NoEdge, Structure
from ferrule.compute.whereused import Above, WayUp
from ferrule.model.designators import compact
from ferrule.model.product import Product
from ferrule.report.document import Cell, Column, Document, Table

__all__ = ["assembly_list", "describe_totals", "describe_tree", "describe_where"]

WAYS_SHOWN = 200


def _name(product: Product, number: str) -> str | None:
    item = product.item(number)
    return item.name if item is not None else None


def _unit(product: Product, number: str) -> str:
    item = product.item(number)
    return item.unit if item is not None else "each"


def _kind(product: Product, number: str) -> str | None:
    assembly = product.assemblies.get(number)
    if assembly is not None:
        return "SKU" if assembly.sale else "assembly"
    part = product.parts.get(number)
    return part.class_ if part is not None else None


def assembly_list(product: Product, structure: Structure) -> Document:
    """Return the assemblies one can ask for, SKUs first."""
    numbers = sorted(product.assemblies, key=lambda number: (not product.assemblies[number].sale, number))
    rows = [(n, _name(product, n), _kind(product, n), len(structure.edges.get(n, ()))) for n in numbers]
    columns = (
        Column("number", "number"),
        Column("name", "name"),
        Column("kind", "kind"),
        Column("lines", "lines", "number"),
    )
    return Document(
        key="assemblies",
        title=f"Assemblies of {product.head.name}",
        tables=(Table(key="assemblies", columns=columns, rows=rows),),
    )


def describe_totals(
    product: Product, structure: Structure, totals: Totals, label: str, level: int | None
) -> Document:
    """Return the totals of every part, or of what stands on levels up to ``level``."""
    rows: list[tuple[Cell, ...]] = []
    for number, qty in totals.quantities.items():
        if level is None and number in product.assemblies and structure.edges.get(number):
            continue
        if level is not None and totals.depth[number] > level:
            continue
        bound = "at least" if number in totals.at_least else ""
        rows.append(
            (
                number,
                _name(product, number),
                _kind(product, number),
                bound,
                qty,
                _unit(product, number),
                totals.depth[number],
            )
        )
    columns = (
        Column("part", "part"),
        Column("name", "name"),
        Column("class", "class"),
        Column("bound", ""),
        Column("quantity", "quantity", "number"),
        Column("unit", "unit"),
        Column("deepest_level", "level", "number"),
    )
    return Document(
        key="explode",
        title=f"{totals.root} {_name(product, totals.root) or ''}".rstrip(),
        facts=(("assembly", totals.root), ("quantity", totals.qty), ("state", label)),
        tables=(Table(key="parts", columns=columns, rows=rows),),
        notes=(
            _summary(rows),
            *_left_out(product, structure, totals),
            *_unknown(totals),
            *_undefined(product, totals),
        ),
    )


def _summary(rows: list[tuple[Cell, ...]]) -> str:
    return (
        f"{_count(len(rows), 'entry', 'entries')}; quantities are exact, before attrition and minimum orders"
    )


def _left_out(product: Product, structure: Structure, totals: Totals) -> Iterator[str]:
    reached = {totals.root, *totals.quantities} | {a for a, x in product.assemblies.items() if x.phantom}
    counts: dict[NoEdge, list[str]] = {}
    for parent, index, reason in structure.left_out:
        if parent in reached:
            counts.setdefault(reason, []).append(f"{parent}/{product.lines[parent][index].item}")
    for kept, lines in sorted(counts.items()):
        yield f"{_count(len(lines), 'line', 'lines')} {kept}, not counted: {', '.join(lines)}"


def _unknown(totals: Totals) -> Iterator[str]:
    if totals.unknown:
        lines = ", ".join(sorted({f"{edge.child} in {edge.parent}" for edge in totals.unknown}))
        yield f"quantity not known: {lines}; {_count(len(totals.at_least), 'total is a lower bound', 'totals are lower bounds')}"


def _undefined(product: Product, totals: Totals) -> Iterator[str]:
    missing = [number for number in totals.quantities if product.item(number) is None]
    if missing:
        words = _count(len(missing), "part is defined in no file", "parts are defined in no file")
        yield f"{words}: {', '.join(missing)}"


def describe_tree(product: Product, rows: Iterator[TreeRow], root: str, qty: Decimal, label: str) -> Document:
    """Return the indented list, streamed."""
    columns = (
        Column("level", "level", "number"),
        Column("part", "part"),
        Column("item", "item", "number"),
        Column("quantity_each", "each", "number"),
        Column("quantity", "total", "number"),
        Column("unit", "unit"),
        Column("name", "name"),
        Column("designators", "designators"),
        Column("remark", "remark"),
    )
    return Document(
        key="explode_tree",
        title=f"{root} {_name(product, root) or ''}".rstrip(),
        facts=(("assembly", root), ("quantity", qty), ("state", label)),
        tables=(
            Table(key="lines", columns=columns, rows=(_tree_cells(product, row) for row in rows), depth=0),
        ),
    )


def _tree_cells(product: Product, row: TreeRow) -> tuple[Cell, ...]:
    edge = row.edge
    line = product.lines[edge.parent][edge.index]
    remarks = []
    if row.phantom:
        remarks.append("phantom")
    if line.alternates:
        remarks.append("or " + ", ".join(alternate.part for alternate in line.alternates))
    designators = compact(line.designators.names) if line.designators is not None else ""
    return (
        row.level,
        edge.child,
        line.item,
        edge.qty,
        row.extended,
        _unit(product, edge.child),
        _name(product, edge.child),
        designators,
        "; ".join(remarks),
    )


def describe_where(product: Product, found: Above, ways: Iterator[WayUp], label: str) -> Document:
    """Return every assembly and SKU above a part, and the ways up."""
    unit = _unit(product, found.part)

    def row(number: str) -> tuple[Cell, ...]:
        bound = "at least" if number in found.at_least else ""
        return (number, _name(product, number), _kind(product, number), bound, found.quantities[number])

    columns = (
        Column("number", "number"),
        Column("name", "name"),
        Column("kind", "kind"),
        Column("bound", ""),
        Column("quantity", f"{unit} in one", "number"),
    )
    order = sorted(found.quantities, key=lambda number: (not _is_sku(product, number), number))
    shown = [way for way, _ in zip(ways, range(WAYS_SHOWN), strict=False)]
    way_columns = (Column("way", "way up"), Column("quantity", f"{unit} in one", "number"))
    notes = [_used(len(order), sum(_is_sku(product, number) for number in order), found.ways)]
    if not order:
        notes = [f"{found.part} is used in no assembly"]
    if found.ways > len(shown):
        notes.append(f"the first {len(shown)} ways are shown")
    alternate = _as_alternate(product, found.part)
    if alternate:
        notes.append(f"named as an alternate in {', '.join(alternate)}; not counted")
    tables = (
        Table(key="above", columns=columns, rows=[row(n) for n in order]),
        Table(key="ways", columns=way_columns, rows=[(_way(product, way), way.qty) for way in shown]),
    )
    return Document(
        key="where",
        title=f"{found.part} {_name(product, found.part) or ''}".rstrip(),
        facts=(("part", found.part), ("state", label)),
        tables=tables if order else (),
        notes=tuple(notes),
    )


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _used(assemblies: int, skus: int, ways: int) -> str:
    """Return the sentence under `where`."""
    many = _count(assemblies, "assembly", "assemblies")
    return f"used in {many}, {_count(skus, 'SKU', 'SKUs')} among them; {_count(ways, 'way up', 'ways up')}"


def _is_sku(product: Product, number: str) -> bool:
    assembly: Mapping[str, object] | None = getattr(product.assemblies.get(number), "sale", None)
    return bool(assembly)


def _way(product: Product, way: WayUp) -> str:
    return " > ".join(f"{edge.parent}/{product.lines[edge.parent][edge.index].item}" for edge in way.edges)


def _as_alternate(product: Product, part: str) -> list[str]:
    return [
        f"{parent}/{line.item}"
        for parent, lines in product.lines.items()
        for line in lines
        if any(alternate.part == part for alternate in line.alternates)
    ]
