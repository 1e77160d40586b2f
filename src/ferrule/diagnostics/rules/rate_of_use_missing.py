"""Something used as required has no rate.

## What it finds

Fitted lines of as-required parts (glue, solder, grease) without `rate`, and phantom assemblies without a
line.

## Why it matters

Free glue is not free, and a cartridge that nobody ordered stops the line like any other part.

## Example

Bad:

```toml
[[line]]
item = 90
part = "GLUE"
```

Good:

```toml
[[line]]
item = 90
part = "GLUE"
rate = "0.4 g"
```

## How to fix

Weigh what ten units use and write a tenth of it.

## Who may accept it

Whoever answers for the build. Usual exception: a cost under 0.01 a unit.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._graph import each_line, line_place
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield as-required lines without rate or quantity, then empty phantoms."""
    for assembly, index, line in each_line(product):
        part = product.parts.get(line.part)
        if part is None or part.class_ != "as-required" or not line.fitted:
            continue
        if line.rate is None and line.qty is None:
            place = line_place(product, assembly, index, "rate", key=True)
            rate = "0.02" if part.unit == "each" else f'"0.4 {part.unit}"'
            yield Fault(
                message=f'item {line.item} of {assembly} uses "{line.part}" without a rate',
                place=place,
                hint=f"add rate = {rate}, as measured",
            )
    for number, record in sorted(product.assemblies.items()):
        unread = number in product.declared.get("assembly", ())
        if record.phantom and not product.lines.get(number) and not unread:
            yield Fault(
                message=f'the phantom "{number}" has no lines',
                place=place_of(product, "assembly", number, "phantom"),
            )


RULE = Rule(check=check, warns_from="pvt", blocks_from=None)
