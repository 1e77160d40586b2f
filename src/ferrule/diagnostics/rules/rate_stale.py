"""An exchange rate is missing or too old.

## What it finds

Every currency that a file uses and that cannot be turned into the product's home currency by the exchange
rates stated; and every rate in use that has no date or is older than the policy `rate_max_age` (14 days
unless the product says otherwise). Of several rates for the same pair the newest counts. A pegged pair
(`pegged = true`) does not age.

## Why it matters

Costs and cash in a foreign currency are only as good as the rate. A few percent on a currency are more than
most negotiations gain, and a missing rate leaves part of the cost out of the sum.

## Example

Bad:

```toml
[[rate]]
rate = "1 EUR = 1.08 USD"
date = 2026-03-02
```

Good:

```toml
[[rate]]
rate = "1 EUR = 1.08 USD"
date = 2026-11-20
evidence = "central bank reference rate"
```

## How to fix

Look the rate up, and write it with its direction and its day.

## Who may accept it

Whoever answers for the cash plan. Usual exception: a pegged pair.
"""

from __future__ import annotations

from collections.abc import Iterator

from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._ages import is_older
from ferrule.diagnostics.rules._amounts import used_currencies
from ferrule.model.product import Product
from ferrule.model.records.firms import Rate

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield currencies without a rate to the home currency, then rates in use that are too old."""
    home = product.head.currency
    used = used_currencies(product)
    known = _linked(product, home)
    for code in sorted(set(used) - known):
        yield Fault(
            message=f"there is no exchange rate between {code} and the home currency {home}",
            place=used[code],
            hint=f'add [[rate]] with rate = "1 {home} = ... {code}" and date = {setting.today}',
            facts=(code,),
        )
    for index, rate in _newest(product):
        if {rate.rate.base, rate.rate.quote} & (set(used) - {home}) and not rate.pegged:
            yield from _age(product, setting, index, rate)


def _linked(product: Product, home: str) -> frozenset[str]:
    """Return the currencies that rates lead to from the home currency, over others if need be."""
    found = {home}
    pairs = [{rate.rate.base, rate.rate.quote} for rate in product.rates]
    while any(len(pair & found) == 1 for pair in pairs):
        for pair in pairs:
            if pair & found:
                found |= pair
    return frozenset(found)


def _newest(product: Product) -> list[tuple[int, Rate]]:
    """Return the rate that counts for each pair with its index, in file order."""
    best: dict[frozenset[str], tuple[int, Rate]] = {}
    for index, rate in enumerate(product.rates):
        pair = frozenset((rate.rate.base, rate.rate.quote))
        if pair not in best or _rank(rate) > _rank(best[pair][1]):
            best[pair] = (index, rate)
    return sorted(best.values(), key=lambda row: row[0])


def _rank(rate: Rate) -> tuple[bool, str]:
    return rate.pegged, str(rate.date or "")


def _age(product: Product, setting: Setting, index: int, rate: Rate) -> Iterator[Fault]:
    place = place_of(product, "rate", index, "date", key=rate.date is None)
    if rate.date is None:
        yield Fault(
            message=f"the exchange rate {rate.rate} has no date",
            place=place,
            hint="add date = the day of the rate",
        )
    elif is_older(rate.date, product.policy.rate_max_age, setting.today):
        days = (setting.today - rate.date).days
        message = f"the exchange rate {rate.rate} is {days} days old, over {product.policy.rate_max_age}"
        yield Fault(message=message, place=place, facts=(str(rate.date),))


RULE = Rule(check=check, blocks_from="evt")
