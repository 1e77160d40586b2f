"""A value is of the wrong kind.

## What it finds

Text where a number is wanted, a table where a list is wanted, and the like.

## Why it matters

Text is never taken for a number: "5.000" is five in one country and five thousand in the next.

## Example

Bad:

```toml
moq = "5000"
```

Good:

```toml
moq = 5000
```

## How to fix

Write the value as the hint shows.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
