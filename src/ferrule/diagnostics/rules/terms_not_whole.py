"""Payment terms do not add up to the whole.

## What it finds

Lists of instalments (of firms, sources, tools, channels, lanes, builds and one-off costs) whose
percentages do not make exactly 100, unless one share is `rest`. What is paid with each unit comes out of the
rest, so beside percentages that are all of the amount already it would make more than the whole.

## Why it matters

A tenth that is due at no time is a tenth that no cash plan shows.

## Example

Bad:

```toml
[tool.T-1]
name = "Mould"
kind = "mould"
schedule = [{ share = "40 %", due = "order" }, { share = "50 %", due = "approval" }]
```

Good:

```toml
[tool.T-1]
name = "Mould"
kind = "mould"
schedule = [{ share = "40 %", due = "order" }, { share = "rest", due = "approval" }]
```

## How to fix

Correct the shares, or write `rest` for the last.

## Who may accept it

Nobody.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from ferrule.diagnostics.finding import Fault, Path
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.model.number import plain
from ferrule.model.product import Product
from ferrule.model.records.common import Payment
from ferrule.model.shares import whole

__all__ = ["RULE"]

_ALL = 100
_Terms = tuple[str, str, Path, tuple[Payment, ...]]


def _terms(product: Product) -> Iterator[_Terms]:
    for kind, number, item in product.items():
        yield from (
            (kind, number, ("source", i, "payment"), source.payment) for i, source in enumerate(item.source)
        )
    yield from (("firm", number, ("payment",), firm.payment) for number, firm in product.firms.items())
    yield from (
        ("channel", number, ("payment",), channel.payment) for number, channel in product.channels.items()
    )
    yield from (("lane", number, ("payment",), lane.payment) for number, lane in product.lanes.items())
    yield from (("tool", number, ("schedule",), tool.schedule) for number, tool in product.tools.items())
    for number, plan in product.plans.items():
        yield from (
            ("plan", number, ("build", i, "payment"), build.payment) for i, build in enumerate(plan.build)
        )
        yield from (
            ("plan", number, ("one_off", i, "payment"), cost.payment) for i, cost in enumerate(plan.one_off)
        )


def check(product: Product, _: Setting) -> Iterator[Fault]:
    """Yield terms whose shares are less or more than all."""
    for kind, number, path, payments in _terms(product):
        missing = whole(payment.share for payment in payments) if payments else None
        if missing is None:
            if _has_more_than_all(payments):
                yield Fault(
                    message="the shares are all of the amount, and an amount for each unit is due besides",
                    place=place_of(product, kind, number, *path),
                    hint='write the last percentage as "rest": it is what the units leave',
                    facts=("per unit",),
                )
            continue
        rests = sum(1 for payment in payments if payment.share.rest)
        if rests > 1:
            message = f"{rests} shares are the rest, and there can be one"
        else:
            message = f"the shares add up to {plain(100 - missing)} %, not 100 %"
        if missing < 0 and rests == 1:
            message += ", and there is a rest besides"
        hint = 'write the last share as "rest"' if missing > 0 and not rests else ""
        yield Fault(
            message=message, place=place_of(product, kind, number, *path), hint=hint, facts=(str(missing),)
        )


def _has_more_than_all(payments: Iterable[Payment]) -> bool:
    shares = [payment.share for payment in payments]
    total = sum((share.percent.number for share in shares if share.percent is not None), Decimal(0))
    return total >= _ALL and any(share.per_unit is not None for share in shares)


RULE = Rule(check=check, waivable=False)
