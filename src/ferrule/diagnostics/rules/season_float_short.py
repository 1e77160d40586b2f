"""Goods arrive too close to the day by which they must be on sale.

## What it finds

Plans with a season day (`plan.season`) whose first build arrives, at the longest times of every leg, with
fewer open days to spare than the policy asks for (`season_float`), or after it. Days are counted in our own
calendar.

## Why it matters

One storm at sea, one inspection at customs, and the season is missed; what was meant for it is sold off a
year later.

## Example

Bad:

```toml
[plan]
season = 2027-06-14

[[build]]
receive_by = 2027-06-10
```

Good:

```toml
[plan]
season = 2027-06-14

[[build]]
receive_by = 2027-05-28
```

## How to fix

Receive earlier, ship a part by air, or keep an air budget and say so in a waiver.

## Who may accept it

Whoever answers for the season. Usual exception: an air budget reserved.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ferrule.compute.calendars import working_days_between
from ferrule.compute.leads import rough_days
from ferrule.compute.owners import book_of
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._plans import planned
from ferrule.model.duration import Duration
from ferrule.model.exact import shown_amount
from ferrule.model.product import Product

__all__ = ["RULE"]


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield plans whose first arrival leaves too little float before the season."""
    needed = product.policy.season_float
    for plan in planned(product, setting.today):
        season = plan.file.plan.season
        if season is None or plan.dates is None:
            continue
        arrivals = [
            (max(build.due, build.earliest), build.build)
            for build in plan.dates.builds
            if build.due is not None
        ]
        if not arrivals:
            continue
        arrives, build = min(arrivals)
        book = book_of(product)
        spare = working_days_between(book.of_firm(book.own), arrives, season)
        if spare < _open_days(needed):
            words = (
                "after the season" if spare < 0 else f"{shown_amount(spare, 0)} open days before the season"
            )
            yield Fault(
                message=f'build "{build}" arrives on {arrives}, {words} of {season}; {needed} are asked for',
                place=place_of(product, "plan", plan.file.plan.id, "season"),
                hint="receive earlier, or ship a part by air",
                facts=(plan.file.plan.id, str(arrives), str(season)),
            )


def _open_days(span: Duration) -> Fraction:
    """Return a span in open days; calendar days count five for seven."""
    return Fraction(span.count) if span.unit == "working days" else rough_days(span) * 5 / 7


RULE = Rule(check=check, warns_from="pvt", blocks_from=None)
