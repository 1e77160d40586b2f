"""The letters of a designator are not those of the standard.

## What it finds

Designators whose class letters are not in the list of IEEE 315-1975, clause 22.4 (kept by ASME Y14.44).
For letters that are common all the same the standard ones are named. A socket or holder may be X with the
letters of the part it holds.

## Why it matters

Letters tell an assembler what to expect at a place. House letters work until the board goes to another
house.

## Example

Bad:

```toml
[[line]]
item = 10
part = "SWITCH"
qty = 1
designators = "SW1"
```

Good:

```toml
[[line]]
item = 10
part = "SWITCH"
qty = 1
designators = "S1"
```

## How to fix

Rename the designator in the board file and here, or leave it: boards already drawn need not change.

## Who may accept it

Nobody needs to: it only warns.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.designator_classes import CLASSES, OUTSIDE
from ferrule.model.designators import class_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield lines with letters outside the standard, one fault for each letter group."""
    for assembly, index, line in each_line(product):
        names = line.designators.names if line.designators is not None else ()
        for letters in sorted({class_of(name) for name in names}):
            if letters in CLASSES or _is_socket(letters):
                continue
            standard = OUTSIDE.get(letters)
            hint = f"the standard letter is {standard}: {CLASSES[standard]}" if standard else ""
            message = f"{letters} is no class letter of IEEE 315"
            if standard == "":
                message = f"{letters} marks a feature of the board, not a part"
            yield Fault(
                message=message,
                place=line_place(product, assembly, index, "designators"),
                hint=hint,
                facts=(letters,),
            )


def _is_socket(letters: str) -> bool:
    """Return whether the letters are X with the class of the part held, such as XF for a fuse holder."""
    return letters[:1] == "X" and letters[1:] in CLASSES


RULE = Rule(check=check, warns_from="dvt", blocks_from=None)
