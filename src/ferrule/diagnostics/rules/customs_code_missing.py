"""A shipped item has no customs code for its destination.

## What it finds

SKUs, and other assemblies that a build ships, without a `customs_code` for each `destination` of the lanes
that their builds go by. For a SKU whose builds name no such lane the product's `markets` count, without the
country of its factory. Where neither lanes nor markets are stated nothing can be decided. Destinations are
compared as written, so a code for `EU` does not cover `DE`.

## Why it matters

Goods without a tariff number are held at the border, and a wrong one is a wrong duty. The numbers are alike
in their first six digits only; each border adds its own.

Ferrule stores the number with its day and never chooses one. Classification is a matter for a customs
broker or a ruling.

## Example

Bad:

```toml
[assembly]
id = "W20-SINGLE"
# shipped by a lane with destination = "GB"
customs_code = [{ destination = "EU", code = "8519 81 95" }]
```

Good:

```toml
[assembly]
id = "W20-SINGLE"
# shipped by a lane with destination = "GB"
customs_code = [
  { destination = "EU", code = "8519 81 95", checked = 2026-11-10, checked_by = "broker Lindqvist" },
  { destination = "GB", code = "8519 81 95", checked = 2026-11-10, checked_by = "broker Lindqvist" },
]
```

## How to fix

Have a broker determine the number for each destination, and write it down with day and person.

## Who may accept it

Whoever answers for customs. Usual exception: samples that a broker enters.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._shipping import builds, destinations
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield shipped assemblies with the destinations that have no code."""
    skus = set(product.skus())
    built = {build.sku for _, _, build in builds(product)}
    for number in sorted((skus | built) & product.assemblies.keys()):
        wanted = destinations(product, number)
        if not wanted and number in skus:
            wanted = _markets_abroad(product, number)
            if not product.head.markets:
                yield _undecided(product, number)
        codes = product.assemblies[number].customs_code
        missing = [place for place in wanted if not any(c.destination == place and c.code for c in codes)]
        if missing:
            what = "SKU" if number in skus else "assembly"
            yield Fault(
                message=f'the {what} "{number}" has no customs code for {listed(missing)}',
                place=place_of(product, "assembly", number, "customs_code", key=True),
                hint="have a broker determine it, then add { destination, code, checked, checked_by }",
                facts=tuple(missing),
            )


def _markets_abroad(product: Product, number: str) -> list[str]:
    """Return the markets that a SKU reaches over a border: all but the country where every build is made."""
    own = product.assemblies[number].factory
    makers = {build.factory or own for _, _, build in builds(product) if build.sku == number} or {own}
    firms = [product.firms.get(maker or "") for maker in makers]
    countries = {firm.country if firm is not None else None for firm in firms}
    return [market for market in product.head.markets if countries != {market}]


def _undecided(product: Product, number: str) -> Fault:
    return Fault(
        message=f'nothing says at which border the SKU "{number}" needs a customs code',
        place=place_of(product, "assembly", number, "id"),
        hint='state markets = ["EU"] in product.toml, or destination = "EU" on the lane',
        undecided=True,
    )


RULE = Rule(check=check, blocks_from="pvt")
