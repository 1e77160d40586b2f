"""A generated file was changed by hand.

## What it finds

Locks in `frozen/` whose text is not the one that was written: its own hash does not fit, or it states none.
Line ends that a checkout changed are no difference.

## Why it matters

A file that is computed and then corrected by hand holds two truths. The next one who computes it again
loses the correction, and until then nobody knows which of the two was built.

## Example

Bad:

```toml
# frozen/spring-27.lock, after a quantity was corrected in an editor
[hashes]
text = "5e2aca5e141573165a601ec17a450841cbd1c7fbf107c69295e5776dccac7f99"
```

Good:

```toml
# frozen/spring-27.lock, as `ferrule freeze` wrote it
[hashes]
text = "386c70480025a083db1047d68f61cdc5aaca4059d5ea8c317148acc6f1a61362"
```

## How to fix

Take the lock from its tag again: `git checkout frozen/NAME -- frozen/NAME.lock`. If the build has changed,
freeze a new one that supersedes it.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.lock_text import own_hash, stated_hash
from ferrule.diagnostics.finding import Fault, Place
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield locks that were edited."""
    for build in product.frozen:
        if build.text is None:
            continue
        stated, own = stated_hash(build.text), own_hash(build.text)
        if stated != own:
            why = "its own hash does not fit" if stated else "it states no hash of its own"
            tag = build.file.removesuffix(".lock")
            yield Fault(
                message=f"the lock of {build.name} was changed by hand: {why}",
                place=Place(file=build.file, line=1, column=1),
                hint=f"git checkout {tag} -- {build.file}",
                facts=(build.name, own),
            )


RULE = Rule(check=check, waivable=False)
