"""A least quantity or a pack forces an order far over the need.

## What it finds

Orders of a plan that cannot be smaller and are above the policy's multiple of the gross need
(`order_to_need`, twice by default), with an excess worth more than `leftover_ignored`. An excess that a firm
later build uses up is left aside, and so is one that is bought because more costs less.

## Why it matters

The rest is paid for and lies there. Small parts with large least quantities are where a first build's cash
goes unnoticed.

## Example

Bad:

```toml
[[part.PKG-BOX.source]]          # 120 are needed
moq = 1000
```

Good:

```toml
[[part.PKG-BOX.source]]
moq = 200
```

## How to fix

Ask for a smaller least quantity or a cut pack, share the part between products, or take another source.

## Who may accept it

Whoever answers for the cost. Usual exceptions: a later firm build uses it; it is worth little.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.buy import BuyRow, OrderLine
from ferrule.compute.quotes import Form
from ferrule.compute.rates import rates_of
from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting
from ferrule.diagnostics.rules._plans import money, place_of_source, planned, quantity
from ferrule.model.exact import in_full
from ferrule.model.product import Product
from ferrule.model.records.part import Source

__all__ = ["RULE"]


_ZERO = Fraction(0)


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield orders far over the need."""
    ignored = _ignored(product)
    for plan in planned(product, setting.today):
        for row in plan.bought.rows:
            least = sum((_least(order) for order in row.orders), _ZERO)
            excess = least - row.netted.net - row.later.qty
            if excess <= 0 or least <= Fraction(product.policy.order_to_need) * row.gross.total:
                continue
            worth = _worth(row, excess)
            if worth is None or worth > ignored:
                yield _fault(product, plan.file.plan.id, row, least, worth)


def _ignored(product: Product) -> Fraction:
    stated = product.policy.leftover_ignored
    home = product.head.currency
    return (rates_of(product).money(stated, home, home) if stated is not None else None) or _ZERO


def _tightest(order: OrderLine) -> Form:
    """Return the form of a source in which the least can be ordered."""
    need = order.purchase.need
    return min(order.quote.forms or (order.quote.bare,), key=lambda form: form.rounded(need))


def _least(order: OrderLine) -> Fraction:
    """Return the least that can be ordered to cover the need: more may be bought where it costs less."""
    return min(order.qty, _tightest(order).rounded(order.purchase.need))


def _worth(row: BuyRow, excess: Fraction) -> Fraction | None:
    baskets = [order.basket for order in row.orders if order.basket is not None]
    if len(baskets) < len(row.orders):
        return None
    return excess * sum((basket.goods for basket in baskets), _ZERO) / row.ordered


def _fault(product: Product, plan: str, row: BuyRow, least: Fraction, worth: Fraction | None) -> Fault:
    order = max(row.orders, key=lambda order: _least(order) - order.purchase.need)
    path, smaller = _cause(order)
    need, ordered = (quantity(product, row.part, number) for number in (row.gross.total, least))
    known = f", {money(product, worth)} of it too much" if worth is not None else ""
    return Fault(
        message=f'plan "{plan}" needs {need} of "{row.part}" and has to order {ordered}{known}',
        place=place_of_source(product, row, order, *path),
        hint=f"ask {order.quote.source.seller or 'the seller'} for {smaller}, or find a later build that uses it",
        facts=(plan, in_full(least)),
    )


def _cause(order: OrderLine) -> tuple[Path, str]:
    """Return the path in the source of what keeps an order large, and what to ask for."""
    form, source, need = _tightest(order), order.quote.source, order.purchase.need
    pack: Path = form.path[:2] if form.path[0] == "pack" else ("pack", 0)
    if form.rounded(need) == math.ceil(need / form.step) * form.step:
        multiple = _stated(source, pack, "multiple")
        return (multiple, "smaller steps") if multiple else ((*pack, "size"), "a smaller pack")
    if form.breaks and form.breaks[0][0] > form.minimum:
        return (*form.path, 0, "from"), "its price of a smaller quantity"
    return _stated(source, pack, "moq") or ("moq",), "a smaller least quantity"


def _stated(source: Source, pack: Path, key: str) -> Path | None:
    """Return where a source states its least quantity or step: for the pack, else for all."""
    number = int(pack[1])
    if number < len(source.pack) and getattr(source.pack[number], key) is not None:
        return (*pack, key)
    return (key,) if getattr(source, key) is not None else None


RULE = Rule(check=check, blocks_from="pvt", warns_from="evt")
