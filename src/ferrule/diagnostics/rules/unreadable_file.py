"""A file of the product cannot be read at all.

## What it finds

Symbolic links, folders and special files named like a TOML file, files without permission to read, files
of more than 64 MiB, names that are not UTF-8, submodules, and files in an unfinished merge.

## Why it matters

A file that is passed over in silence is a part that is not bought. A symbolic link may lead out of the
product, or to a file that is read twice.

## Example

Bad:

```toml
# parts/bolts.toml is a symbolic link to ../../other/bolts.toml
```

Good:

```toml
[part.BOLT]
name = "Bolt M3"
```

## How to fix

Do what the hint says for this file.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
