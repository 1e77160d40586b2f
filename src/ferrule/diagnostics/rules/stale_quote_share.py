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

from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.ages import is_older
from ferrule.compute.buy import BuyRow, OrderLine
from ferrule.diagnostics.finding import Fault, Related
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import money, place_of_source, planned
from ferrule.diagnostics.rules._wording import listed
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product
from ferrule.model.records.part import Source

__all__ = ["RULE"]


_ZERO = Fraction(0)
_NAMED = 3
_Old = tuple[BuyRow, OrderLine, Fraction]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield plans that rest on old quotes too much."""
    limit = Fraction(product.policy.stale_quote_share.fraction)
    for plan in planned(product, setting.today):
        orders = [(row, order) for row in plan.bought.rows for order in row.orders]
        total = sum((order.spend or _ZERO for _, order in orders), _ZERO)
        old = [
            (row, order, order.spend)
            for row, order in orders
            if order.spend and _is_old(product, setting, order.quote.source)
        ]
        share = sum((spend for _, _, spend in old), _ZERO) / total if total else _ZERO
        if share > limit:
            yield _fault(product, plan.file.plan.id, share, old)


def _is_old(product: Product, setting: Setting, source: Source) -> bool:
    if source.basis == "contract":
        return False
    return source.quoted is None or is_older(source.quoted, product.policy.quote_max_age, setting.today)


def _fault(product: Product, plan: str, share: Fraction, old: Sequence[_Old]) -> Fault:
    largest = sorted(old, key=lambda each: (-each[2], each[0].part, each[0].buyer or ""))[:_NAMED]
    undated = any(order.quote.source.quoted is None for _, order, _ in old)
    age = f"older than {product.policy.quote_max_age}{' or without a day' if undated else ''}"
    return Fault(
        message=f'{shown_amount(share * 100, 1)} % of what plan "{plan}" spends rests on quotes {age},'
        f" over {product.policy.stale_quote_share}",
        place=place_of(product, "plan", plan, "id"),
        related=tuple(_related(product, each) for each in largest),
        hint=f"ask again first for {listed(dict.fromkeys(row.part for row, _, _ in largest))}",
        facts=(plan,),
    )


def _related(product: Product, old: _Old) -> Related:
    row, order, spend = old
    day = order.quote.source.quoted or "on no day"
    note = f"quoted {day}, {money(product, spend)} of the plan"
    return Related(place=place_of_source(product, row, order, "quoted"), note=note)


RULE = Rule(check=check, warns_from="dvt", blocks_from=None)
