"""A placed part says nothing about what is lost.

## What it finds

Parts that a machine places (`placement = "machine"`, or electrical parts with designators and no other
placement) without `attrition` or without `setup_loss`, on the part or on its line. Zero is an answer;
nothing is not.

## Why it matters

A placement machine loses parts on every reel it mounts and some in between. Without both figures the
line stops for forty resistors.

## Example

Bad:

```toml
[part.R-10K]
class = "electrical"
placement = "machine"
```

Good:

```toml
[part.R-10K]
class = "electrical"
placement = "machine"
attrition = "1.5 %"
setup_loss = 40
```

## How to fix

Ask the factory for its figures; 1 to 3 percent and 20 to 100 pieces a reel are common practice for small
chip parts. For a part placed by hand say `placement = "hand"`.

## Who may accept it

Whoever answers for the build. Usual exception: hand-placed parts.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._graph import each_line
from ferrule.model.product import Product
from ferrule.model.records.assembly import Line

__all__ = ["RULE"]


def _placed(product: Product) -> dict[str, list[Line]]:
    """Return the fitted lines of every part that a machine places."""
    lines: dict[str, list[Line]] = {}
    for _, _, line in each_line(product):
        part = product.parts.get(line.part)
        if part is None or not line.fitted:
            continue
        by_default = part.placement is None and part.class_ == "electrical" and line.designators is not None
        if part.placement == "machine" or by_default:
            lines.setdefault(line.part, []).append(line)
    return lines


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield placed parts that lack one figure or both."""
    for number, lines in sorted(_placed(product).items()):
        part = product.parts[number]
        missing = []
        if part.attrition is None and any(line.attrition is None for line in lines):
            missing.append("attrition")
        if part.setup_loss is None and any(line.setup_loss is None for line in lines):
            missing.append("setup_loss")
        if missing:
            examples = {"attrition": 'attrition = "1.5 %"', "setup_loss": "setup_loss = 40"}
            yield Fault(
                message=f'"{number}" is placed by machine without {" and ".join(missing)}',
                place=place_of(product, "part", number, missing[0], key=True),
                hint="add " + " and ".join(examples[key] for key in missing) + ", by the factory's figures",
                facts=tuple(missing),
            )


RULE = Rule(check=check, blocks_from="dvt")
