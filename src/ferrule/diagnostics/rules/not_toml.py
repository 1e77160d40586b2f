r"""A file is not TOML 1.0.

## What it finds

Files the TOML 1.0 grammar refuses: a missing quote, a key or table given twice, an unresolved merge
conflict, syntax that came with TOML 1.1 (line breaks and closing commas in inline tables, the escapes
\e and \x), lists nested more than 400 deep, numbers of more than 4,300 digits.

## Why it matters

Nothing in the file can be used until it can be read, and a file that one version of a tool reads and
another does not breaks someone else's commit.

## Example

Bad:

```toml
# the text has no closing quote
# name = "Bolt
```

Good:

```toml
name = "Bolt"
```

## How to fix

Mend the place that is named. One TOML version for everyone is on purpose.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
