"""A SKU cannot be sold as it stands.

## What it finds

SKUs that lack, at any level, a unit box, a label, a manual or a master carton (told by `packing.role`),
or a barcode; and barcodes whose check digit is wrong (GS1 General Specifications, section 7.9: weights 3
and 1 from the right). Assemblies sold in `bulk` need none of it.

## Why it matters

A finished unit without its box, label or barcode waits in a warehouse, and each of them has a lead time
and a minimum order of its own.

## Example

Bad:

```toml
[assembly]
id = "W20-SINGLE"
barcode = "2012345678900"   # wrong check digit
sale.web = { list_price = "189 EUR" }
```

Good:

```toml
[assembly]
id = "W20-SINGLE"
barcode = "2012345678903"
sale.web = { list_price = "189 EUR" }
```

## How to fix

Add the lines that are missing, with `packing.role` on their parts. Barcodes are given out by the GS1
organisation of your country; never invent one.

## Who may accept it

Whoever sells. Usual exception: bulk units that another firm packs (`bulk = true`).
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import inside
from ferrule.diagnostics.rules._wording import none_of
from ferrule.model.product import Product

__all__ = ["RULE", "check_digit"]

_ROLES = ("unit box", "label", "manual", "master carton")
_LENGTHS = (8, 12, 13, 14)


def check_digit(digits: str) -> int:
    """Return the check digit of a GTIN without it: weights 3 and 1 in turn from the right, to the next ten."""
    total = sum(int(digit) * (3, 1)[position % 2] for position, digit in enumerate(reversed(digits)))
    return -total % 10


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield SKUs with what they lack, then barcodes that cannot be right."""
    for number in product.skus():
        assembly = product.assemblies[number]
        if assembly.bulk:
            continue
        records = [product.item(part) for part in inside(product, number)]
        roles = {item.packing.role for item in records if item is not None and item.packing is not None}
        missing = [role for role in _ROLES if role not in roles]
        if missing:
            yield Fault(
                message=f'the SKU "{number}" has {none_of(missing)}',
                place=place_of(product, "assembly", number, "id"),
                hint="add a line whose part says packing.role, or write bulk = true",
                facts=tuple(missing),
            )
        yield from _barcode(product, number, assembly.barcode)


def _barcode(product: Product, number: str, code: str | None) -> Iterator[Fault]:
    if code is None:
        place = place_of(product, "assembly", number, "barcode", key=True)
        yield Fault(message=f'the SKU "{number}" has no barcode', place=place)
        return
    place = place_of(product, "assembly", number, "barcode")
    if not (code.isascii() and code.isdigit()) or len(code) not in _LENGTHS:
        yield Fault(message=f'"{code}" is no GTIN of 8, 12, 13 or 14 digits', place=place, facts=(code,))
    elif check_digit(code[:-1]) != int(code[-1]):
        message = f"the check digit of {code} should be {check_digit(code[:-1])}"
        yield Fault(message=message, place=place, facts=(code,))


RULE = Rule(check=check, blocks_from="dvt")
