"""A tool's record leaves open what it costs or whose it is.

## What it finds

Tools without amount or payment schedule, and (moulds, dies, fixtures, jigs, stencils, plates, gauges and
other things) without owner, custodian or asset mark. Soft tools need no mark; certification, engineering
and set-up costs are nobody's to hold; a tool made `in_house` needs no schedule.

## Why it matters

A tool paid for but not marked and not recorded is a hostage: the price of getting it back is whatever the
holder asks.

## Example

Bad:

```toml
[tool.T-1]
name = "Mould, housing"
kind = "mould"
amount = "27500 USD"
```

Good:

```toml
[tool.T-1]
name = "Mould, housing"
kind = "mould"
amount = "27500 USD"
schedule = [{ share = "40 %", due = "order" }, { share = "rest", due = "approval" }]
owner = "wrenfield"
custodian = "harbour"
mark = "WREN-T-001"
```

## How to fix

Add what is missing; have the mark engraved and photographed.

## Who may accept it

Whoever pays for tools. Usual exception: soft prototype tools.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._wording import none_of
from ferrule.model.product import Product
from ferrule.model.records.tool import Tool

__all__ = ["RULE"]

#: Kinds that are money only: nothing stands anywhere.
_MONEY_ONLY = ("certification", "engineering", "set-up")


def _missing(tool: Tool) -> list[str]:
    states: dict[str, object] = {"amount": tool.amount}
    if not tool.in_house:
        states["schedule"] = tool.schedule
    if tool.kind not in _MONEY_ONLY:
        states |= {"owner": tool.owner, "custodian": tool.custodian}
        if not tool.soft:
            states["mark"] = tool.mark
    return [key for key, value in states.items() if value is None or value == ()]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield tools with what their record lacks."""
    for number, tool in sorted(product.tools.items()):
        missing = _missing(tool)
        if missing:
            yield Fault(
                message=f'the {tool.kind} "{number}" states {none_of(missing)}',
                place=place_of(product, "tool", number, missing[0], key=True),
                facts=tuple(missing),
            )


RULE = Rule(check=check, blocks_from="evt")
