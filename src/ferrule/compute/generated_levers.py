"""Levers nobody wrote down: thirty days on each balance, twenty points on each deposit, the other way of shipping.

They are read off the payments a plan really makes and set by key path only, so they fit any product. What the other
side would ask in return is not known and never guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from msgspec import Struct

from ferrule.compute.ledger import CashEvent
from ferrule.model.due import Due
from ferrule.model.duration import Duration, TimeUnit
from ferrule.model.exact import exact
from ferrule.model.number import plain
from ferrule.model.product import Product
from ferrule.model.records.common import Payment
from ferrule.model.records.firms import Channel, Lane
from ferrule.model.records.plan import Build, PlanFile

__all__ = ["DAYS", "POINTS", "Path", "Proposal", "generate_levers"]

DAYS = 30
POINTS = 20
Path = tuple[str | int, ...]
#: Events before anything is made: what falls due on them is a deposit.
_START = ("order", "kick-off", "start")
#: Thirty days in other units: a month, and four weeks and two days of five working days each.
_STEPS: Mapping[TimeUnit, tuple[Decimal, TimeUnit]] = {
    "days": (Decimal(DAYS), "days"),
    "weeks": (Decimal(DAYS), "days"),
    "working days": (Decimal(22), "working days"),
    "months": (Decimal(1), "months"),
    "years": (Decimal(1), "months"),
}
_WAYS = {"sea": "sea", "sea container": "sea", "air": "air", "courier": "air"}


class Proposal(Struct, frozen=True, kw_only=True):
    """A term that could be asked for, or be asked of us: its name, its settings by path, and whose it is.

    ``ask`` is True where it helps our cash, False where it hurts, None where only the figures can say.
    """

    name: str
    settings: tuple[tuple[Path, str], ...]
    other: str
    ask: bool | None


class _Terms(Struct, frozen=True):
    """Terms in use: the path to their list, whose they are, and whether they are paid to us."""

    path: Path
    payments: tuple[Payment, ...]
    name: str
    other: str
    incoming: bool = False


def generate_levers(product: Product, plan: PlanFile, events: Iterable[CashEvent]) -> tuple[Proposal, ...]:
    """Return what could be varied in the terms that the payments of a plan follow, and in how its builds ship.

    For each list of terms in use: its balance (the last instalment after the order) thirty days later and sooner,
    its deposit (the first with the order) twenty points smaller and larger. A step beyond what is possible ends
    where it must: at the event, at no deposit, at what the other shares leave. Channels that settle at once have
    their lag varied; builds go by each lane to the same place by the other of sea and air.
    """
    found: dict[Path, _Terms] = {}
    channels: dict[str, Channel] = {}
    for event in events:
        for terms in _terms(product, plan, event):
            found.setdefault(terms.path, terms)
        name = _channel(plan, event)
        if name in product.channels:
            channels[name] = product.channels[name]
    proposals = [
        *(each for terms in found.values() for each in _of_terms(terms)),
        *(each for name, channel in channels.items() for each in _of_settlement(name, channel)),
        *_of_lanes(product, plan),
    ]
    return tuple(_apart(proposals))


def _apart(proposals: Sequence[Proposal]) -> Iterator[Proposal]:
    """Yield proposals by name, each name once: a further one of the same name is left to its path."""
    seen: dict[str, Proposal] = {}
    for each in proposals:
        key = (
            each.name if each.name not in seen else f"{each.name} ({'.'.join(map(str, each.settings[0][0]))})"
        )
        seen.setdefault(key, each)
    for name in sorted(seen):
        each = seen[name]
        yield Proposal(name=name, settings=each.settings, other=each.other, ask=each.ask)


# --- which terms a payment follows ------------------------------------------------------------------------


def _terms(product: Product, plan: PlanFile, event: CashEvent) -> Iterator[_Terms]:
    """Yield the terms an event's document is paid by, found as its bill finds them: its own before the firm's."""
    match event.home:
        case ("part" | "assembly" as kind, str(number), "source", int(index)):
            item = product.item(number)
            if item is not None and index < len(item.source):
                source = item.source[index]
                path = (kind, number, "source", index, "payment")
                yield from _own_or_firm(product, path, source.payment, number, source.seller)
        case ("tool", str(number), "amount"):
            tool = product.tools[number]
            yield from _own_or_firm(product, ("tool", number, "schedule"), tool.schedule, number, tool.firm)
        case ("plan", _, "build", int(index)):
            build = plan.build[index]
            assembly = product.assemblies.get(build.sku)
            factory = build.factory or (assembly.factory if assembly is not None else None)
            yield from _own_or_firm(
                product, ("build", _build_key(plan, index), "payment"), build.payment, build.name, factory
            )
        case ("lane", str(number)) if event.kind == "freight":
            lane = product.lanes[number]
            yield from _own_or_firm(
                product, ("lane", number, "payment"), lane.payment, lane.name, lane.carrier
            )
        case ("plan", _, "one_off", int(index)):
            once = plan.one_off[index]
            yield from _own_or_firm(product, ("one_off", index, "payment"), once.payment, once.name, None)
        case ("order", int(index)):
            yield from _of_order(product, index)
        case ("plan", _, "sales", int(index)):
            name = plan.sales[index].channel
            channel = product.channels.get(name)
            if channel is not None and channel.payment:
                yield _Terms(
                    ("channel", name, "payment"),
                    channel.payment,
                    name,
                    channel.customer or name,
                    incoming=True,
                )


def _of_order(product: Product, index: int) -> Iterator[_Terms]:
    order = product.orders[index]
    item = product.item(order.part)
    sources = item.source if item is not None else ()
    at = next((i for i, source in enumerate(sources) if source.seller == order.seller), None)
    kind = "part" if order.part in product.parts else "assembly"
    own = sources[at].payment if at is not None else ()
    path: Path = (kind, order.part, "source", at or 0, "payment")
    yield from _own_or_firm(product, path, own, order.part, order.seller)


def _own_or_firm(
    product: Product, path: Path, own: tuple[Payment, ...], name: str, firm: str | None
) -> Iterator[_Terms]:
    record = product.firms.get(firm or "")
    if own:
        yield _Terms(path, own, name, firm or "")
    elif firm is not None and record is not None and record.payment:
        yield _Terms(("firm", firm, "payment"), record.payment, firm, firm)


def _channel(plan: PlanFile, event: CashEvent) -> str:
    match event.home:
        case ("plan", _, "sales", int(index)):
            return plan.sales[index].channel
    return ""


def _build_key(plan: PlanFile, index: int) -> str | int:
    """Return how a path names a build: by its name, by its place where two share one."""
    name = plan.build[index].name
    return name if sum(build.name == name for build in plan.build) == 1 else index


# --- what is proposed for them ----------------------------------------------------------------------------


def _of_terms(terms: _Terms) -> Iterator[Proposal]:
    balance = _last(terms.payments, lambda payment: payment.due.event not in _START)
    deposit = next((i for i, payment in enumerate(terms.payments) if payment.due.event in _START), None)
    alone = len(terms.payments) == 1
    if balance is None and alone:
        balance = 0
    if balance is not None:
        yield from _balance(terms, balance, "" if alone else " balance")
    if deposit is not None and not alone:
        yield from _deposit(terms, deposit)


def _balance(terms: _Terms, index: int, word: str) -> Iterator[Proposal]:
    due = terms.payments[index].due
    for sign in (1, -1):
        moved = _moved(due, sign, clamped=terms.incoming or due.event in _START)
        if moved != due:
            yield Proposal(
                name=f"{terms.name}{word} {_signed(sign * DAYS)} days",
                settings=(((*terms.path, index, "due"), str(moved)),),
                other=terms.other,
                ask=(sign < 0) == terms.incoming,
            )


def _deposit(terms: _Terms, index: int) -> Iterator[Proposal]:
    """Yield the deposit smaller and larger; what it gives or takes is in the rest, else in the last percentage."""
    share = terms.payments[index].share.percent
    closing = _last(terms.payments, lambda payment: payment.share.rest)
    if closing is None:
        closing = _last(terms.payments, lambda payment: payment.share.percent is not None)
    if share is None or closing is None or closing == index:
        return
    percents = [
        payment.share.percent.number for payment in terms.payments if payment.share.percent is not None
    ]
    rest = terms.payments[closing].share.percent
    with exact():
        room = 100 - sum(percents, Decimal(0)) if rest is None else rest.number
        steps = (-min(Decimal(POINTS), share.number), min(Decimal(POINTS), room))
        shares = [(share.number + step, None if rest is None else rest.number - step) for step in steps]
    for step, (own, others) in zip(steps, shares, strict=True):
        settings = [((*terms.path, index, "share"), f"{plain(own.normalize())} %")]
        if others is not None:
            settings.append(((*terms.path, closing, "share"), f"{plain(others.normalize())} %"))
        if step:
            yield Proposal(
                name=f"{terms.name} deposit {_signed(step)} points",
                settings=tuple(settings),
                other=terms.other,
                ask=(step < 0) != terms.incoming,
            )


def _of_settlement(name: str, channel: Channel) -> Iterator[Proposal]:
    settlement = channel.settlement
    if channel.kind != "direct" or channel.payment or settlement is None:
        return
    before = Due("settlement", lag=settlement.lag)
    for sign in (1, -1):
        moved = _moved(before, sign, clamped=True)
        if moved != before:
            yield Proposal(
                name=f"{name} settlement {_signed(sign * DAYS)} days",
                settings=(
                    (("channel", name, "settlement", "lag"), str(moved.lag or Duration(Decimal(0), "days"))),
                ),
                other=channel.customer or name,
                ask=sign < 0,
            )


def _of_lanes(product: Product, plan: PlanFile) -> Iterator[Proposal]:
    for index, build in enumerate(plan.build):
        lane = product.lanes.get(build.lane or "")
        for name in _siblings(product, build, lane) if lane is not None else ():
            way = _WAYS[product.lanes[name].mode]
            yield Proposal(
                name=f"{build.name} by {way}, {name}",
                settings=((("build", _build_key(plan, index), "lane"), name),),
                other=product.lanes[name].carrier or "",
                ask=None,
            )


def _siblings(product: Product, build: Build, lane: Lane) -> list[str]:
    """Return the lanes that go to the same border by the other of sea and air, those to the same door if any do."""
    own = _WAYS.get(lane.mode)
    others = [
        name
        for name, other in product.lanes.items()
        if name != build.lane
        and own is not None
        and _WAYS.get(other.mode, own) != own
        and other.destination == lane.destination
    ]
    same_door = [name for name in others if product.lanes[name].to == lane.to]
    return same_door or others


def _moved(due: Due, sign: int, *, clamped: bool) -> Due:
    """Return a due day thirty days later or sooner; ``clamped`` never before its event."""
    unit = due.lag.unit if due.lag is not None else "days"
    step, counted = _STEPS[unit]
    with exact():
        stated = Decimal(0) if due.lag is None else _in(due.lag, counted)
        now = (-stated if due.before else stated) + sign * step
        if clamped and now < 0:
            now = min(Decimal(0), -stated if due.before else stated)
        if now % 1 and counted == "days":
            return due
        lag = Duration(abs(now), counted) if now else None
    return Due(due.event, due.month_end, lag, before=now < 0)


def _in(lag: Duration, unit: TimeUnit) -> Decimal:
    """Return the count of a lag in the unit it is moved by: weeks in days, years in months."""
    factors: Mapping[tuple[TimeUnit, TimeUnit], int] = {("weeks", "days"): 7, ("years", "months"): 12}
    return lag.count * factors.get((lag.unit, unit), 1)


def _signed(number: Decimal | int) -> str:
    return f"{'+' if number > 0 else '-'}{plain(abs(Decimal(number)))}"


def _last(payments: Sequence[Payment], chosen: Callable[[Payment], Any]) -> int | None:
    return next((i for i in range(len(payments) - 1, -1, -1) if chosen(payments[i])), None)
