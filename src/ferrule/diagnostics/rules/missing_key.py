"""A table lacks a key it cannot do without.

## What it finds

Tables without a key that identifies them or gives them sense, such as a line without `item` and `part`.
The table is left out of the answer.

## Why it matters

Without it nothing can refer to the record, and a guess would change when another is added.

## Example

Bad:

```toml
[[line]]
qty = 2
```

Good:

```toml
[[line]]
item = 10
part = "BOLT"
qty = 2
```

## How to fix

Add the key that is named.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
