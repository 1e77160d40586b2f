"""A retailer's money is counted earlier than its terms and its pay-run allow.

## What it finds

Channels to a retailer or distributor that a plan sells in, whose receipts the plan counts earlier than the
contract has them: no terms are stated, so that money would come on the day of delivery; the channel's terms pay
earlier than those of the customer itself (`firm.payment`); or a settlement lag that is shorter than the terms.
Where nothing says on which days the customer pays (`settlement`), it cannot be decided; a `settlement` without
`pay_run` says that it pays on any day. Channels to end customers are left aside.

## Why it matters

Retailers pay from their own event, the receipt, then the term, then the next pay-run. A plan that forgets one of
the three finds its money weeks late, in the weeks in which it is at its lowest.

## Example

Bad:

```toml
[channel.larkfield]
kind = "retail"
settlement = { lag = "7 days" }
```

Good:

```toml
[channel.larkfield]
kind = "retail"
payment = [{ share = "100 %", due = "receipt + 60 days" }]
settlement = { pay_run = "thursday" }
```

## How to fix

State the terms of the contract in the channel, and the day of the week or month on which the customer pays.

## Who may accept it

Nobody: money is not sooner for being planned so.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from fractions import Fraction

from ferrule.compute.calendars import NoSuchDay
from ferrule.compute.terms import due_day, instalments, pay_run
from ferrule.diagnostics.finding import Fault
from ferrule.diagnostics.rule import Rule, Setting, place_of
from ferrule.diagnostics.rules._money import plans_ahead
from ferrule.model.due import Due
from ferrule.model.product import Product
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Channel
from ferrule.model.records.plan import PlanFile

__all__ = ["RULE"]

_WEEK = dt.timedelta(weeks=1)
_FRIDAY = dt.timedelta(days=4)
_WHOLE = Fraction(10_000)
_EVENTS = ("", "sale", "receipt", "arrival", "shipment", "invoice", "order")


def check(product: Product, setting: Setting) -> Iterator[Fault]:
    """Yield channels whose receipts come earlier than terms and pay-run allow, each once."""
    seen: set[str] = set()
    for plan in plans_ahead(product, setting.today):
        for sale in plan.sales:
            channel = product.channels.get(sale.channel)
            if channel is None or channel.kind == "direct" or sale.channel in seen:
                continue
            seen.add(sale.channel)
            yield from _faults(product, plan, sale.channel, channel)


def _faults(product: Product, plan: PlanFile, name: str, channel: Channel) -> Iterator[Fault]:
    customer = product.firms.get(channel.customer or "")
    contract = customer.payment if customer is not None else ()
    if not channel.payment:
        told = f'"{channel.customer}" pays {_words(contract)}' if contract else "no terms are stated"
        yield _fault(
            product, name, f'channel "{name}" counts receipts on the day of delivery; {told}', "payment"
        )
        return
    early = _days_early(plan, channel, contract) if contract else 0
    if early:
        message = f'channel "{name}" is paid {_words(channel.payment)}, up to {early} days before "{channel.customer}" pays'
        yield _fault(product, name, f"{message}: {_words(contract)}", "payment")
    lag = channel.settlement.lag if channel.settlement is not None else None
    if lag is not None and _days_early(plan, channel, channel.payment, lag=Due("sale", lag=lag)):
        message = f'channel "{name}" settles after {lag}, sooner than its terms: {_words(channel.payment)}'
        yield _fault(product, name, message, "settlement")
    if channel.settlement is None:
        yield Fault(
            message=f'channel "{name}" does not say on which days its customer pays',
            place=place_of(product, "channel", name, "payment"),
            hint='state settlement = { pay_run = "thursday" }, or settlement = {} for any day',
            facts=(name, "pay-run"),
            undecided=True,
        )


def _fault(product: Product, name: str, message: str, field: str) -> Fault:
    stated = getattr(product.channels[name], field)
    return Fault(
        message=message,
        place=place_of(product, "channel", name, *([field] if stated else []), key=not stated),
        hint="state the contract's terms in the channel's payment",
        facts=(name, field),
    )


def _words(terms: Sequence[Payment]) -> str:
    return ", ".join(f"{each.share} {each.due}" for each in terms)


def _days_early(plan: PlanFile, channel: Channel, contract: Sequence[Payment], lag: Due | None = None) -> int:
    """Return by how many days money is counted before the contract has it, at most, over the plan's weeks.

    Counted is what the channel's own terms say, or the whole amount after a lag. Of each amount delivered the
    n-th part of a hundred is compared with the n-th part by contract.
    """
    friday, most = plan.plan.start - dt.timedelta(days=plan.plan.start.weekday()) + _FRIDAY, 0
    try:
        for _ in range(53):
            counted = (
                _parts(channel, channel.payment, friday)
                if lag is None
                else [(due_day(lag, {"sale": friday}), _WHOLE)]
            )
            most = max(most, _earlier(counted, _parts(channel, contract, friday)))
            friday += _WEEK
    except NoSuchDay:
        return most
    return most


def _parts(channel: Channel, terms: Sequence[Payment], day: dt.date) -> list[tuple[dt.date | None, Fraction]]:
    events = dict.fromkeys(_EVENTS, day)
    return [
        (None if part.day is None else pay_run(part.day, channel.settlement), part.amount)
        for part in instalments(_WHOLE, channel.currency or "EUR", terms, events)
    ]


def _earlier(
    counted: Sequence[tuple[dt.date | None, Fraction]], agreed: Sequence[tuple[dt.date | None, Fraction]]
) -> int:
    """Return the most days by which one and the same part of the money is counted before it is agreed."""
    ours, theirs = _ladder(counted), _ladder(agreed)
    if ours is None or theirs is None:
        return 0
    steps = sorted({upto for upto, _ in (*ours, *theirs)})
    gaps = [(_day_of(theirs, step) - _day_of(ours, step)).days for step in steps]
    return max([0, *gaps])


def _ladder(
    parts: Sequence[tuple[dt.date | None, Fraction]],
) -> list[tuple[Fraction, dt.date]] | None:
    """Return the days by which rising sums are paid; None where a day is not known."""
    dated = sorted((day, amount) for day, amount in parts if day is not None)
    if len(dated) < len(parts):
        return None
    rows, total = [], Fraction(0)
    for day, amount in dated:
        total += amount
        rows.append((total, day))
    return rows


def _day_of(ladder: Sequence[tuple[Fraction, dt.date]], step: Fraction) -> dt.date:
    return next((day for upto, day in ladder if upto >= step), ladder[-1][1])


RULE = Rule(check=check, blocks_from="dvt")
