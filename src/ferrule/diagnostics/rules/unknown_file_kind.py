"""A file has tables that tell no kind of file.

## What it finds

TOML files of the product whose first tables are none of those that name a kind: product, part, assembly,
firm, tool, plan, stock, waiver and their like.

## Why it matters

A misspelt table would otherwise be data that nobody reads.

## Example

Bad:

```toml
[prt.BOLT]
```

Good:

```toml
[part.BOLT]
```

## How to fix

Correct the name of the table, or move the file out of the product's folder.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
