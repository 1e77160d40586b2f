"""A key is not known in its table.

## What it finds

Keys and tables that the format does not have. The nearest known key is named.

## Why it matters

A misspelt key is a fact that nobody reads: `lead_tme` would leave the part without a lead time,
silently.

## Example

Bad:

```toml
[part.BOLT]
nmae = "Bolt M3"
```

Good:

```toml
[part.BOLT]
name = "Bolt M3"
```

## How to fix

Correct the key. If a fact has no place in the format, put it into `note`.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
