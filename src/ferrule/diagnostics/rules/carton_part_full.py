"""A build does not fill its last carton.

## What it finds

Builds whose quantity is no multiple of the units in a master carton. How many go in is stated by the carton
(`packing.units`), else by the SKU's line (`per`). Where a carton changed and two are listed, either may be filled.
Builds that only direct channels sell are left aside: those of the plan's sales from the build, or where the
plan sells nothing of it those the SKU is for `sale` in.

This rule never blocks. Where the units in a carton are not known it says nothing.

## Why it matters

The last carton travels part full: it costs the freight of a full one, is crushed more easily, and many
retailers ask a penalty for it or send it back. A few units more or fewer cost nothing now.

## Example

Bad:

```toml
[[build]]
name = "spring"
sku = "W20-SINGLE"      # 24 in a master carton
qty = 1210
```

Good:

```toml
[[build]]
name = "spring"
sku = "W20-SINGLE"      # 24 in a master carton
qty = 1200
```

## How to fix

Build a whole number of cartons, or choose a carton that the quantity fills.

## Who may accept it

Whoever plans the build. Usual exception: direct sale only.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._cartons import Carton, master_cartons
from ferrule.diagnostics.rules._shipping import builds
from ferrule.model.exact import exact
from ferrule.model.number import plain
from ferrule.model.product import Product
from ferrule.model.records.plan import Build

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield builds that leave a carton part full."""
    for plan, index, build in builds(product):
        units = _units(product, build)
        if units and not _sells_direct(product, plan, build):
            with exact():
                full, over = divmod(build.qty, units[0])
                part_full = all(build.qty % each for each in units)
            if part_full:
                less, more = plain(full * units[0]), plain((full + 1) * units[0])
                yield Fault(
                    message=f'{plain(build.qty)} of "{build.sku}" do not fill master cartons of {units[0]}: '
                    f"the last one holds {plain(over)}",
                    place=place_of(product, "plan", plan, "build", index, "qty"),
                    hint=f"build {less} or {more}" if full else f"build {more}",
                    facts=(plain(build.qty), str(units[0])),
                )


def _units(product: Product, build: Build) -> list[int]:
    """Return the units in a full carton, one entry for each carton; empty where one is not known."""
    cartons = [carton for carton in master_cartons(product, build.sku) if _is_for(carton, build)]
    known = [carton.units for carton in cartons if carton.units]
    return known if len(known) == len(cartons) else []


def _is_for(carton: Carton, build: Build) -> bool:
    limits = carton.line.effective
    return limits is None or not limits.builds or build.name in limits.builds


def _sells_direct(product: Product, plan: str, build: Build) -> bool:
    named = {
        sales.channel
        for sales in product.plans[plan].sales
        if sales.build == build.name or (sales.build is None and sales.sku == build.sku)
    }
    assembly = product.assemblies.get(build.sku)
    channels = named or set(assembly.sale if assembly is not None else ())
    kinds = {product.channels[name].kind if name in product.channels else None for name in channels}
    return kinds == {"direct"}


RULE = Rule(check=check, warns_from="pvt", blocks_from=None)
