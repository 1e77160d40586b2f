"""It is not known which program a part is loaded with.

## What it finds

Programmed parts whose image has no version, or no firmware document with a `sha256`; and images that are no
part of class firmware. A part that says `programmed.blank_until` is blank when it is bought and built in;
its image may still be open.

## Why it matters

The wrong firmware looks right until the field. A version alone can be built twice; the sum of the file
cannot.

## Example

Bad:

```toml
[part.FW-W20]
class = "firmware"
version = "2.4.1"
```

Good:

```toml
[part.FW-W20]
class = "firmware"
version = "2.4.1"

[[part.FW-W20.document]]
kind = "firmware"
file = "firmware/w20-2.4.1.bin"
sha256 = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
```

## How to fix

Add version, file and sum to the firmware part; `sha256sum FILE` prints the sum.

## Who may accept it

Whoever releases firmware. Usual exception: a part that stays blank until a later step
(`programmed.blank_until`).
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._wording import none_of
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield programmed parts whose image is not pinned down."""
    for number, part in sorted(product.parts.items()):
        if part.programmed is None:
            continue
        image = product.parts.get(part.programmed.image)
        if image is None:
            continue
        place = place_of(product, "part", number, "programmed", "image")
        name = part.programmed.image
        if image.class_ != "firmware":
            message = f'"{name}", which "{number}" is loaded with, is not of class firmware'
            yield Fault(message=message, place=place, facts=(name,))
            continue
        pinned = any(document.kind == "firmware" and document.sha256 for document in image.document)
        missing = [] if image.version else ["version"]
        missing += [] if pinned else ["firmware file with sha256"]
        if missing and not part.programmed.blank_until:
            home = Related(place=place_of(product, "part", name, key=True), note="the firmware")
            yield Fault(
                message=f'the firmware "{name}" of "{number}" states {none_of(missing)}',
                place=place,
                related=(home,),
                facts=tuple(missing),
            )


RULE = Rule(check=check, blocks_from="dvt")
