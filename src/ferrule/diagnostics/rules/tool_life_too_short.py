"""A tool wears out before the planned units are made.

## What it finds

Tools whose life (`life` less `used`, in shots of `cavities` pieces each) does not reach what the plans need
of the parts they make. A quoted refurbishment (`refurbish`) clears it.

## Why it matters

A second tool is money and weeks that nobody planned, and it is noticed when the first one makes bad parts.

## Example

Bad:

```toml
[tool.T-001]
life = 3000
makes = ["W20-110"]      # 3,100 are needed
```

Good:

```toml
[tool.T-001]
life = 3000
refurbish = "6000 USD"
```

## How to fix

Order a second tool in time, have the refurbishment quoted, or correct the life.

## Who may accept it

Whoever answers for the tools. Usual exception: refurbishment quoted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import planned
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield tools that do not last."""
    needs: dict[str, Fraction] = defaultdict(Fraction)
    for plan in planned(product, setting.today):
        for row in plan.bought.rows:
            needs[row.part] += row.gross.total
        for demand in plan.bought.demands:
            for made in demand.made:
                needs[made.assembly] += made.starts
    for number, tool in sorted(product.tools.items()):
        need = max((needs.get(part, Fraction(0)) for part in tool.makes), default=Fraction(0))
        if tool.life is None or tool.refurbish is not None:
            continue
        left = (Fraction(tool.life) - Fraction(tool.used or 0)) * (tool.cavities or 1)
        if need > left:
            yield Fault(
                message=f'tool "{number}" still makes {shown_amount(max(left, Fraction(0)), 0)} pieces,'
                f" the plans need {shown_amount(need, 0)}",
                place=place_of(product, "tool", number, "life"),
                hint="have its refurbishment quoted, or plan a second tool",
                facts=(shown_amount(left, 0),),
            )


RULE = Rule(check=check, blocks_from="pvt")
