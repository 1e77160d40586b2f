"""A product's exploded list as a CycloneDX document of hardware (ECMA-424), version 1.6 or 1.7.

The format has no quantity of its own: the registered property names `cdx:device:quantity`, `:location`, `:sku` and
`:deviceType` carry it. Edges have no numbers either; each assembly lists its own lines as properties. Parts are
components of type device, firmware or file; `bom-ref` is number and revision. Nothing random, no time: same product,
same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Literal

from ferrule.compute.explode import Totals
from ferrule.compute.structure import Edge, Structure
from ferrule.model.designators import compact
from ferrule.model.exact import shown
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Part

__all__ = ["Version", "cyclonedx_bytes"]

Version = Literal["1.6", "1.7"]
_OWN = "ferrule:line"


def cyclonedx_bytes(
    product: Product,
    structure: Structure,
    totals: Totals,
    *,
    version: Version = "1.6",
    complete: bool = False,
) -> bytes:
    """Return the document of one assembly and everything below it, sorted by number.

    ``complete`` says that nothing is missing from the list; it counts only where every quantity is known.
    """
    numbers = sorted(totals.quantities)
    root = totals.root
    places = _places(product, structure, [root, *numbers])
    document = {
        "bomFormat": "CycloneDX",
        "specVersion": version,
        "version": 1,
        "metadata": {
            "lifecycles": [{"phase": "design"}],
            "component": _component(product, root, _lines(product, structure, root)),
        },
        "components": [
            _component(
                product,
                number,
                [
                    _property("cdx:device:quantity", shown(totals.quantities[number])),
                    *([_property("cdx:device:location", places[number])] if number in places else []),
                    *_lines(product, structure, number),
                ],
            )
            for number in numbers
        ],
        "dependencies": [_dependency(product, structure, number) for number in (root, *numbers)],
        "compositions": [
            {
                "aggregate": "complete" if complete and not totals.at_least else "incomplete",
                "assemblies": [_reference(product, root)],
            }
        ],
    }
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode()


def _reference(product: Product, number: str) -> str:
    item = product.item(number)
    return f"{number}@{item.rev}" if item is not None and item.rev else number


def _component(product: Product, number: str, properties: list[dict[str, str]]) -> dict[str, Any]:
    item = product.item(number)
    component: dict[str, Any] = {
        "type": _type(item),
        "bom-ref": _reference(product, number),
        "name": number,
    }
    if item is None:
        return component | {"properties": properties} if properties else component
    if item.rev:
        component["version"] = item.rev
    if item.name:
        component["description"] = item.name
    component |= _firms(product, item)
    unit = [_property("cdx:device:sku", number), _property("ferrule:unit", item.unit)]
    kind = item.class_ if isinstance(item, Part) else "assembly"
    if kind:
        unit.append(_property("cdx:device:deviceType", kind))
    component["properties"] = [*unit, *properties]
    return component


def _type(item: Item | None) -> str:
    kind = item.class_ if isinstance(item, Part) else None
    return {"firmware": "firmware", "document": "file"}.get(kind or "", "device")


def _firms(product: Product, item: Item) -> dict[str, Any]:
    """Return maker and seller of the first approved source, else of the first."""
    sources = [source for source in item.source if source.status == "approved"] or list(item.source)
    if not sources:
        return {}
    first = sources[0]
    found: dict[str, Any] = {}
    if first.maker is not None:
        found["manufacturer"] = {"name": _firm(product, first.maker)}
    if first.seller is not None:
        found["supplier"] = {"name": _firm(product, first.seller)}
    return found


def _firm(product: Product, number: str) -> str:
    return product.firms[number].name if number in product.firms else number


def _property(name: str, value: str) -> dict[str, str]:
    return {"name": name, "value": value}


def _edges(structure: Structure, number: str) -> Iterable[Edge]:
    return structure.edges.get(number, ())


def _lines(product: Product, structure: Structure, number: str) -> list[dict[str, str]]:
    """Return the lines of an assembly: item reference, part and quantity for one."""
    return [
        _property(
            f"{_OWN}:{product.lines[number][edge.index].item}",
            f"{edge.child} {shown(edge.qty) if edge.qty is not None else 'unknown'}",
        )
        for edge in _edges(structure, number)
    ]


def _dependency(product: Product, structure: Structure, number: str) -> dict[str, Any]:
    below = sorted({_reference(product, child) for child in _solid(product, structure, number)})
    found: dict[str, Any] = {"ref": _reference(product, number)}
    return found | {"dependsOn": below} if below else found


def _solid(product: Product, structure: Structure, number: str) -> Iterator[str]:
    """Yield what an assembly is made of; in place of a phantom, which is no thing, what is in it."""
    for edge in _edges(structure, number):
        assembly = product.assemblies.get(edge.child)
        if assembly is not None and assembly.phantom:
            yield from _solid(product, structure, edge.child)
        else:
            yield edge.child


def _places(product: Product, structure: Structure, numbers: Iterable[str]) -> Mapping[str, str]:
    """Return where each part sits: the designators on each assembly."""
    found: dict[str, list[str]] = {}
    for parent in numbers:
        for edge in _edges(structure, parent):
            designators = product.lines[parent][edge.index].designators
            if designators is not None:
                found.setdefault(edge.child, []).append(f"{parent}: {compact(designators.names)}")
    return {number: "; ".join(words) for number, words in found.items()}
