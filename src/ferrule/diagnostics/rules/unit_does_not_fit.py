"""A unit is not known, or cannot be counted in the part's unit.

## What it finds

Parts whose `unit` is none that Ferrule knows, and line quantities, rates and cut lengths in a unit that
cannot be converted exactly to the part's.

## Why it matters

Three metres and three pieces look the same in a column. The total of such a line is unknown.

## Example

Bad:

```toml
[part.WEBBING]
unit = "m"
# in an assembly: part = "WEBBING", qty = "3 kg"
```

Good:

```toml
[part.WEBBING]
unit = "m"
# in an assembly: part = "WEBBING", qty = "3 m"
```

## How to fix

Write the quantity in a unit of the part's kind, or correct the part's unit. A piece cut from a roll says
`qty` (how many) and `cut` (how long), and its part is counted in a length.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity, UnitMismatch, convert
from ferrule.model.records.assembly import Line
from ferrule.model.text import nearest
from ferrule.model.units import UNITS

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield unknown units of parts, then quantities that do not fit them."""
    for kind, number, item in product.items():
        if item.unit not in UNITS:
            best = nearest(item.unit, UNITS)
            hint = f'did you mean "{best}"?' if best else f"known units: {', '.join(UNITS)}"
            place = place_of(product, kind, number, "unit")
            yield Fault(
                message=f'"{item.unit}", the unit of {number}, is not known',
                place=place,
                hint=hint,
                facts=(item.unit,),
            )
    for assembly, index, line in each_line(product):
        used = product.item(line.part)
        if used is not None and used.unit in UNITS:
            yield from _line(product, (assembly, index, line), used.unit)


def _line(product: Product, at: tuple[str, int, Line], unit: str) -> Iterator[Fault]:
    assembly, index, line = at
    for key, quantity in _stated(line):
        if _fits(quantity, unit):
            continue
        kind = "part" if line.part in product.parts else "assembly"
        yield Fault(
            message=f'{quantity} of "{line.part}" cannot be counted in its unit, {unit}',
            place=line_place(product, assembly, index, key),
            related=(
                Related(
                    place=place_of(product, kind, line.part, "unit"), note=f"{line.part} is counted in {unit}"
                ),
            ),
            facts=(str(quantity), unit),
        )


def _stated(line: Line) -> Iterator[tuple[str, Quantity]]:
    if line.rate is not None:
        yield "rate", line.rate
    elif line.cut is not None:
        yield "cut", line.cut
    elif line.qty is not None:
        yield "qty", line.qty


def _fits(quantity: Quantity, unit: str) -> bool:
    try:
        return not quantity.unit or convert(quantity, unit) is not None
    except UnitMismatch:
        return False


RULE = Rule(check=check, waivable=False)
