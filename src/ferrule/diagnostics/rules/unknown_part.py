"""A part number is used that no file defines.

## What it finds

Lines, alternates, firmware, tools, factory prices, stock, orders, movements, builds and sales that name
a part or assembly that does not exist. A record that exists but could not be read is not unknown.

## Why it matters

A dangling reference builds nothing and costs nothing, and both are wrong.

## Example

Bad:

```toml
[[line]]
item = 10
part = "R-0012"   # no file defines it
qty = 1
```

Good:

```toml
[[line]]
item = 10
part = "R-0021"
qty = 1
```

## How to fix

Correct the number, or add the part.

## Who may accept it

Nobody: there is nothing to build.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Path, Place, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._graph import each_line
from ferrule.model.product import Product
from ferrule.model.text import nearest

__all__ = ["RULE"]


def _named(product: Product) -> Iterator[tuple[str, str | int, Path, str]]:
    """Yield every mention of a part number: kind and id of the record, path in it, number."""
    for assembly, index, line in each_line(product):
        yield "assembly", assembly, ("line", index, "part"), line.part
        for position, alternate in enumerate(line.alternates):
            yield "assembly", assembly, ("line", index, "alternates", position, "part"), alternate.part
    for number, assembly_record in product.assemblies.items():
        excludes = assembly_record.price.excludes if assembly_record.price is not None else ()
        yield from (("assembly", number, ("price", "excludes", i), part) for i, part in enumerate(excludes))
    for number, part_record in product.parts.items():
        if part_record.programmed is not None:
            yield "part", number, ("programmed", "image"), part_record.programmed.image
    for kind, number, item in product.items():
        if item.replaces is not None:
            yield kind, number, ("replaces",), item.replaces
    for number, tool in product.tools.items():
        yield from (("tool", number, ("makes", i), part) for i, part in enumerate(tool.makes))
    yield from _counted(product)
    for number, plan in product.plans.items():
        yield from (("plan", number, ("build", i, "sku"), build.sku) for i, build in enumerate(plan.build))
        yield from (("plan", number, ("sales", i, "sku"), sales.sku) for i, sales in enumerate(plan.sales))


def _counted(product: Product) -> Iterator[tuple[str, str | int, Path, str]]:
    yield from (("stock", i, ("part",), stock.part) for i, stock in enumerate(product.stock))
    yield from (("order", i, ("part",), order.part) for i, order in enumerate(product.orders))
    yield from (("movement", i, ("part",), movement.part) for i, movement in enumerate(product.movements))
    yield from (("made", i, ("sku",), made.sku) for i, made in enumerate(product.made))


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield every mention of a number that neither a part nor an assembly has."""
    for kind, number, path, part in _named(product):
        if product.knows("part", part) or product.knows("assembly", part):
            continue
        best = nearest(part, [*product.parts, *product.assemblies])
        yield Fault(
            message=f'part "{part}" is used here but no file defines it',
            place=place_of(product, kind, number, *path),
            related=_home(product, best),
            hint=f'did you mean "{best}"?' if best else f"add [part.{part}] to a parts file",
            facts=(part,),
        )


def _home(product: Product, number: str | None) -> tuple[Related, ...]:
    if number is None:
        return ()
    home = product.homes.get(("part", number)) or product.homes[("assembly", number)]
    return (Related(place=Place(file=home.file, path=home.path, on="key"), note=f"{number} is defined here"),)


RULE = Rule(check=check, waivable=False)
