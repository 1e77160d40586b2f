"""Scenarios start from one another in a ring.

## What it finds

Scenarios of a plan whose `base` leads back to themselves. Each ring is named once.

## Why it matters

A scenario has the settings of its base first and its own after them. In a ring there is no first.

## Example

Bad:

```toml
[scenario.late]
base = "late-and-dear"
[scenario.late-and-dear]
base = "late"
```

Good:

```toml
[scenario.late]
[scenario.late-and-dear]
base = "late"
```

## How to fix

Take `base` out of the scenario that should come first.

## Who may accept it

Nobody: there is nothing to compute with.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product
from ferrule.model.records.plan import Scenario

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield one fault for each ring, at the base of its first scenario as written."""
    for number, plan in product.plans.items():
        for ring in _rings(plan.scenario):
            names = " > ".join([*ring, ring[0]])
            yield Fault(
                message=f"scenarios start from one another: {names}",
                place=place_of(product, "plan", number, "scenario", ring[0], "base"),
                related=tuple(
                    Related(
                        place=place_of(product, "plan", number, "scenario", name, "base"),
                        note=f"{name} starts from {plan.scenario[name].base}",
                    )
                    for name in ring[1:]
                ),
                facts=(names,),
            )


def _rings(scenarios: Mapping[str, Scenario]) -> Iterator[list[str]]:
    """Yield each ring once, from its first scenario on; every scenario has one base at most."""
    seen: set[str] = set()
    for start in scenarios:
        chain: list[str] = []
        name: str | None = start
        while name is not None and name in scenarios and name not in seen:
            seen.add(name)
            chain.append(name)
            name = scenarios[name].base
        if name in chain:
            ring = chain[chain.index(name) :]
            first = min(range(len(ring)), key=lambda i: list(scenarios).index(ring[i]))
            yield ring[first:] + ring[:first]


RULE = Rule(check=check, waivable=False)
