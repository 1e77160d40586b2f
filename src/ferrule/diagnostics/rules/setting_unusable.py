"""A setting of a scenario or lever leads nowhere.

## What it finds

Settings whose key path names no field of any record, or more than one, and settings that would give a
record another name. A value that does not fit its field has the message it would have in a file.

A key path is `KIND.NAME.FIELD`, and on into the field:

- KIND is part, assembly, firm, channel, lane, tool or calendar, each by its id; duty by its destination
  (`duty.EU`, with code and origin behind it where there are several, `any` where none is stated); rate by
  its two currencies (`rate.EUR.USD`); build, sales, overhead, one_off, funding or loan of the plan itself;
  stock, order, movement or made. `plan`, `product`, `policy` and `conventions` have no name.
- An entry of a list goes by its number, counted from 0 (`payment.1.due`), or by what identifies it
  (`steps.final assembly.cost`). A line goes by its item: `assembly.W20-210.line.10.qty`.
- A name with a point in it, or of digits only, stands in quotes: `'part."A.1".moq'`.
- The last field may be one that is not written yet, and its value may be a whole list or table.

## Why it matters

A scenario that changes nothing looks like a scenario that does no harm.

## Example

Bad:

```toml
[scenario.retailer-late]
set = { "channel.larkfeld.payment.0.due" = "receipt + 88 days" }
```

Good:

```toml
[scenario.retailer-late]
set = { "channel.larkfield.payment.0.due" = "receipt + 88 days" }
```

## How to fix

Correct the key path as the hint says, or take the setting out.

## Who may accept it

Nobody: a scenario that cannot be set cannot be computed.
"""

from __future__ import annotations

from ferrule.diagnostics.rule import Rule

__all__ = ["RULE"]

RULE = Rule(check=None, waivable=False)  # the reader finds it
