"""A price or a lane leaves open who carries what.

## What it finds

Delivery terms without a named place; rules for sea and inland waterway only (FAS, FOB, CFR, CIF) on a lane,
or in an offer over a lane, that flies, drives or takes containers; approved sources with prices and no
delivery term at all.

## Why it matters

A rule of Incoterms 2020 without its place is not a price: freight is then counted twice or never, and the
risk passes somewhere unknown. Goods in containers are handed over before the ship's rail, so the rules for
it leave a gap. The rule book and the forwarder have the last word.

## Example

Bad:

```toml
[[part.BOLT.source]]
incoterm = "FCA"
```

Good:

```toml
[[part.BOLT.source]]
incoterm = "FCA Norholt depot"
```

## How to fix

Add the place as the quote names it. For containers and air use FCA, CPT or CIP in place of FOB, CFR or CIF.

## Who may accept it

Whoever ships. Usual exception: port terms that the forwarder confirmed.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import approved, bought
from ferrule.diagnostics.rules._wording import source_name
from ferrule.model.incoterms import RULES, Incoterm
from ferrule.model.product import Product

__all__ = ["RULE"]

_CONTAINER_RULE = {"FAS": "FCA", "FOB": "FCA", "CFR": "CPT", "CIF": "CIP"}


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield terms without place, missing terms, and port rules where no port is meant."""
    for kind, number, item in bought(product):
        for index, source in approved(item):
            words = f'{source_name(index, source)} of {kind} "{number}"'
            if source.incoterm is not None:
                yield from _placeless(product, (kind, number, ("source", index, "incoterm")), source.incoterm)
            elif source.price:
                place = place_of(product, kind, number, "source", index, "incoterm", key=True)
                hint = 'add incoterm = "FCA named place", as the quote says'
                yield Fault(message=f"{words} states no delivery term for its prices", place=place, hint=hint)
            for position, offer in enumerate(source.offer):
                path: Path = ("source", index, "offer", position, "incoterm")
                yield from _placeless(product, (kind, number, path), offer.incoterm)
                yield from _portless(product, (kind, number, path), offer.incoterm, offer.lane)
    for number, lane in sorted(product.lanes.items()):
        for index, term in enumerate(lane.incoterm):
            yield from _placeless(product, ("lane", number, ("incoterm", index)), term)
            yield from _portless(product, ("lane", number, ("incoterm", index)), term, number)


def _placeless(product: Product, at: tuple[str, str, Path], term: Incoterm) -> Iterator[Fault]:
    if not term.place:
        kind, number, path = at
        hint = f'write "{term.rule} ..." with the {RULES[term.rule].place}'
        yield Fault(
            message=f"{term.rule} names no place", place=place_of(product, kind, number, *path), hint=hint
        )


def _portless(
    product: Product, at: tuple[str, str, Path], term: Incoterm, name: str | None
) -> Iterator[Fault]:
    lane = product.lanes.get(name or "")
    if lane is not None and RULES[term.rule].water_only and lane.mode != "sea":
        kind, number, path = at
        yield Fault(
            message=f'{term.rule} is a rule for ships, and lane "{name}" goes by {lane.mode}',
            place=place_of(product, kind, number, *path),
            hint=f"ask for {_CONTAINER_RULE[term.rule]} in its place",
            facts=(term.rule,),
        )


RULE = Rule(check=check, blocks_from="dvt")
