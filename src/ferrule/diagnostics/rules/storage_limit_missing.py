"""How long a part keeps is not known.

## What it finds

Machine-placed integrated circuits and semiconductors (designators of class U, Q, VR, D, CR, DS and their
everyday forms such as IC and LED) that carry no moisture level, levels above 1 without a floor life, and
as-required materials (glue, solder paste) without a shelf life. "Not sensitive" is level 1; nothing stated
is unknown.

## Why it matters

A part that drew moisture cracks in the reflow oven, and a dead adhesive lets go in the field. Levels are
printed on the bag (IPC/JEDEC J-STD-020 is the usual standard).

## Example

Bad:

```toml
[part.U-MCU]
class = "electrical"
moisture = { level = "3" }
```

Good:

```toml
[part.U-MCU]
class = "electrical"
moisture = { level = "3", floor_life = "168 h" }
```

## How to fix

Copy level and floor life from the bag or the data sheet, the shelf life from the tube.

## Who may accept it

Whoever answers for incoming goods. Usual exception: not sensitive, said as level 1.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._graph import each_line
from ferrule.model.designator_classes import OUTSIDE
from ferrule.model.designators import class_of
from ferrule.model.product import Product
from ferrule.model.records.part import Part

__all__ = ["RULE"]


_SENSITIVE = {"U", "Q", "VR", "D", "CR", "DS"}


def _standard(name: str) -> str:
    """Return the standard's class letters for a designator that may use everyday ones."""
    letters = class_of(name)
    return OUTSIDE.get(letters, letters)


def _semiconductors(product: Product) -> set[str]:
    return {
        line.part
        for _, _, line in each_line(product)
        if line.designators is not None and {_standard(name) for name in line.designators.names} & _SENSITIVE
    }


def _open(part: Part, *, semiconductor: bool) -> tuple[str, str, str] | None:
    """Return key, what is missing, and a hint; None where all is known."""
    if part.class_ == "as-required":
        return (
            None
            if part.shelf_life is not None
            else ("shelf_life", "shelf life", 'add shelf_life = "9 months"')
        )
    if part.moisture is None:
        if semiconductor and part.class_ == "electrical" and part.placement not in ("hand", "none"):
            return "moisture", "moisture level", 'add moisture = { level = "1" } or as printed on the bag'
        return None
    if part.moisture.level != "1" and part.moisture.floor_life is None:
        return (
            "moisture",
            f"floor life at moisture level {part.moisture.level}",
            'add floor_life = "168 h", as printed on the bag',
        )
    return None


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield parts whose time out of the bag or on the shelf is open."""
    semiconductors = _semiconductors(product)
    for number, part in sorted(product.parts.items()):
        found = _open(part, semiconductor=number in semiconductors)
        if found is not None:
            key, what, hint = found
            place = place_of(product, "part", number, key, key=True)
            yield Fault(message=f'part "{number}" states no {what}', place=place, hint=hint, facts=(what,))


RULE = Rule(check=check, blocks_from="pvt")
