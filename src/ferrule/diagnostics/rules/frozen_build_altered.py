"""A frozen build is not what was frozen.

## What it finds

Locks that differ from the one at their tag, locks that were taken away while their tag lies in the history,
and tags that are not what `ferrule freeze` made: without a message, with the hash of another lock, or with
a signature that is gone. Where a lock has no tag here, the rule cannot decide. An edited lock is the matter
of `generated-file-edited`, and is told there.

## Why it matters

A frozen build is the evidence of what was sold. A record that can be changed afterwards proves nothing,
and a unit built from it cannot be built again.

## Example

Bad:

```toml
# frozen/spring-27.lock, computed again from a later commit under the same name
name = "spring-27"
day = 2027-02-01
```

Good:

```toml
# frozen/spring-27b.lock
name = "spring-27b"
day = 2027-02-01
supersedes = "spring-27"
```

## How to fix

Take the lock from its tag again: `git checkout frozen/NAME -- frozen/NAME.lock`. What has changed since is
a new build: `ferrule freeze NEW --supersedes NAME`. `ferrule verify NAME` shows every difference.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.lock_text import own_hash, stated_hash
from ferrule.diagnostics.finding import Fault, Place
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.model.frozen import FrozenBuild
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield frozen builds that are not what their tag says."""
    for build in product.frozen:
        fault = _fault(build)
        if fault is not None:
            yield fault


def _fault(build: FrozenBuild) -> Fault | None:
    tag = build.file.removesuffix(".lock")
    place = Place(file=build.file, line=1, column=1)
    back = f"git checkout {tag} -- {build.file}"
    if build.tag_fault:
        return Fault(
            message=build.tag_fault, place=place, hint=f"ferrule verify {build.name}", facts=(build.name,)
        )
    if build.text is None:
        message = f"the lock of {build.name} was taken away; its tag is still there"
        return Fault(message=message, place=place, hint=back, facts=(build.name,))
    if stated_hash(build.text) != own_hash(build.text) or not build.in_git:
        return None
    if build.tagged is None:
        message = f"the lock of {build.name} has no tag {tag} here, so nothing shows that it is unaltered"
        return Fault(
            message=message, place=place, hint="git fetch --tags", facts=(build.name,), undecided=True
        )
    if build.text != build.tagged:
        message = f"the lock of {build.name} is another one than at its tag {tag}"
        return Fault(message=message, place=place, hint=back, facts=(build.name, own_hash(build.text)))
    return None


RULE = Rule(check=check, waivable=False)
