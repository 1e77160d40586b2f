"""A file is not UTF-8 text.

## What it finds

Files with bytes that are no UTF-8, at the first such byte. A spreadsheet or an old editor saved them in
another encoding.

## Why it matters

TOML is UTF-8. Guessing an encoding would turn µ and Ω into something else without a word.

## Example

Bad:

```toml
# saved in a one-byte encoding: the µ is the single byte b5
value = "10 ?F"
```

Good:

```toml
value = "10 µF"
```

## How to fix

Save the file as UTF-8 in your editor.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
