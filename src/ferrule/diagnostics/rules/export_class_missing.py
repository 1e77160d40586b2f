"""Something sent abroad has no export classification.

## What it finds

Items without `export.classification` that go to a firm in another country than ours (that of the firm with
the role `us`): parts and assemblies sent to the factory (consigned or free issue); firmware of parts built
in there; and parts defined by our drawings or board files (class fabricated or board), which go to the
factory and to the makers and sellers of approved sources. An assembly that names no factory is built where
its parents are. A firm without a country counts as abroad.

## Why it matters

Drawings, firmware and keys sent to a factory are exports like parcels. Sending a listed one without a
licence is an offence in many countries.

Ferrule stores the classification and its day and never infers one. Determining it, and screening the
parties, is licensed and professional work.

## Example

Bad:

```toml
[part.FW-W20]
class = "firmware"
```

Good:

```toml
[part.FW-W20]
class = "firmware"
export = { classification = "not listed", regime = "EU dual-use list", checked = 2026-08-20, checked_by = "export adviser" }
```

## How to fix

Have it determined and write down class, list, day and person.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._home import our_countries
from ferrule.diagnostics.rules._use import approved, use_of
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.product import Product

__all__ = ["RULE"]


_DRAWN = ("fabricated", "board")
_SENT = ("consigned", "free-issue")


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield what leaves the country without a classification."""
    ours = our_countries(product)
    builders = _builders(product)
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if item.export is not None:
            continue
        what, firms = _journey(product, kind, number, builders)
        abroad = [
            name
            for name in sorted(firms)
            if name in product.firms and product.firms[name].country not in ours
        ]
        if abroad:
            places = listed(
                f"{name} ({product.firms[name].country or 'country not stated'})" for name in abroad
            )
            hint = "have it determined, then add export = { classification, regime, checked, checked_by }"
            yield Fault(
                message=f'the {what} "{number}" goes to {places} without an export classification',
                place=place_of(product, kind, number, "export", key=True),
                hint=hint
                if ours
                else 'state the country of the firm that is "us"; only then is anything known to stay',
                facts=tuple(abroad),
            )


def _builders(product: Product) -> dict[str, set[str]]:
    """Return the firms that build each assembly; one that names none is built where its parents are."""
    own: dict[str, set[str]] = {}
    for number, assembly in product.assemblies.items():
        own[number] = {firm for firm in (assembly.factory, *(step.firm for step in assembly.steps)) if firm}
    for plan in product.plans.values():
        for build in plan.build:
            if build.factory and build.sku in own:
                own[build.sku].add(build.factory)
    found = {number: set(firms) for number, firms in own.items()}
    waiting = [number for number in found if found[number]]
    while waiting:
        parent = waiting.pop()
        for line in product.lines.get(parent, ()):
            child = line.part
            if child in own and not own[child] and not found[parent] <= found[child]:
                found[child] |= found[parent]
                waiting.append(child)
    return found


def _journey(product: Product, kind: str, number: str, builders: dict[str, set[str]]) -> tuple[str, set[str]]:
    """Return what an item is when it travels, and the firms it, its drawings or its program go to."""
    part = product.parts.get(number)
    spots = use_of(product).spots
    if part is not None and part.class_ == "firmware":
        loaded = [
            n for n, other in product.parts.items() if other.programmed and other.programmed.image == number
        ]
        using = (spot for name in (number, *loaded) for spot in spots.get(name, ()))
        return "firmware", {firm for spot in using for firm in builders.get(spot.assembly, ())}
    if part is not None and part.class_ in _DRAWN and part.document:
        firms = {firm for spot in spots.get(number, ()) for firm in builders.get(spot.assembly, ())}
        firms |= {firm for _, source in approved(part) for firm in (source.maker, source.seller) if firm}
        return f"{part.class_} part", firms
    item = product.item(number)
    sent = [spot for spot in spots.get(number, ()) if (spot.line.supply or (item and item.supply)) in _SENT]
    return f"{kind} we send", {firm for spot in sent for firm in builders.get(spot.assembly, ())}


RULE = Rule(check=check, blocks_from="dvt", waivable=False)
