"""A document that a record names is not there.

## What it finds

Files named under `document`, or as a step's program, that the product's folder does not hold at this
revision, and fabricated parts and boards that name neither a drawing nor a board file nor a model.

## Why it matters

Without the drawing the factory builds what it remembers. A link into someone's drive is not there in
five years.

## Example

Bad:

```toml
[[part.HOUSING.document]]
kind = "drawing"
file = "docs/housing.pdf"   # no such file
```

Good:

```toml
[[part.HOUSING.document]]
kind = "drawing"
file = "docs/drawings/housing-b.pdf"
rev = "B"
```

## How to fix

Add the file to the repository at that path, or correct the path. Paths start in the product's folder and
stay in it.

## Who may accept it

Nobody: the factory needs it.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._use import use_of
from ferrule.model.product import Product
from ferrule.model.records.common import Document
from ferrule.model.text import nearest

__all__ = ["RULE", "documents"]

_DEFINING = ("drawing", "board", "model")


def documents(product: Product) -> Iterator[tuple[str, str, Path, Document]]:
    """Yield every named document with kind, id and path of the record that names it."""
    for kind, number, item in product.items():
        yield from ((kind, number, ("document", i), document) for i, document in enumerate(item.document))
    for number, assembly in product.assemblies.items():
        for i, step in enumerate(assembly.steps):
            if step.program is not None:
                yield "assembly", number, ("steps", i, "program"), step.program
    for number, tool in product.tools.items():
        yield from (("tool", number, ("document", i), document) for i, document in enumerate(tool.document))


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield named files that are not there, then parts that nothing defines."""
    for kind, number, path, document in documents(product):
        if document.file in product.digests:
            continue
        best = nearest(document.file, product.digests)
        yield Fault(
            message=f'the {document.kind} "{document.file}" of {number} is not in the product',
            place=place_of(product, kind, number, *path, "file"),
            hint=f'did you mean "{best}"?'
            if best
            else "add the file, or correct the path (it starts in the product's folder)",
            facts=(document.file,),
        )
    used = use_of(product).spots
    for number, part in sorted(product.parts.items()):
        defined = any(document.kind in _DEFINING for document in part.document)
        if part.class_ in ("fabricated", "board") and number in used and not defined:
            yield Fault(
                message=f'the {part.class_} part "{number}" names no drawing, board file or model',
                place=place_of(product, "part", number, "document", key=True),
                hint=f'add [[part.{number}.document]] with kind = "drawing" and file',
            )


RULE = Rule(check=check, blocks_from="dvt", waivable=False)
