"""An identifier is defined twice.

## What it finds

Two records of one kind with the same identifier, a part and an assembly with the same number, or a
second [product] table. The first one, by path, is used.

## Why it matters

Two truths about one number: which one is bought would depend on the order of files.

## Example

Bad:

```toml
[part.BOLT]
name = "Bolt M3"
# and in another file again:
# [part.BOLT]
```

Good:

```toml
[part.BOLT]
name = "Bolt M3"

[part.BOLT-LONG]
name = "Bolt M3 x 30"
```

## How to fix

Give one of the two another number, or merge them.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
