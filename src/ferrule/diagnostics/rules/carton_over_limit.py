"""A full carton or pallet is more than the lane takes.

## What it finds

Master cartons (told by `packing.role`) whose mass when full (`gross`) is over the `carton_limit` of a lane that a
build of their SKU ships by, and whose pallet (`layers` times the height of the carton, the third size in
`outer`) is higher than the lane's `pallet_height`. Where the lane states a limit and the carton not what
is compared with it, nothing can be decided. The height of the bare pallet is not added: ask the carrier
whether it counts. A carton stacked higher than it bears (`layers` over `stack`) is told as well.

A SKU without master carton is a matter of the rule `sku-pack-incomplete`.

## Why it matters

The carrier refuses the freight, or repacks it at your cost and in its own time. A carton that one person
may lift is lighter than most people guess: limits between 15 and 25 kg are common practice.

## Example

Bad:

```toml
# shipped by a lane with carton_limit = "23 kg" and pallet_height = "1.60 m"
[part.CTN-48.packing]
role = "master carton"
units = 48
outer = ["600 mm", "400 mm", "420 mm"]
gross = "26.1 kg"
layers = 4
```

Good:

```toml
# shipped by a lane with carton_limit = "23 kg" and pallet_height = "1.60 m"
[part.CTN-24.packing]
role = "master carton"
units = 24
outer = ["345 mm", "342 mm", "262 mm"]
gross = "13.4 kg"
layers = 5
```

## How to fix

Pack fewer units in a carton or fewer layers on a pallet, or ship by another lane.

## Who may accept it

Whoever ships. Usual exception: special handling that the carrier confirmed.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Key, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._cartons import carton_numbers
from ferrule.diagnostics.rules._shipping import builds, lanes_used
from ferrule.diagnostics.rules._wording import none_of
from ferrule.model.exact import exact
from ferrule.model.product import Product
from ferrule.model.quantity import Quantity, UnitMismatch, convert
from ferrule.model.records.part import Packing

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield cartons over a limit of a lane they travel by, or not to be judged, by carton and lane."""
    skus = {build.sku for _, _, build in builds(product)}
    pairs = {
        (number, lane)
        for sku in skus
        for number in carton_numbers(product, sku)
        for lane in lanes_used(product, sku)
    }
    for number in sorted({number for number, _ in pairs}):
        yield from _stack(product, number)
    for number, lane in sorted(pairs):
        item = product.item(number)
        if item is not None and item.packing is not None:
            yield from _mass(product, (number, lane), item.packing)
            yield from _height(product, (number, lane), item.packing)


def _stack(product: Product, number: str) -> Iterator[Fault]:
    item = product.item(number)
    packing = item.packing if item is not None else None
    if packing is None or not packing.stack or not packing.layers or packing.layers <= packing.stack:
        return
    yield Fault(
        message=f'the master carton "{number}" stands {packing.layers} high on a pallet and bears {packing.stack}',
        place=place_of(
            product, "part" if number in product.parts else "assembly", number, "packing", "layers"
        ),
        hint=f"write layers = {packing.stack}, or use a stronger carton",
        facts=(str(packing.layers), str(packing.stack)),
    )


def _mass(product: Product, at: tuple[str, str], packing: Packing) -> Iterator[Fault]:
    number, lane = at
    limit = product.lanes[lane].carton_limit
    if limit is None:
        return
    if packing.gross is None:
        words = f'the master carton "{number}" states no gross mass, and lane "{lane}" takes {limit} at most'
        yield _undecided(product, at, "gross", words)
    elif _fits(packing.gross, limit, "kg") is None:
        words = f'the {packing.gross} of master carton "{number}" and the {limit} of lane "{lane}" are not both masses'
        yield _undecided(product, at, "gross", words)
    elif not _fits(packing.gross, limit, "kg"):
        message = f'the master carton "{number}" weighs {packing.gross} when full, over the {limit} of lane "{lane}"'
        yield _over(product, at, ("gross",), message, (packing.gross, "carton_limit"))


def _height(product: Product, at: tuple[str, str], packing: Packing) -> Iterator[Fault]:
    number, lane = at
    limit = product.lanes[lane].pallet_height
    if limit is None:
        return
    states = {"outer": packing.outer[2:3], "layers": packing.layers}
    missing = [key for key, value in states.items() if not value]
    if missing:
        what = none_of({"outer": "outer height", "layers": "layers on a pallet"}[key] for key in missing)
        words = (
            f'the master carton "{number}" states {what}, and lane "{lane}" takes pallets of {limit} at most'
        )
        yield _undecided(product, at, missing[0], words)
        return
    high = packing.outer[2]
    with exact():
        pallet = Quantity(high.number * (packing.layers or 0), high.unit)
    if _fits(pallet, limit, "m") is None:
        words = f'the outer height of {high} of master carton "{number}" and the {limit} of lane "{lane}" are not both lengths'
        yield _undecided(product, at, "outer", words)
    elif not _fits(pallet, limit, "m"):
        message = f'the master carton "{number}" stacked {packing.layers} high makes {pallet}, over the {limit} of lane "{lane}"'
        yield _over(product, at, ("layers",), message, (pallet, "pallet_height"))


def _fits(quantity: Quantity, limit: Quantity, unit: str) -> bool | None:
    """Return whether a quantity keeps to a limit, or None where one of them is not counted in such a unit."""
    try:
        return convert(quantity, unit).number <= convert(limit, unit).number
    except UnitMismatch:
        return None


def _over(
    product: Product, at: tuple[str, str], path: tuple[Key, ...], message: str, facts: tuple[Quantity, str]
) -> Fault:
    (number, lane), (quantity, key) = at, facts
    return Fault(
        message=message,
        place=place_of(product, _kind(product, number), number, "packing", *path),
        related=(Related(place=place_of(product, "lane", lane, key), note="the limit is stated here"),),
        facts=(lane, key, str(quantity)),
    )


def _undecided(product: Product, at: tuple[str, str], key: str, message: str) -> Fault:
    number, lane = at
    place = place_of(product, _kind(product, number), number, "packing", key, key=True)
    return Fault(message=message, place=place, facts=(lane, key), undecided=True)


def _kind(product: Product, number: str) -> str:
    return "part" if number in product.parts else "assembly"


RULE = Rule(check=check, blocks_from="pvt")
