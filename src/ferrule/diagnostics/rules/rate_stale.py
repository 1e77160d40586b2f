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

from ferrule.compute.ages import is_older
from ferrule.compute.rates import counting, rates_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._amounts import used_currencies
from ferrule.model.product import Product
from ferrule.model.records.firms import Rate

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield currencies without a rate to the home currency, then rates in use that are too old."""
    home = product.head.currency
    used = used_currencies(product)
    rates = rates_of(product)
    for code in sorted(code for code in used if rates.chain(home, code) is None):
        yield Fault(
            message=f"there is no exchange rate between {code} and the home currency {home}",
            place=used[code],
            hint=f'add [[rate]] with rate = "1 {home} = ... {code}" and date = {setting.today}',
            facts=(code,),
        )
    for index in sorted(counting(product.rates).values()):
        rate = product.rates[index]
        if {rate.rate.base, rate.rate.quote} & (set(used) - {home}) and not rate.pegged:
            yield from _age(product, setting, index, rate)


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
