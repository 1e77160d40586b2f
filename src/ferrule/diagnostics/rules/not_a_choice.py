"""A value is none of the words that can stand here.

## What it finds

Values of keys that know a fixed set of words.

## Why it matters

A word that only looks right would be treated as none of them.

## Example

Bad:

```toml
status = "aproved"
```

Good:

```toml
status = "approved"
```

## How to fix

Use one of the words that are named.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
