"""A part can be had from one maker only.

## What it finds

Bought parts and assemblies whose approved sources all come from one maker. Two sellers of one maker's
article are one source. A source that states no maker counts as its seller's own where the seller is a maker
or factory (`roles`); otherwise it proves no second maker. Part classes that the policy lists as
`commodities` are left aside, and so are tools' and factory-made items (`in_house`).

## Why it matters

One fire, one bankruptcy or one allocation stops the product for as long as another source takes to qualify.
The figure to weigh it with: (weeks to qualify less weeks of cover) times units a week times contribution of
a unit.

## Example

Bad:

```toml
[[part.U-MCU.source]]
maker = "quillmere"
seller = "norholt"
status = "approved"
```

Good:

```toml
[[part.U-AMP.source]]
maker = "dunlin"
status = "approved"

[[part.U-AMP.source]]
maker = "sanderby"
status = "approved"
```

## How to fix

Approve a source of another maker, or an alternate on every line that uses the part. Or accept the risk in a
waiver that says what it costs and how many weeks are covered.

## Who may accept it

Whoever answers for supply, with a money figure and the weeks of cover, and a last day.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.compute.makers import is_sole_sourced, makers_behind
from ferrule.compute.use import approved, bought, use_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.product import Product
from ferrule.model.records.part import Source

__all__ = ["RULE"]


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield bought items with one maker behind them."""
    spots = use_of(product).spots
    for kind, number, item in bought(product):
        if is_sole_sourced(product, item, spots.get(number, ())):
            sources = list(approved(item))
            makers = makers_behind(product, item)
            yield Fault(
                message=f'{kind} "{number}" {_words([source for _, source in sources], makers)}',
                place=place_of(product, kind, number, "source", sources[0][0], key=True),
                hint="approve a source of another maker, or waive it with what it would cost",
                facts=tuple(makers),
            )


def _words(sources: list[Source], makers: set[str]) -> str:
    sellers = sorted({source.seller for source in sources if source.seller} - makers)
    sold = f", sold by {listed(sellers)}" if sellers else ""
    if not makers:
        return f"has no approved source whose maker is known{sold}"
    return f"comes from one maker only: {listed(makers)}{sold}"


RULE = Rule(check=check, warns_from="dvt", blocks_from="production")
