"""A step plans on a better yield than anyone has seen.

## What it finds

Steps of needed assemblies whose `yield` is above the best seen so far (`yield_seen`) by more points of
percent than the policy `yield_over_seen` allows (2 if not said). A step of which nothing was seen yet is
not judged, nor are steps under one quoted factory price.

## Why it matters

A target is a hope, and the cost, the starts and the parts to buy all rest on it. Two points at one step of a
40 EUR unit are about 80 cents on every unit sold.

## Example

Bad:

```toml
[[assembly.steps]]
name = "place and solder"
yield = "99 %"
yield_seen = "95.5 %"
```

Good:

```toml
[[assembly.steps]]
name = "place and solder"
yield = "97 %"
yield_seen = "95.5 %"
yield_evidence = "dvt build, 200 units; solder paste changed since"
```

## How to fix

Plan with what was seen, and raise the yield when a build has shown it. Put the better figure into a scenario.

## Who may accept it

Whoever answers for the cost. Usual exception: the first build.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._steps import needed_steps
from ferrule.model.exact import exact
from ferrule.model.number import plain
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield steps whose yield lies too far above the best seen."""
    for assembly, index, step in needed_steps(product):
        if step.yield_ is None or step.yield_seen is None:
            continue
        with exact():
            points = step.yield_.number - step.yield_seen.number
        if points > product.policy.yield_over_seen.number:
            yield Fault(
                message=f'step "{step.name}" of "{assembly}" plans on {step.yield_}, '
                f"{plain(points)} point{'' if points == 1 else 's'} over the best seen, {step.yield_seen}",
                place=place_of(product, "assembly", assembly, "steps", index, "yield"),
                hint=f'write yield = "{step.yield_seen}" until more was seen',
                facts=(str(step.yield_), str(step.yield_seen)),
            )


RULE = Rule(check=check, blocks_from="pvt")
