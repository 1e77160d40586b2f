"""A value cannot be read.

## What it finds

Quantities, amounts, percentages, durations, payment events, designators, delivery terms, dates and
identifiers that are not written in an accepted form. What cannot be read counts as not stated.

## Why it matters

Each of these values is exact. A form that has to be guessed would make a number that nobody wrote.

## Example

Bad:

```toml
lead_time = "12 wks"
```

Good:

```toml
lead_time = "12 weeks"
```

## How to fix

Write the value in one of the forms that the hint shows.

## Who may accept it

Nobody: a file that cannot be read cannot be judged.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
