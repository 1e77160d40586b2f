"""What is owed if a plan is stopped, cut or moved on a day: what is bound, less what is still used, at its fee.

For each order: committed less consumed by the builds that go on, times price, times the fee of cancelling (all of
it where nothing can be cancelled, none outside the window); for the factory's stock with its mark-up and storage;
for a tool what is not yet paid. What is paid already and lost stands beside what is still owed. What is not
ordered owes nothing. A decision is made on the Monday of a week, before anything of that week is ordered or paid,
and stands against the money there is that morning.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Mapping
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from ferrule.compute.ledger import Ledger
from ferrule.compute.regret_commitments import Commitment, Commitments, Pool, in_layers
from ferrule.compute.regret_terms import Fee, fee_of, may_move
from ferrule.compute.tooling import unrecovered
from ferrule.model.product import Product

__all__ = ["Cut", "CutTo", "Moving", "Owed", "Stopped", "cut_at", "slip_at", "stop_at", "stops_by_week"]

_ZERO, _ONE = Fraction(0), Fraction(1)
Needs = Mapping[Pool, Mapping[str, Fraction]]


class Owed(Struct, frozen=True, kw_only=True):
    """One commitment on the day of a decision.

    ``used`` is the value of what goes on and has to be paid anyway, ``wasted`` what is owed for nothing, ``paid``
    what is paid of both. ``open`` says that the terms of cancelling are not stated. ``exposed`` is what of a
    tool is not recovered. All in the home currency.
    """

    commitment: Commitment
    fee: Fee
    over: Fraction
    used: Fraction
    wasted: Fraction
    paid: Fraction
    exposed: Fraction = _ZERO

    @property
    def owed(self) -> Fraction:
        """Return what is still to be paid."""
        return max(_ZERO, self.used + self.wasted - self.paid)

    @property
    def lost(self) -> Fraction:
        """Return what is paid and gone: the part of the payments that stands for nothing used."""
        if self.commitment.kind == "tools":
            return max(_ZERO, min(self.paid, self.exposed - self.owed))
        return max(_ZERO, min(self.paid, self.used + self.wasted) - self.used)

    @property
    def back(self) -> Fraction:
        """Return what is paid beyond what is owed: to be asked back, and counted nowhere."""
        return max(_ZERO, self.paid - self.used - self.wasted)

    @property
    def open(self) -> bool:
        """Return whether the fee is not known and counts in full."""
        return self.fee.share is None and self.wasted > 0


class Stopped(Struct, frozen=True, kw_only=True):
    """What is owed and lost if everything not begun is dropped on a Monday; ``cash`` is the money there is."""

    number: int
    day: dt.date
    cash: Fraction
    rows: tuple[Owed, ...]

    @property
    def owed(self) -> Fraction:
        """Return what is still to be paid in all."""
        return sum((row.owed for row in self.rows), _ZERO)

    @property
    def lost(self) -> Fraction:
        """Return what is paid and gone in all."""
        return sum((row.lost for row in self.rows), _ZERO)

    @property
    def back(self) -> Fraction:
        """Return what could be asked back."""
        return sum((row.back for row in self.rows), _ZERO)

    @property
    def open(self) -> Fraction:
        """Return what of it counts in full because no terms of cancelling are stated."""
        return sum((min(row.owed, row.wasted) for row in self.rows if row.open), _ZERO)

    @property
    def total(self) -> Fraction:
        """Return what stopping costs: owed and lost."""
        return self.owed + self.lost

    @property
    def left(self) -> Fraction:
        """Return the money left when all that is owed is paid; below zero it cannot be."""
        return self.cash - self.owed


def stops_by_week(product: Product, found: Commitments, ledger: Ledger) -> tuple[Stopped, ...]:
    """Return for every week of a plan what is owed if it is stopped on its Monday."""
    rows, cash = [], ledger.opening
    for week in ledger.weeks:
        rows.append(replace(stop_at(product, found, week.monday), number=week.number, cash=cash))
        cash = week.balance
    return tuple(rows)


def stop_at(product: Product, found: Commitments, day: dt.date) -> Stopped:
    """Return what is owed if everything that has not begun is dropped on a day; its cash is left at zero."""
    begun = begun_builds(found, day)
    rows = list(_wasted(found, day, found.needs, begun))
    rows += [_begun(each, day) for each in found.all if each.kind == "builds" and each.name in begun]
    rows += _tools(product, found, day, begun)
    return Stopped(number=0, day=day, cash=_ZERO, rows=tuple(_with_deposits(found, rows, day, begun)))


def begun_builds(found: Commitments, day: dt.date) -> frozenset[str]:
    """Return the builds that have started before a day or whose forecast is an order by then."""
    return frozenset(each.name for each in found.all if each.kind == "builds" and each.is_bound(day))


def _wasted(found: Commitments, day: dt.date, needs: Needs, kept: Collection[str]) -> Iterator[Owed]:
    """Yield the orders bound before a day, with what the builds that go on leave over of each."""
    pools: dict[Pool | None, list[Commitment]] = {}
    for each in found.all:
        if each.kind not in ("builds", "tools") and each.is_bound(day):
            pools.setdefault(each.pool, []).append(each)
    for pool, group in pools.items():
        own = needs.get(pool, {}) if pool is not None else {}
        used = sum((need for name, need in own.items() if name in kept), _ZERO)
        before = found.before.get(pool, _ZERO) if pool is not None else _ZERO
        overs = in_layers(group, before, used)
        yield from (_order(each, day, over) for each, over in zip(group, overs, strict=True))


def _order(each: Commitment, day: dt.date, over: Fraction) -> Owed:
    fee = fee_of(each.source, day, each.delivery, ours=each.ours, ncnr=each.ncnr)
    value = each.value or _ZERO
    if each.kind == "factory stock":
        uplift = each.uplift or _ZERO
        words = fee.words if each.uplift is not None else "the factory has no right to hand its stock over"
        wasted = value * over / each.qty * fee.counted * uplift
        return Owed(
            commitment=each, fee=replace(fee, words=words), over=over, used=_ZERO, wasted=wasted, paid=_ZERO
        )
    return Owed(
        commitment=each,
        fee=fee,
        over=over,
        used=value * (each.qty - over) / each.qty,
        wasted=value * over / each.qty * fee.counted,
        paid=each.paid(day),
    )


def _begun(each: Commitment, day: dt.date) -> Owed:
    words = (
        "begun" if each.delivery is not None and each.delivery < day else "its forecast is an order by now"
    )
    return Owed(
        commitment=each,
        fee=Fee(share=_ONE, words=words),
        over=_ZERO,
        used=each.value or _ZERO,
        wasted=_ZERO,
        paid=each.paid(day),
    )


def _tools(product: Product, found: Commitments, day: dt.date, begun: Collection[str]) -> Iterator[Owed]:
    """Yield the tools ordered before a day: what is not paid, and what the builds begun do not recover."""
    pieces: dict[str, Fraction] = {}
    for name in begun:
        for part, count in found.made.get(name, {}).items():
            pieces[part] = pieces.get(part, _ZERO) + count
    for each in found.all:
        if each.kind == "tools" and each.is_bound(day):
            tool = product.tools[each.name]
            value = each.value or _ZERO
            made = max((pieces.get(part, _ZERO) for part in tool.makes), default=_ZERO)
            yield Owed(
                commitment=each,
                fee=Fee(share=_ONE, words="ordered; its milestones stay due"),
                over=_ONE,
                used=value,
                wasted=_ZERO,
                paid=each.paid(day),
                exposed=unrecovered(tool, value, made),
            )


def _with_deposits(
    found: Commitments, rows: list[Owed], day: dt.date, begun: Collection[str]
) -> Iterator[Owed]:
    """Yield the rows with deposits on builds not begun set against the stock of the same factory.

    What a deposit exceeds it by is to be asked back.
    """
    held: dict[str, Fraction] = {}
    waiting = [each for each in found.all if each.kind == "builds" and each.name not in begun]
    for each in waiting:
        held[each.firm] = held.get(each.firm, _ZERO) + each.paid(day)
    for row in rows:
        if row.commitment.kind == "factory stock" and held.get(row.commitment.firm):
            part = min(held[row.commitment.firm], row.wasted)
            held[row.commitment.firm] -= part
            words = f"{row.fee.words}; set against our deposit" if part else row.fee.words
            yield replace(row, paid=part, fee=replace(row.fee, words=words))
        else:
            yield row
    for each in waiting:
        rest = min(held.get(each.firm, _ZERO), each.paid(day))
        if rest:
            held[each.firm] -= rest
            fee = Fee(share=_ZERO, words="deposit on a build that is not begun")
            yield Owed(commitment=each, fee=fee, over=_ONE, used=_ZERO, wasted=_ZERO, paid=rest)


class Cut(Struct, frozen=True, kw_only=True):
    """What cutting a build to a quantity on a day adds to what is owed for nothing, commitment by commitment.

    ``rows`` pairs each commitment after the cut with what it wastes as planned and with what it adds. ``forced``
    is the factory's price of units that are made and paid all the same, for the build is an order by then.
    """

    build: str
    qty: int
    planned: Fraction
    day: dt.date
    forced: Fraction
    rows: tuple[tuple[Owed, Fraction, Fraction], ...]

    @property
    def total(self) -> Fraction:
        """Return what the cut costs in all."""
        return sum((added for _, _, added in self.rows), _ZERO)

    @property
    def lost(self) -> Fraction:
        """Return what of it is paid already, in the proportion each order is paid."""
        return sum((added * _paid_share(row) for row, _, added in self.rows), _ZERO)

    @property
    def owed(self) -> Fraction:
        """Return what of it is still to be paid."""
        return self.total - self.lost


def _paid_share(row: Owed) -> Fraction:
    value = row.commitment.value
    return min(_ONE, row.paid / value) if value else _ZERO


class CutTo(Struct, frozen=True, kw_only=True):
    """A build and the quantity to cut it to, with the needs and the pieces of the plan with that quantity."""

    build: str
    qty: int
    needs: Needs
    made: Mapping[str, Mapping[str, Fraction]]


def cut_at(product: Product, found: Commitments, day: dt.date, cut: CutTo) -> Cut:
    """Return what is owed more for nothing if a build is cut to a quantity on a day.

    A build that is begun, or whose forecast binds, is made as planned: nothing is left over then, and the units
    cut away are paid at the factory's price.
    """
    own = next((each for each in found.all if each.kind == "builds" and each.name == cut.build), None)
    planned = own.qty if own is not None else _ZERO
    if own is not None and own.is_bound(day):
        forced = (own.value or _ZERO) * max(_ZERO, own.qty - cut.qty) / own.qty
        return Cut(build=cut.build, qty=cut.qty, planned=planned, day=day, forced=forced, rows=())
    everything = {each.name for each in found.all if each.kind == "builds"}
    before = {_key(row): row for row in _wasted(found, day, found.needs, everything)}
    rows = [
        (row, before[_key(row)].wasted, row.wasted - before[_key(row)].wasted)
        for row in _wasted(found, day, cut.needs, everything)
    ]
    rows += _tools_cut(product, replace(found, made=cut.made), found, day)
    return Cut(
        build=cut.build,
        qty=cut.qty,
        planned=planned,
        day=day,
        forced=_ZERO,
        rows=tuple(row for row in rows if row[2]),
    )


def _key(row: Owed) -> tuple[str, str, tuple[str | int, ...]]:
    return row.commitment.kind, row.commitment.firm, row.commitment.home


def _tools_cut(
    product: Product, cut: Commitments, found: Commitments, day: dt.date
) -> Iterator[tuple[Owed, Fraction, Fraction]]:
    """Yield the tools that fewer units recover less of."""
    everything = {each.name for each in found.all if each.kind == "builds"}
    pairs = zip(_tools(product, cut, day, everything), _tools(product, found, day, everything), strict=True)
    for after, before in pairs:
        yield after, before.exposed, after.exposed - before.exposed


class Moving(Struct, frozen=True, kw_only=True):
    """An order when the builds that are not begun slip by some weeks.

    ``value`` is that of what waits. ``moves`` says whether its delivery can still be moved (None: no notice is
    stated, so it is taken to stay); ``carrying`` and ``storage`` are what waiting costs where it stays.
    """

    row: Owed
    value: Fraction
    moves: bool | None
    carrying: Fraction
    storage: Fraction

    @property
    def cost(self) -> Fraction:
        """Return what waiting costs."""
        return self.carrying + self.storage


def slip_at(product: Product, found: Commitments, day: dt.date, weeks: int) -> tuple[Moving, ...]:
    """Return what is bound on a day and waits if every build that is not begun slips by some weeks.

    Carrying = value x the product's carrying rate x weeks / 52 on what we buy; storage = the factory's monthly
    percentage on what it holds, months of thirty days.
    """
    rate = product.policy.carrying_rate
    yearly = Fraction(rate.fraction) if rate is not None else _ZERO
    moved = []
    for row in _wasted(found, day, found.needs, begun_builds(found, day)):
        each = row.commitment
        if not row.over or not each.value:
            continue
        value = each.value * row.over / each.qty
        moves = may_move(each.source, day, each.delivery)
        stays, factory = moves is not True, each.kind == "factory stock"
        moved.append(
            Moving(
                row=row,
                value=value,
                moves=moves,
                carrying=value * yearly * weeks / 52 if stays and not factory else _ZERO,
                storage=value * each.storage * weeks * 7 / 30 if stays and factory else _ZERO,
            )
        )
    return tuple(moved)
