"""A place on a board is taken by two parts.

## What it finds

Designators that occur twice in one assembly, on one line or on two. Lines that are not fitted are left
aside, and so are lines whose effectivities exclude each other.

## Why it matters

One place holds one part. Two parts on it means that one of them is missing somewhere else.

## Example

Bad:

```toml
[[line]]
item = 10
part = "R-10K"
qty = 2
designators = "R1, R2"

[[line]]
item = 20
part = "R-4K7"
qty = 1
designators = "R2"
```

Good:

```toml
[[line]]
item = 10
part = "R-10K"
qty = 2
designators = "R1, R2"

[[line]]
item = 20
part = "R-4K7"
qty = 1
designators = "R3"
```

## How to fix

Correct the designator by the drawing. For a choice between two parts, name one and put the other under
`alternates`, or mark it `fitted = false`.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import line_place, overlap
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield each second use of a designator in an assembly."""
    for assembly in sorted(product.lines):
        lines = product.lines[assembly]
        taken: dict[str, list[int]] = {}
        for index, line in enumerate(lines):
            if line.designators is None or not line.fitted:
                continue
            for name in line.designators.names:
                first = next(
                    (i for i in taken.get(name, ()) if overlap(lines[i].effective, line.effective)), None
                )
                if first is None:
                    taken.setdefault(name, []).append(index)
                else:
                    yield _fault(product, assembly, name, (first, index))


def _fault(product: Product, assembly: str, name: str, lines: tuple[int, int]) -> Fault:
    first, second = lines
    place = line_place(product, assembly, second, "designators")
    one, other = product.lines[assembly][first], product.lines[assembly][second]
    if first == second:
        return Fault(
            message=f"{name} is named twice on item {other.item} of {assembly}", place=place, facts=(name,)
        )
    related = Related(place=line_place(product, assembly, first, "designators"), note=f"{name} is also here")
    message = f'{name} of {assembly} holds both "{one.part}" and "{other.part}"'
    return Fault(message=message, place=place, related=(related,), facts=(name,))


RULE = Rule(check=check, waivable=False)
