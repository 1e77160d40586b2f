"""Too much of a plan's spend rests on old quotes.

## What it finds

Plans of which more than the policy allows (`stale_quote_share`) is bought at prices quoted longer ago than
`quote_max_age`, or on a day nobody wrote down. Contract prices do not age.

## Why it matters

One old quote is a risk; a list of them makes the whole model stale. Prices drift together, and always the
wrong way when parts are scarce.

## Example

Bad:

```toml
[[part.U-MCU.source]]            # a third of the spend
quoted = 2026-02-01
```

Good:

```toml
[[part.U-MCU.source]]
quoted = 2026-10-01
```

## How to fix

Ask again for the quotes that carry most of the money, and write down their day.

## Who may accept it

Whoever answers for the cost. Usual exception: contract prices (`basis = "contract"`).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.buy import BuyRow
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._ages import is_older
from ferrule.diagnostics.rules._plans import planned
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product
from ferrule.model.records.part import Source

__all__ = ["RULE"]


_ZERO = Fraction(0)


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield plans that rest on old quotes too much."""
    limit = Fraction(product.policy.stale_quote_share.fraction)
    for plan in planned(product, setting.today):
        spends = [(row, order.quote.source, order.spend) for row in plan.bought.rows for order in row.orders]
        total = sum((spend for _, _, spend in spends if spend is not None), _ZERO)
        old = [(row, spend) for row, source, spend in spends if spend and _is_old(product, setting, source)]
        share = sum((spend for _, spend in old), _ZERO) / total if total else _ZERO
        if share > limit:
            yield _fault(product, plan.file.plan.id, share, old)


def _is_old(product: Product, setting: Setting, source: Source) -> bool:
    if source.basis == "contract":
        return False
    return source.quoted is None or is_older(source.quoted, product.policy.quote_max_age, setting.today)


def _fault(product: Product, plan: str, share: Fraction, old: list[tuple[BuyRow, Fraction]]) -> Fault:
    largest = sorted(old, key=lambda pair: (-pair[1], pair[0].part))[:3]
    names = ", ".join(row.part for row, _ in largest)
    return Fault(
        message=f'{shown_amount(share * 100, 0)} % of what plan "{plan}" spends rests on quotes older than'
        f" {product.policy.quote_max_age}, over {product.policy.stale_quote_share}",
        place=place_of(product, "plan", plan, "id"),
        hint=f"ask again first for {names}",
        facts=(plan,),
    )


RULE = Rule(check=check, warns_from="dvt", blocks_from=None)
