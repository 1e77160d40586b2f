"""A build with a battery ships by a lane that does not take it.

## What it finds

Builds of a SKU that holds a battery with a UN number (that of the outermost record counts: a pack in the equipment, not the
cell in the pack), on a lane that lists what dangerous goods it takes
(`dangerous_goods`) and does not list that number, or lists nothing.

## Why it matters

Cargo that a carrier does not accept is refused at the gate, or flies undeclared. Limits differ by mode and
carrier and change often; the shipper's trained dangerous-goods person decides.

## Example

Bad:

```toml
[lane.halden-air]
mode = "air"                       # and the recorder holds UN3481
```

Good:

```toml
[lane.halden-air]
mode = "air"
dangerous_goods = ["UN3481"]
```

## How to fix

Ask the carrier and write down what the lane takes, or ship by another lane.

## Who may accept it

Nobody but the person trained for dangerous goods.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._shipping import builds
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield lanes that do not take a battery some build ships by them, each lane and number once."""
    del setting
    told: set[tuple[str, str]] = set()
    for _, _, build in builds(product):
        lane = product.lanes.get(build.lane or "")
        if lane is None:
            continue
        for number in sorted(_numbers(product, build.sku)):
            if number in lane.dangerous_goods or (build.lane or "", number) in told:
                continue
            told.add((build.lane or "", number))
            takes = (
                f"takes {', '.join(lane.dangerous_goods)}"
                if lane.dangerous_goods
                else "names no dangerous goods"
            )
            yield Fault(
                message=f'build "{build.name}" ships {number} by lane "{build.lane}", which {takes}',
                place=place_of(
                    product, "lane", build.lane or "", "dangerous_goods", key=not lane.dangerous_goods
                ),
                hint=f"ask the carrier whether it takes {number}, or ship by another lane",
                facts=(number,),
            )


def _numbers(product: Product, number: str, above: frozenset[str] = frozenset()) -> set[str]:
    """Return the UN numbers under which the batteries in an assembly travel: of the outermost that states one."""
    item = product.item(number)
    if item is None or number in above:
        return set()
    if item.battery is not None and item.battery.un_number is not None:
        return {item.battery.un_number}
    inner = above | {number}
    lines = [line for line in product.lines.get(number, ()) if line.fitted or line.kitted]
    return {found for line in lines for found in _numbers(product, line.part, inner)}


RULE = Rule(check=check, blocks_from="dvt", waivable=False)
