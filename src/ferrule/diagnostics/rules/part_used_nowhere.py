"""A part is used in no assembly.

## What it finds

Parts and assemblies that no line, alternate, programmed part or build names, and that are neither sold nor
kept for service. A product without assemblies, or with one that is only partly readable, is left in peace.

## Why it matters

Dead data is maintained, quoted and sometimes bought.

## Example

Bad:

```toml
# no line of any assembly names it
[part.BRACKET-OLD]
name = "Bracket, first version"
```

Good:

```toml
[part.BRACKET-OLD]
name = "Bracket, first version"
service = true   # kept for repairs
```

## How to fix

Take the record out (git keeps it), or say `service = true`.

## Who may accept it

Nobody needs to: it only warns.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._graph import each_line
from ferrule.model.product import Product

__all__ = ["RULE"]


def _mentioned(product: Product) -> set[str]:
    found: set[str] = set()
    for _, _, line in each_line(product):
        found.add(line.part)
        found.update(alternate.part for alternate in line.alternates)
    found.update(part.programmed.image for part in product.parts.values() if part.programmed is not None)
    found.update(build.sku for plan in product.plans.values() for build in plan.build)
    return found


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield what nothing names; a product without any assembly is only begun."""
    if not product.assemblies or product.declared.get("assembly"):
        return
    mentioned = _mentioned(product)
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if number in mentioned or item.service:
            continue
        if kind == "assembly" and (product.assemblies[number].sale or not product.skus()):
            continue
        yield Fault(
            message=f'{kind} "{number}" is used in no assembly',
            place=place_of(product, kind, number, key=True),
            hint="write service = true if it is kept for repairs",
        )


RULE = Rule(check=check, warns_from="dvt", blocks_from=None)
