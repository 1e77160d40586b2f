"""A step does not say how many units come out good.

## What it finds

Steps of needed assemblies without `yield`, and reworks without the yield of the retest. Steps under one
quoted factory price are left aside: their losses are in the price.

## Why it matters

Yields multiply: three steps of 97 % lose about one unit in eleven, and each good unit carries the cost of those that
fell out. A blank read as 100 % makes every unit too cheap and the build too small.

## Example

Bad:

```toml
[[assembly.steps]]
name = "place and solder"
cost = 3.10
```

Good:

```toml
[[assembly.steps]]
name = "place and solder"
cost = 3.10
yield = "98.5 %"
yield_evidence = "dvt build, 200 units"
```

## How to fix

Take the yield of the last build or the factory's figure, and say which under `yield_evidence`. A step that
loses nothing says `yield = "100 %"`.

## Who may accept it

Whoever answers for the cost. Usual exception: the first build.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._steps import needed_steps
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield steps without yield, and reworks whose retest has none."""
    for assembly, index, step in needed_steps(product):
        if step.yield_ is None:
            yield Fault(
                message=f'step "{step.name}" of "{assembly}" has no yield',
                place=place_of(product, "assembly", assembly, "steps", index, "yield", key=True),
                hint='add yield = "98 %", as the last build or the factory says',
            )
        if step.rework is not None and step.rework.yield_ is None:
            place = place_of(product, "assembly", assembly, "steps", index, "rework", "yield", key=True)
            yield Fault(
                message=f'the retest after rework of step "{step.name}" of "{assembly}" has no yield',
                place=place,
                hint='add yield = "90 %" to the rework',
                facts=("rework",),
            )


RULE = Rule(check=check, blocks_from="pvt")
