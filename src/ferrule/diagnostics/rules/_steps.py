"""The steps that are paid and planned one by one."""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.rules._use import use_of
from ferrule.model.product import Product
from ferrule.model.records.assembly import Step

__all__ = ["needed_steps"]


def needed_steps(product: Product) -> Iterator[tuple[str, int, Step]]:
    """Yield assembly, index and step of needed assemblies, by number; not those under one quoted price."""
    for number in sorted(use_of(product).needed & product.assemblies.keys()):
        assembly = product.assemblies[number]
        if assembly.price is None:
            for index, step in enumerate(assembly.steps):
                yield number, index, step
