"""A shipped part has no statement on restricted substances for a market.

## What it finds

Everything inside a SKU that is bought or made (not firmware, not documents, not assemblies of listed parts)
for which no entry under `substances` names a statement, an exemption or a reason for being exempt that
covers each market of the product. An `exempt` entry without markets holds for all; markets are compared as
written, so a statement for `EU` does not cover `DE`.

## Why it matters

A market can turn away the whole product for one part. Limits apply to each homogeneous material of each
part (in the European Union, Annex II of Directive 2011/65/EU).

Ferrule shows evidence and gaps. Declaring conformity is the manufacturer's own signed act; ask a qualified
person.

## Example

Bad:

```toml
[product]
markets = ["EU", "GB"]
# and the part has a statement for one of them:
# substances = [{ rule = "2011/65/EU", markets = ["EU"], statement = "docs/s.txt" }]
```

Good:

```toml
[product]
markets = ["EU", "GB"]
# substances = [{ rule = "2011/65/EU", markets = ["EU", "GB"], statement = "docs/s.txt" }]
```

## How to fix

Ask the maker for a statement, keep it in the repository and name it. Where none is needed say why under
`exempt`.

## Who may accept it

Whoever answers for conformity. Usual exception: an exempt class, cited.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import use_of
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.product import Product
from ferrule.model.records.part import Item, Part

__all__ = ["RULE"]


_CONTENT = ("firmware", "document")


def _is_covered(item: Item, market: str) -> bool:
    return any(
        market in entry.markets or (bool(entry.exempt) and not entry.markets)
        for entry in item.substances
        if entry.statement or entry.exemption or entry.exempt
    )


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield shipped parts with the markets nothing covers."""
    shipped = use_of(product).shipped
    for kind, number, item in sorted(product.items(), key=lambda row: row[1]):
        if number not in shipped or (isinstance(item, Part) and item.class_ in _CONTENT):
            continue
        if kind == "assembly" and (product.lines.get(number) or not item.source):
            continue
        missing = [market for market in product.head.markets if not _is_covered(item, market)]
        if missing:
            yield Fault(
                message=f'{kind} "{number}" has no statement on restricted substances for {listed(missing)}',
                place=place_of(product, kind, number, "substances", key=True),
                facts=tuple(missing),
            )


RULE = Rule(check=check, blocks_from="dvt")
