"""Weekly cash of a plan: every document as dated payments, from what buy, cost and schedule work out.

Nothing is typed here that those compute: a dearer part, a longer lead time or a larger least order moves the payments.
Terms never change quantities. Only signed funding counts unless asked.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from msgspec import Struct, structs

from ferrule.compute.billing import Bill, BuildEvents, Purse, build_events
from ferrule.compute.bills import Facts, bills_of
from ferrule.compute.buy import Bought
from ferrule.compute.cost import UnitCost
from ferrule.compute.demand import us
from ferrule.compute.economics import margin_in
from ferrule.compute.ground import Ground, ground_of
from ferrule.compute.ledger import CashEvent, Early, Ledger, ledger
from ferrule.compute.margin import ChannelMargin
from ferrule.compute.memory import Memory
from ferrule.compute.outlays import last_day
from ferrule.compute.rates import Rates, rates_between
from ferrule.compute.selling import Weekly, usual_weeks, weekly_units
from ferrule.compute.takings import takings
from ferrule.compute.terms import Instalment, instalments, to_coin
from ferrule.model.product import Product
from ferrule.model.records.assembly import Assembly
from ferrule.model.records.firms import Channel, Rate
from ferrule.model.records.plan import Build, Plan, PlanFile, Sales
from ferrule.model.records.product import Conventions, Head

__all__ = ["Cash", "Ground", "Moved", "exposure", "ground_of", "plan_cash"]

_ZERO = Fraction(0)


class Cash(Struct, frozen=True, kw_only=True):
    """The cash of a plan under one scenario: its weeks, and what they rest on.

    ``floor`` is the plan's, None where it states none; ``opening_known`` says whether it states opening cash.
    ``hoped`` is funding that is not signed and does not count. ``moved`` is what the settings change of the money
    before the start; the ledger's opening holds it. ``weekly`` is what is sold week by week.
    """

    plan: str
    scenario: str
    ledger: Ledger
    floor: Fraction | None
    opening_known: bool
    unknown: tuple[str, ...]
    hoped: Fraction
    start: dt.date
    moved: Fraction = _ZERO
    weekly: Weekly | None = None

    @property
    def needed(self) -> Fraction:
        """Return the opening cash that keeps every week at the floor or above."""
        return self.ledger.needed(self.floor or _ZERO)


class Moved(Struct, frozen=True, kw_only=True):
    """What one lever, a pair or all of them do, against the plan as agreed.

    ``freed`` is the rise of the trough, ``profit`` the change in profit over all events. ``words`` say what
    is set. ``add`` is what the single levers free together, for pairs and all.
    """

    names: tuple[str, ...]
    words: tuple[str, ...]
    cash: Cash
    freed: Fraction
    profit: Fraction
    add: Fraction

    @property
    def cost_per_thousand(self) -> Fraction | None:
        """Return what a thousand freed costs in profit; None where nothing is freed."""
        return -self.profit * 1000 / self.freed if self.freed > 0 else None


def plan_cash(  # noqa: PLR0913  a plan, what it rests on, and how it is asked about
    product: Product,
    plan: PlanFile,
    ground: Ground,
    *,
    scenario: str = "as-agreed",
    hoped: bool = False,
    discounts: bool = False,
    memory: Memory | None = None,
    agreed: Cash | None = None,
) -> Cash:
    """Return the cash of a plan; ``hoped`` counts funding that is not signed, ``discounts`` takes those offered.

    ``product`` may differ from the one the ground was worked out for in terms of payment. A ``memory`` keeps
    payments for the next call. ``agreed`` is the plan without the settings: what they move to before the start is
    taken from the opening, which is the money left after the payments before it, and what they move from there
    is put back. Raises NoSuchDay, and NoWeek where the plan ends before it begins.
    """
    kept = memory if memory is not None else Memory()
    home, stated = product.head.currency, plan.plan
    purse = kept.of(_purse, us(product), home, product.rates)
    days = kept.of(build_events, ground.dates, stated, product.lanes, ground.book)
    facts = Facts(
        product=product,
        plan=plan,
        purse=purse,
        book=ground.book,
        bought=ground.bought,
        costs=ground.costs,
        dates=ground.dates,
        days=days,
    )
    bills = bills_of(facts, kept)
    weekly = kept.of(_weekly, stated, plan.sales, plan.build, days, product.head, product.assemblies)
    margins = _margins(kept, product, ground.costs)
    sold = takings(kept, purse, stated.id, weekly, margins, product.assemblies, product.channels, ground.book)
    since = max(ground.today, stated.start) if discounts else None
    paid = (kept.of(_paid, kept, purse, group, hoped, since) for group in bills)
    events = [event for group in (*paid, *sold) for event in group]
    opening = purse.rates.money(stated.opening, home, home) if stated.opening is not None else None
    found = ledger(events, stated.start, last_day(stated), opening or _ZERO)
    moved = _moved_before(found, stated, agreed)
    if moved:
        found = ledger(events, stated.start, last_day(stated), (opening or _ZERO) + moved)
    unsigned = (bill for group in bills for bill in group if not bill.signed and bill.incoming)
    return Cash(
        plan=stated.id,
        scenario=scenario,
        ledger=found,
        floor=purse.rates.money(stated.floor, home, home) if stated.floor is not None else None,
        opening_known=opening is not None,
        unknown=tuple(_unknown(found, ground.bought, weekly)),
        hoped=sum((bill.amount or _ZERO for bill in unsigned), _ZERO),
        start=stated.start,
        moved=moved,
        weekly=weekly,
    )


def _moved_before(found: Ledger, stated: Plan, agreed: Cash | None) -> Fraction:
    """Return what settings change of the money before the start; nothing where they change the start itself.

    The same payment in its own currency is no change: what was paid before does not follow a rate of today.
    """
    if agreed is None or agreed.start != stated.start:
        return _ZERO
    now, then = _by_payment(found.before), _by_payment(agreed.ledger.before)
    return _unmatched(now, then) - _unmatched(then, now)


_Payments = Mapping[tuple[str, str, Fraction | None], list[Fraction]]


def _by_payment(events: Iterable[CashEvent]) -> _Payments:
    """Return known amounts in the home currency by document, currency and amount in it."""
    found: dict[tuple[str, str, Fraction | None], list[Fraction]] = {}
    for event in events:
        if event.amount is not None:
            found.setdefault((event.document, event.currency, event.own), []).append(event.amount)
    return found


def _unmatched(ones: _Payments, others: _Payments) -> Fraction:
    """Return the sum of the payments that the others do not hold."""
    return sum(
        (amount for key, amounts in ones.items() for amount in amounts[len(others.get(key, ())) :]), _ZERO
    )


def _purse(own: str, home: str, rates: tuple[Rate, ...]) -> Purse:
    return Purse(own=own, home=home, rates=rates_between(rates))


def _weekly(  # noqa: PLR0913, PLR0917  what the weeks are made from
    stated: Plan,
    sales: tuple[Sales, ...],
    builds: tuple[Build, ...],
    days: BuildEvents,
    head: Head,
    assemblies: Mapping[str, Assembly],
) -> Weekly:
    """Return what is sold by week; builds arrive on the days their bills are made with."""
    arrivals = {name: day for name, each in days.items() if (day := each["arrival"]) is not None}
    plan = PlanFile(plan=stated, sales=sales, build=builds)
    return weekly_units(plan, arrivals, usual=usual_weeks(Product(head=head, assemblies=assemblies)))


def _margins(
    memory: Memory, product: Product, costs: Mapping[str, UnitCost]
) -> dict[tuple[str, str], ChannelMargin]:
    """Return what a unit leaves in each channel; of several builds of a SKU the last one counts."""
    found = {}
    for cost in costs.values():
        assembly = product.assemblies[cost.ask.sku]
        for name in assembly.sale:
            channel = product.channels.get(name)
            if channel is not None:
                found[cost.ask.sku, name] = memory.of(
                    _margin, cost, assembly, name, channel, product.rates, product.head, product.conventions
                )
    return found


def _margin(  # noqa: PLR0913, PLR0917  all that a margin may depend on
    cost: UnitCost,
    assembly: Assembly,
    name: str,
    channel: Channel,
    rates: tuple[Rate, ...],
    head: Head,
    conventions: Conventions,
) -> ChannelMargin:
    small = Product(
        head=head,
        conventions=conventions,
        assemblies={cost.ask.sku: assembly},
        channels={name: channel},
        rates=rates,
    )
    return margin_in(small, cost, name)


def _paid(
    memory: Memory,
    purse: Purse,
    bills: tuple[Bill, ...],
    hoped: bool,  # noqa: FBT001  kept by position
    since: dt.date | None,
) -> tuple[CashEvent, ...]:
    """Return the payments of bills; of what is not signed only if hoped for."""
    found: list[CashEvent] = []
    for bill in bills:
        if bill.signed or hoped:
            found += memory.of(_payments, purse, bill, since)
    return tuple(found)


def _payments(purse: Purse, bill: Bill, since: dt.date | None) -> tuple[CashEvent, ...]:
    return tuple(_events(bill, purse.rates, purse.home, since))


def _events(bill: Bill, rates: Rates, home: str, since: dt.date | None) -> Iterator[CashEvent]:
    """Yield the payments of a bill; what was paid before is taken off the first instalments.

    In the home currency what is paid up to an instalment is rounded, not the instalment: terms change no total.
    From the day ``since`` on, an instalment of which nothing is paid yet is paid early for less where its terms
    offer that.
    """
    if bill.amount is None:
        yield _event(bill, None, None, "amount not known")
        return
    settled = so_far = to_coin(bill.amount * bill.paid, bill.currency)
    for agreed in instalments(
        bill.amount, bill.currency, bill.payments, bill.events, bill.units, convert=rates.convert
    ):
        part = agreed if bill.incoming or settled else _discounted(agreed, since)
        rest = max(_ZERO, part.amount - settled)
        settled = max(_ZERO, settled - part.amount)
        if not rest:
            continue
        before, so_far = so_far, so_far + rest
        step = [rates.convert(each, bill.currency, home) for each in (before, so_far)]
        amount = None if None in step else _between(step, home)
        event = _event(bill, part.day, (rest, amount), part.words)
        yield event if part.discounted is None else structs.replace(event, early=_early(event, part, home))


def _early(event: CashEvent, part: Instalment, home: str) -> Early:
    """Return what settles a payment early: the same share of what is left of it."""
    share = (part.discounted or _ZERO) / part.amount
    return Early(part.discount_day, None if event.amount is None else to_coin(event.amount * share, home))


def _discounted(part: Instalment, since: dt.date | None) -> Instalment:
    """Return an instalment paid early for its discount, as it is where none is offered or its day has passed."""
    if since is None or part.discounted is None or part.discount_day is None or part.discount_day < since:
        return part
    words = f"{part.words}, discount taken"
    return structs.replace(
        part, day=part.discount_day, amount=part.discounted, words=words, discounted=None, discount_day=None
    )


def _between(step: Iterable[Fraction | None], currency: str) -> Fraction:
    before, after = (to_coin(each or _ZERO, currency) for each in step)
    return after - before


def _event(
    bill: Bill,
    day: dt.date | None,
    amounts: tuple[Fraction, Fraction | None] | None,
    words: str,
) -> CashEvent:
    sign = 1 if bill.incoming else -1
    own, amount = amounts if amounts is not None else (None, None)
    return CashEvent(
        day=day,
        amount=None if amount is None else sign * amount,
        own=None if own is None else sign * own,
        currency=bill.currency,
        kind=bill.kind,
        document=bill.name,
        payer=bill.payer,
        payee=bill.payee,
        words=words,
        reason=bill.reason,
        home=bill.home,
        facts=bill.facts,
        financing=bill.financing,
        incoming=bill.incoming,
    )


def _unknown(found: Ledger, bought: Bought, weekly: Weekly) -> Iterator[str]:
    for event in found.unknown:
        what = "day" if event.amount is not None else "amount"
        yield f"{what} of {event.document} ({event.words})"
    yield from bought.unknown
    yield from weekly.unknown


def exposure(found: Ledger, home: str) -> tuple[tuple[str, Fraction, Fraction], ...]:
    """Return for each other currency what is still to come in and to go out in it within the plan."""
    sums: dict[str, list[Fraction]] = {}
    for event in found.events:
        if event.currency != home and event.own is not None:
            pair = sums.setdefault(event.currency, [_ZERO, _ZERO])
            pair[0 if event.own > 0 else 1] += abs(event.own)
    return tuple((currency, pair[0], pair[1]) for currency, pair in sorted(sums.items()))
