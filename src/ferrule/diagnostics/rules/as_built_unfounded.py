"""A record of what was built does not fit the rest.

## What it finds

In `frozen/NAME.asbuilt.toml`: a frozen build that does not exist, units given out twice, lots and waivers of
units that no run made, parts and firms that nobody knows, and papers whose content is another.

## Why it matters

In a recall the question is which units hold the bad lot, and the answer is read from here. A unit missing
from it stays with its owner.

## Example

Bad:

```toml
[as_built]
freeze = "spring-27"

[[run]]
serials = "1-1200"
sku = "W20-SINGLE"

[[fitted]]
part = "CELL-18650"
lot = "2634"
serials = "1-1500"   # 1201 to 1500 were never made
```

Good:

```toml
[as_built]
freeze = "spring-27"

[[run]]
serials = "1-1200"
sku = "W20-SINGLE"

[[fitted]]
part = "CELL-18650"
lot = "2634"
serials = "1-640"
```

## How to fix

Correct the record from the factory's papers. The lock itself is never touched.

## Who may accept it

The person responsible for quality, with a limit.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault, Key
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.product import Product
from ferrule.model.records.as_built import AsBuiltFile
from ferrule.model.serials import Serials

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield what does not fit in the records of what was built."""
    known = {build.name for build in product.frozen}
    for name, file in product.as_built.items():
        if name not in known:
            message = f'there is no frozen build "{name}"'
            yield _fault(product, name, ("freeze",), message, f"ferrule freeze {name}")
        yield from _runs(product, name, file)
        yield from _outside_runs(product, name, file)
        yield from _strangers(product, name, file)
        yield from _papers(product, name, file)


def _fault(product: Product, name: str, path: tuple[Key, ...], message: str, hint: str = "") -> Fault:
    return Fault(
        message=message, place=place_of(product, "as_built", name, *path), hint=hint, facts=(message,)
    )


def _runs(product: Product, name: str, file: AsBuiltFile) -> Iterator[Fault]:
    made = Serials(())
    for index, run in enumerate(file.run):
        twice = run.serials.within(made)
        if len(twice):
            message = f"serial numbers {twice} were given out twice"
            yield _fault(product, name, ("run", index, "serials"), message)
        made = made.joined(run.serials)


def _outside_runs(product: Product, name: str, file: AsBuiltFile) -> Iterator[Fault]:
    made = Serials(())
    for run in file.run:
        made = made.joined(run.serials)
    rows: list[tuple[str, int, Serials | None]] = [
        *(("fitted", index, row.serials) for index, row in enumerate(file.fitted)),
        *(("built_under", index, row.serials) for index, row in enumerate(file.built_under)),
        *(("result", index, row.serials) for index, row in enumerate(file.result)),
    ]
    for table, index, serials in rows:
        strange = serials.without(made) if serials is not None else Serials(())
        if len(strange):
            message = f"serial numbers {strange} are in no run"
            yield _fault(
                product, name, (table, index, "serials"), message, f"runs made {made}" if len(made) else ""
            )


def _strangers(product: Product, name: str, file: AsBuiltFile) -> Iterator[Fault]:
    rows: list[tuple[str, int, str, str, str | None]] = []
    for index, run in enumerate(file.run):
        rows += [("run", index, "sku", "assembly", run.sku), ("run", index, "factory", "firm", run.factory)]
    for index, row in enumerate(file.fitted):
        rows += [("fitted", index, "part", "part", row.part), ("fitted", index, "maker", "firm", row.maker)]
        rows += [("fitted", index, "seller", "firm", row.seller)]
    for table, index, key, kind, number in rows:
        kinds = ("part", "assembly") if kind == "part" else (kind,)
        if number is not None and not any(product.knows(each, number) for each in kinds):
            yield _fault(product, name, (table, index, key), f'no file defines the {kind} "{number}"')


def _papers(product: Product, name: str, file: AsBuiltFile) -> Iterator[Fault]:
    for index, row in enumerate(file.result):
        digest = product.digests.get(row.file)
        if digest is None:
            yield _fault(product, name, ("result", index, "file"), f"there is no file {row.file}")
        elif row.sha256 is not None and digest != row.sha256:
            message = f"{row.file} has another content than recorded"
            yield _fault(product, name, ("result", index, "sha256"), message, f'sha256 = "{digest}"')


RULE = Rule(check=check, blocks_from="pvt")
