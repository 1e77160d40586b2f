"""A resistor or capacitor has a value that nobody makes by the reel.

## What it finds

Parts placed as R or C (by the designators of their lines) whose `value` is in no series of preferred values of
IEC 60063: E24 or E192 for resistors of one ohm and more, E24 for capacitors; and values that cannot be read. Shunts
below one ohm come in other steps and are left aside.

## Why it matters

It is mostly a slip of one figure: 74k for 47k is not on any shelf, and what gets bought instead is somebody's guess.

## Example

Bad:

```toml
[part.R-74K]
value = "74k"
```

Good:

```toml
[part.R-47K]
value = "47k"
```

## How to fix

Correct the value, in the way it is marked (4k7, 100n, R47) or written out (4.7 kOhm).

## Who may accept it

Whoever answers for the circuit. Usual exception: a value made to order, such as a 50 ohm termination.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.component_value import component_value, is_preferred
from ferrule.model.designators import class_of
from ferrule.model.product import Product

__all__ = ["RULE"]

_WORDS = {"R": "resistor", "C": "capacitor"}


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield resistors and capacitors with a value that is not preferred or cannot be read."""
    for number, kind in sorted(_placed(product).items()):
        written = product.parts[number].value
        if written is None:
            continue
        value = component_value(written)
        if value is None:
            words = "cannot be read as a value"
        elif (kind == "R" and value < 1) or is_preferred(value, fine=kind == "R"):
            continue
        else:
            words = f"is no preferred value of {'E24 or E192' if kind == 'R' else 'E24'}"
        yield Fault(
            message=f'the {_WORDS[kind]} "{number}" has the value {written}, which {words}',
            place=place_of(product, "part", number, "value"),
            facts=(written,),
        )


def _placed(product: Product) -> dict[str, str]:
    """Return the parts that all their designators call R, or all C."""
    letters: dict[str, set[str]] = {}
    for lines in product.lines.values():
        for line in lines:
            if line.part in product.parts and line.designators is not None:
                letters.setdefault(line.part, set()).update(class_of(name) for name in line.designators.names)
    return {part: found.pop() for part, found in letters.items() if len(found) == 1 and found <= set(_WORDS)}


RULE = Rule(check=check, blocks_from=None)
