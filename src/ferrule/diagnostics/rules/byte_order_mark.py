"""A file starts with a byte order mark.

## What it finds

Files whose first bytes are EF BB BF. Some editors put them there unasked. The rest of the file is read
all the same.

## Why it matters

Other TOML readers refuse such a file, so it would work for you and not for a colleague.

## Example

Bad:

```toml
# the file begins with the bytes EF BB BF
name = "x"
```

Good:

```toml
name = "x"
```

## How to fix

Save the file as UTF-8 without a byte order mark.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
