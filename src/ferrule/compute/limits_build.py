"""The largest build a plan can carry: every carton multiple tried, with what stops it in money, parts and time.

What a build takes is not monotone: at a price break or a full reel a larger build can take less money than a
smaller one. So nothing is halved: every quantity up to a ceiling is bought, costed and paid on its own, and the
smaller quantities that cannot be paid are told as well.

Most by parts = least over the parts that cannot be bought in time of floor((usable + receipts by the date) /
gross per unit); then time, which capacities lengthen; then cash.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.buy import BuyRow
from ferrule.compute.cash import Cash, Ground

__all__ = ["BuildLimit", "Gap", "Rung", "Short", "Stop", "build_limit", "rung_of"]

_ZERO = Fraction(0)


class Short(Struct, frozen=True, kw_only=True):
    """A part that a build cannot be given in time: what is at hand for it, and how many units that makes."""

    part: str
    at_hand: Fraction
    each: Fraction
    days: int

    @property
    def units(self) -> int:
        """Return the units that what is at hand makes."""
        return math.floor(self.at_hand / self.each) if self.each else 0


class Rung(Struct, frozen=True, kw_only=True):
    """One quantity of a build: what the plan then needs at the start, where it is lowest, and what is late.

    ``needed`` is the opening cash that keeps every week at the floor, ``over`` what is left of the plan's own
    (below zero: what lacks). ``week`` is the first below the floor, else the lowest. ``late_by`` are the days by
    which the build arrives too late at best, ``held_by`` what it waits for. ``orders`` is what each part's
    orders cost in this plan. ``open`` says that something is not known: the need is then at least this.
    """

    qty: int
    needed: Fraction
    over: Fraction
    week: int
    shorts: tuple[Short, ...] = ()
    late_by: int = 0
    held_by: tuple[str, ...] = ()
    kinds: tuple[tuple[str, Fraction], ...] = ()
    orders: tuple[tuple[str, Fraction], ...] = ()
    open: bool = False

    @property
    def is_paid(self) -> bool:
        """Return whether every week stays at the floor or above."""
        return self.over >= 0


class Gap(Struct, frozen=True, kw_only=True):
    """Quantities side by side that cannot be paid, from the first to the last, below the largest that can."""

    first: Rung
    last: Rung


class Stop(Struct, frozen=True, kw_only=True):
    """One limit of a build: "cash", "parts" or "time", the most it allows (None: nothing tried), and why.

    ``beyond`` says that it allows everything up to the ceiling.
    """

    name: str
    most: int | None
    beyond: bool
    words: str


class BuildLimit(Struct, frozen=True, kw_only=True):
    """Every quantity tried, smallest first, and what follows.

    ``largest`` is the largest quantity that can be paid, ``after`` the next one tried, ``gaps`` the smaller
    ranges that cannot be paid. ``stops`` are the limits, the tightest first. ``causes`` says which orders make
    the next quantity dearer, the largest rise first.
    """

    build: str
    sku: str
    planned: int
    step: int
    ceiling: int
    rungs: tuple[Rung, ...]
    largest: Rung | None
    after: Rung | None
    gaps: tuple[Gap, ...]
    stops: tuple[Stop, ...]
    causes: tuple[tuple[str, Fraction], ...]

    @property
    def most(self) -> int | None:
        """Return the largest quantity that all limits allow."""
        return self.stops[0].most


def rung_of(build: str, qty: int, cash: Cash, ground: Ground) -> Rung:
    """Return how a plan stands with a quantity of one of its builds."""
    floor = cash.floor or _ZERO
    over = cash.ledger.trough.balance - floor
    week = cash.ledger.first_below(floor) or cash.ledger.trough
    dates = next((each for each in ground.dates.builds if each.build == build), None)
    late = dates.late_by if dates is not None else 0
    return Rung(
        qty=qty,
        needed=cash.ledger.opening - cash.moved - over,
        over=over,
        week=week.number,
        shorts=tuple(_shorts(build, qty, ground)),
        late_by=late,
        held_by=tuple(dict.fromkeys(dates.binding.items)) if dates is not None and late else (),
        kinds=_until_week(cash, cash.ledger.trough.number),
        orders=tuple(_orders(ground)),
        open=bool(cash.unknown),
    )


def _until_week(cash: Cash, last: int) -> tuple[tuple[str, Fraction], ...]:
    """Return what each kind of payment comes to by the end of a week, the largest outflow first."""
    sums: dict[str, Fraction] = {"more paid before the start": cash.moved} if cash.moved else {}
    for week in cash.ledger.weeks[: last + 1]:
        for kind, amount in week.kinds.items():
            sums[kind] = sums.get(kind, _ZERO) + amount
    return tuple(sorted(sums.items(), key=lambda pair: (pair[1], pair[0])))


def _orders(ground: Ground) -> Iterator[tuple[str, Fraction]]:
    """Yield what the orders of each part cost, pool by pool."""
    for row in ground.bought.rows:
        spend = row.spend
        if spend:
            yield row.part, spend


def _shorts(build: str, qty: int, ground: Ground) -> Iterator[Short]:
    """Yield the parts of a build that are short and cannot be bought in time."""
    dates = next((each for each in ground.dates.builds if each.build == build), None)
    if dates is None:
        return
    late = {
        order.item: order.late_by for order in dates.orders if order.order.kind == "part" and order.late_by
    }
    for row in ground.bought.rows:
        if row.part in late and _net(row, build) > 0:
            yield _short(row, build, qty, late[row.part])


def _net(row: BuyRow, build: str) -> Fraction:
    nets = zip(row.wanted, row.netted.nets, strict=True)
    return sum((net for (name, _), net in nets if name == build), _ZERO)


def _short(row: BuyRow, build: str, qty: int, days: int) -> Short:
    gross = sum((each.gross for name, each in row.wanted if name == build), _ZERO)
    return Short(part=row.part, at_hand=gross - _net(row, build), each=gross / qty, days=days)


def build_limit(build: str, sku: str, planned: int, step: int, rungs: Sequence[Rung]) -> BuildLimit:
    """Return what quantities tried in rising order say; there must be one at least."""
    paid = [rung for rung in rungs if rung.is_paid]
    largest = paid[-1] if paid else None
    after = next((rung for rung in rungs if largest is None or rung.qty > largest.qty), None)
    return BuildLimit(
        build=build,
        sku=sku,
        planned=planned,
        step=step,
        ceiling=rungs[-1].qty,
        rungs=tuple(rungs),
        largest=largest,
        after=after,
        gaps=tuple(_gaps(rungs, largest)),
        stops=tuple(
            sorted(_stops(rungs, largest), key=lambda stop: (stop.most or 0, stop.beyond, stop.name))
        ),
        causes=_causes(largest, after),
    )


def _gaps(rungs: Sequence[Rung], largest: Rung | None) -> Iterator[Gap]:
    below = [rung for rung in rungs if largest is not None and rung.qty < largest.qty]
    for is_paid, group in itertools.groupby(below, key=lambda rung: rung.is_paid):
        run = list(group)
        if not is_paid:
            yield Gap(first=run[0], last=run[-1])


def _stops(rungs: Sequence[Rung], largest: Rung | None) -> Iterator[Stop]:
    ceiling = rungs[-1].qty
    yield _cash_stop(rungs, largest)
    served = _until(rungs, [not rung.shorts for rung in rungs])
    short = next((rung for rung in rungs if rung.shorts), None)
    if short is None:
        yield Stop(name="parts", most=ceiling, beyond=True, words="every part can be had in time")
    else:
        least = min(short.shorts, key=lambda each: (each.units, each.part))
        words = f"{least.part} can no longer be bought in time; what is at hand makes {least.units:,}"
        yield Stop(name="parts", most=served or least.units, beyond=False, words=words)
    late = next((rung for rung in rungs if rung.late_by), None)
    if late is None:
        yield Stop(name="time", most=ceiling, beyond=True, words="it arrives in time at every quantity")
    else:
        held = f", waiting for {late.held_by[0]}" if late.held_by else ""
        words = f"{late.qty:,} arrive {late.late_by} days late{held}"
        yield Stop(
            name="time", most=_until(rungs, [not rung.late_by for rung in rungs]), beyond=False, words=words
        )


def _cash_stop(rungs: Sequence[Rung], largest: Rung | None) -> Stop:
    if largest is None:
        return Stop(name="cash", most=None, beyond=False, words=f"the floor in week {rungs[0].week}")
    after = next((rung for rung in rungs if rung.qty > largest.qty), None)
    words = "the money lasts at every quantity" if after is None else f"the floor in week {after.week}"
    return Stop(name="cash", most=largest.qty, beyond=after is None, words=words)


def _until(rungs: Sequence[Rung], kept: Sequence[bool]) -> int | None:
    """Return the last quantity before the first that does not keep a condition."""
    good = list(itertools.takewhile(lambda pair: pair[1], zip(rungs, kept, strict=True)))
    return good[-1][0].qty if good else None


def _causes(largest: Rung | None, after: Rung | None) -> tuple[tuple[str, Fraction], ...]:
    if largest is None or after is None:
        return ()
    before, then = _summed(largest), _summed(after)
    rises = [(part, cost - before.get(part, _ZERO)) for part, cost in then.items()]
    return tuple(sorted((rise for rise in rises if rise[1] > 0), key=lambda rise: (-rise[1], rise[0])))


def _summed(rung: Rung) -> dict[str, Fraction]:
    found: dict[str, Fraction] = {}
    for part, cost in rung.orders:
        found[part] = found.get(part, _ZERO) + cost
    return found
