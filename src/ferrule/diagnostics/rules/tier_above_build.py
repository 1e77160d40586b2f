"""A price by build quantity starts above the quantity that is planned.

## What it finds

Steps and quoted factory prices with tiers (`tier`) whose smallest quantity is above what a build of a plan
makes of that assembly. Such tiers follow units built and cannot be bought up.

## Why it matters

There is no price for the build as planned. A reader who takes the first tier understates the cost; the
factory will name another figure when it is asked.

## Example

Bad:

```toml
[[build]]
name = "spring"
sku = "W20-SINGLE"
qty = 600

# assemblies/recorder.toml
steps = [{ name = "final assembly", tier = [{ from = 1000, each = 2.35 }] }]
```

Good:

```toml
steps = [{ name = "final assembly", tier = [{ from = 1, each = 2.90 }, { from = 1000, each = 2.35 }] }]
```

## How to fix

Ask the factory for its price at the planned quantity and add it as a tier.

## Who may accept it

Whoever answers for the cost.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import planned, quantity
from ferrule.model.exact import in_full
from ferrule.model.product import Product
from ferrule.model.records.common import Tier

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield tiers that start above the least quantity some build makes."""
    least: dict[str, tuple[Fraction, str]] = {}
    for plan in planned(product, setting.today):
        for demand in plan.bought.demands:
            for made in demand.made:
                known = least.get(made.assembly)
                if made.covered_by is None and (known is None or made.good < known[0]):
                    least[made.assembly] = (made.good, demand.run.name)
    for number, (good, build) in sorted(least.items()):
        assembly = product.assemblies.get(number)
        if assembly is None:
            continue
        price = assembly.price
        if price is not None and price.tier:
            yield from _judge(product, number, ("price", "tier"), price.tier, (good, build))
            continue
        for index, step in enumerate(assembly.steps):
            if step.cost is None:
                yield from _judge(product, number, ("steps", index, "tier"), step.tier, (good, build))


def _judge(
    product: Product, number: str, path: Path, tiers: Sequence[Tier], least: tuple[Fraction, str]
) -> Iterator[Fault]:
    good, build = least
    first = min((tier.from_ for tier in tiers), default=None)
    if first is not None and first > good:
        made, starts = (quantity(product, number, each) for each in (good, Fraction(first)))
        yield Fault(
            message=f'build "{build}" makes {made} of "{number}", but its price starts at {starts}',
            place=place_of(product, "assembly", number, *path),
            hint=f"ask the factory for its price of {made} and add it as a tier",
            facts=(in_full(good), str(first)),
        )


RULE = Rule(check=check, blocks_from="evt")
