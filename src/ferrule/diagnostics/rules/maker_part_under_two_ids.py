"""One maker's part has two numbers here.

## What it finds

Two of our parts whose sources name the same maker and the same maker part number. Parts that are
programmed, or that say in `note` that they are graded, selected, sorted or binned, may share one.

## Why it matters

The volume is split over two numbers: two minimum orders, two leftovers, the dearer price break, and a
change that reaches only one of them.

## Example

Bad:

```toml
[[part.R-10K.source]]
maker = "ashfield"
maker_part = "AR0603-1002F"

[[part.R-10K-B.source]]
maker = "ashfield"
maker_part = "AR0603-1002F"
```

Good:

```toml
[[part.R-10K.source]]
maker = "ashfield"
maker_part = "AR0603-1002F"
```

## How to fix

Keep one number and use it in both places.

## Who may accept it

Whoever answers for the list. Usual exception: grading or programming makes them different.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product
from ferrule.model.records.part import Part

__all__ = ["RULE"]

#: Words by which a note says that the article is not taken as it comes.
_GRADED = re.compile(r"\b(grad(e|ed|es|ing)|select(ed|ion|ing)?|sort(ed|ing)|binn(ed|ing))\b", re.IGNORECASE)


def _may_share(part: Part) -> bool:
    return part.programmed is not None or _GRADED.search(part.note or "") is not None


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield each later part that a maker's number leads to."""
    first: dict[tuple[str, str], tuple[str, int]] = {}
    for number in sorted(product.parts):
        part = product.parts[number]
        for index, source in enumerate(part.source):
            if source.maker is None or source.maker_part is None or _may_share(part):
                continue
            other, position = first.setdefault((source.maker, source.maker_part), (number, index))
            if other != number:
                place = place_of(product, "part", other, "source", position, "maker_part")
                yield Fault(
                    message=f'"{source.maker_part}" of {source.maker} is both "{other}" and "{number}"',
                    place=place_of(product, "part", number, "source", index, "maker_part"),
                    related=(Related(place=place, note=f"here it is {other}"),),
                    facts=(other,),
                )


RULE = Rule(check=check, blocks_from="evt")
