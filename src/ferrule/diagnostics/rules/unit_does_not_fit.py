"""A unit is not known, or cannot be counted in the part's unit.

## What it finds

Parts whose `unit` is none that Ferrule knows, and line quantities, rates and cut lengths in a unit that
cannot be converted exactly to the part's. Also pieces cut from a part that is not counted in a length, a
`cut` without a unit, and a `qty` with a unit beside it: how many pieces is a plain number.

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
from ferrule.model.units import MEANT, UNITS

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield unknown units of parts, then quantities that do not fit them."""
    for kind, number, item in product.items():
        if item.unit not in UNITS:
            best = MEANT.get(item.unit.casefold()) or nearest(item.unit, UNITS)
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
    line = at[2]
    if line.rate is not None:
        if not _fits(line.rate, unit):
            yield _misfit(product, at, unit, ("rate", line.rate))
    elif line.cut is not None:
        yield from _cut(product, at, unit, line.cut)
    elif line.qty is not None and not _fits(line.qty, unit):
        yield _misfit(product, at, unit, ("qty", line.qty))


def _misfit(product: Product, at: tuple[str, int, Line], unit: str, stated: tuple[str, Quantity]) -> Fault:
    (assembly, index, line), (key, quantity) = at, stated
    return Fault(
        message=f'{quantity} of "{line.part}" cannot be counted in its unit, {unit}',
        place=line_place(product, assembly, index, key),
        related=_counted_in(product, line.part, unit),
        facts=(str(quantity), unit),
    )


def _counted_in(product: Product, number: str, unit: str) -> tuple[Related, ...]:
    kind = "part" if number in product.parts else "assembly"
    return (Related(place=place_of(product, kind, number, "unit"), note=f"{number} is counted in {unit}"),)


def _cut(product: Product, at: tuple[str, int, Line], unit: str, cut: Quantity) -> Iterator[Fault]:
    """Yield what is wrong with pieces cut from a part: its unit, the cut's, that of their number."""
    assembly, index, line = at
    place = line_place(product, assembly, index, "cut")
    if UNITS[unit].dimension != "length":
        yield Fault(
            message=f'{cut} is cut from "{line.part}", which is counted in {unit} and not in a length',
            place=place,
            related=_counted_in(product, line.part, unit),
            facts=(str(cut), unit),
        )
    elif not cut.unit:
        yield Fault(
            message=f'the cut of {cut} from "{line.part}" has no unit',
            place=place,
            hint=f'write cut = "{cut} {unit}" if that is meant',
            facts=(str(cut),),
        )
    elif not _fits(cut, unit):
        yield _misfit(product, at, unit, ("cut", cut))
    if line.qty is not None and line.qty.unit not in ("", "each"):
        yield Fault(
            message=f'{line.qty} of pieces are cut from "{line.part}", and pieces are a plain number',
            place=line_place(product, assembly, index, "qty"),
            facts=(str(line.qty),),
        )


def _fits(quantity: Quantity, unit: str) -> bool:
    try:
        return not quantity.unit or convert(quantity, unit) is not None
    except UnitMismatch:
        return False


RULE = Rule(check=check, waivable=False)
