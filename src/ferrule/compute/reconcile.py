"""Consigned parts: what was sent, what is accounted for, and the most units that could exist unseen.

unproven = issued - (in good units + in process + returned + counted + scrap proven by carcass)
chargeable = max(0, unproven - floor(allowance * used)), used = in good units + in process
unseen units <= min over parts of floor(unproven / per unit)

The allowance forgives money; it does not lower the bound. Scrap without a carcass is unproven. A part that can be
bought elsewhere bounds nothing. The bound is only as good as the counts: "at most n, if ...", never an accusation.
The formulas are common practice in consignment accounting, without a published source.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.structure import Structure
from ferrule.compute.whereused import above
from ferrule.model.money import Money
from ferrule.model.product import Product
from ferrule.model.records.counts import Made, Movement
from ferrule.model.records.part import Consigned

__all__ = ["Account", "Bound", "Custody", "reconcile"]

_ZERO = Fraction(0)


class Account(Struct, frozen=True, kw_only=True):
    """One consigned part at one custodian, in pieces.

    ``per_unit`` is how many go into one unit of what the custodian reports, the smallest where it makes several;
    None where it reports nothing with the part in it or a line does not say how many. ``claimed`` is scrap
    without a carcass. ``counted_on`` is the day of the last count, ``since`` what was issued after it.
    ``identities`` are those issued and not seen again, None where the part carries none. ``movements`` and
    ``reports`` are the records' places in their lists.
    """

    part: str
    custodian: str
    issued: Fraction
    good: Fraction
    in_process: Fraction
    returned: Fraction
    counted: Fraction
    carcasses: Fraction
    claimed: Fraction
    per_unit: Fraction | None
    counted_on: dt.date | None
    since: Fraction
    allowance: Fraction | None
    value: Money | None
    buyable_elsewhere: bool | None
    identities: Fraction | None
    movements: tuple[int, ...]
    reports: tuple[int, ...]

    @property
    def used(self) -> Fraction:
        """Return the pieces in good units and in process: what the allowance is a share of."""
        return self.good + self.in_process

    @property
    def balance(self) -> Fraction:
        """Return issued less all that is accounted for; negative where more was seen than ever issued."""
        return self.issued - (self.used + self.returned + self.counted + self.carcasses)

    @property
    def unproven(self) -> Fraction:
        """Return the pieces nobody can show."""
        return max(_ZERO, self.balance)

    @property
    def surplus(self) -> Fraction:
        """Return the pieces seen beyond those issued: then the records are wrong, and the part bounds nothing."""
        return max(_ZERO, -self.balance)

    @property
    def storyless(self) -> Fraction:
        """Return the unproven pieces that nobody even claims as scrap."""
        return max(_ZERO, self.unproven - self.claimed)

    @property
    def forgiven(self) -> int | None:
        """Return the pieces that the allowance forgives; None where none is agreed."""
        return None if self.allowance is None else math.floor(self.allowance * self.used)

    @property
    def chargeable(self) -> Fraction | None:
        """Return the pieces to be paid; None where no allowance is agreed."""
        return None if self.forgiven is None else max(_ZERO, self.unproven - self.forgiven)

    @property
    def unseen(self) -> int | None:
        """Return the most units that this part leaves room for; None where it bounds nothing."""
        return self._units(self.unproven)

    @property
    def from_issues(self) -> int | None:
        """Return the same from issues and good units alone, as if nothing else had ever been counted."""
        return self._units(max(_ZERO, self.issued - self.good))

    @property
    def per_unit_known(self) -> Fraction:
        """Return the pieces in one unit; raises ValueError where nobody knows."""
        if not self.per_unit:
            raise ValueError(f"nothing says how many {self.part} a unit holds")
        return self.per_unit

    def _units(self, pieces: Fraction) -> int | None:
        if not self.per_unit or self.surplus or self.buyable_elsewhere is not False:
            return None
        return math.floor(pieces / self.per_unit)


class Bound(Struct, frozen=True, kw_only=True):
    """The most units that could exist at a custodian without having been seen.

    ``binding`` are the parts that set it. ``from_issues`` is the bound without any count. ``with_identity`` is
    how many of them could also carry an identity of ours, None where no part carries one. ``to_lower`` gives for
    each binding part the pieces to show that lower the bound by one, ``carcasses`` the bound once the carcasses
    of all claimed scrap are shown. ``undecided`` are parts that would tighten it if they cannot be bought.
    """

    unseen: int
    binding: tuple[str, ...]
    from_issues: int
    with_identity: int | None
    to_lower: Mapping[str, Fraction]
    carcasses: int
    undecided: tuple[str, ...]


class Custody(Struct, frozen=True, kw_only=True):
    """All accounts at one custodian, and the bound; None where no part there can bound anything."""

    custodian: str
    accounts: tuple[Account, ...]
    bound: Bound | None
    #: Good units reported, by what was made.
    good: Mapping[str, Fraction]
    #: What was reported both by itself and inside something else: (inner, outer).
    nested: tuple[tuple[str, str], ...]


def reconcile(product: Product, structure: Structure) -> tuple[Custody, ...]:
    """Return the custody of every custodian, by name. Raises ValueError where assemblies contain themselves.

    Issues, returns and scrap add up; a count and a report of what is in process stand for their day, the last
    one counts. Where a thing is reported by itself and inside a larger one, pieces are those of the innermost
    things or of the outermost, whichever is more: never both, so that doubt does not lower the bound.
    """
    pairs = sorted({(row.custodian, row.part) for row in product.movements} | _declared(product))
    custodians = dict.fromkeys(custodian for custodian, _ in pairs)
    return tuple(
        _custody(product, structure, custodian, [part for holder, part in pairs if holder == custodian])
        for custodian in custodians
    )


def _declared(product: Product) -> set[tuple[str, str]]:
    return {
        (item.consigned.custodian, number)
        for _, number, item in product.items()
        if item.consigned is not None and item.consigned.custodian is not None
    }


def _custody(product: Product, structure: Structure, custodian: str, parts: Iterable[str]) -> Custody:
    reports = [(at, made) for at, made in enumerate(product.made) if made.factory == custodian]
    good: dict[str, Fraction] = {}
    for _, made in reports:
        good[made.sku] = good.get(made.sku, _ZERO) + Fraction(made.good)
    nested = tuple(
        (inner, outer) for inner in good for outer in above(structure, inner).quantities if outer in good
    )
    accounts = tuple(_account(product, structure, (custodian, part), reports, nested) for part in parts)
    return Custody(custodian=custodian, accounts=accounts, bound=_bound(accounts), good=good, nested=nested)


def _account(
    product: Product,
    structure: Structure,
    who: tuple[str, str],
    reports: Sequence[tuple[int, Made]],
    nested: Sequence[tuple[str, str]],
) -> Account:
    custodian, part = who
    rows = [
        (at, row)
        for at, row in enumerate(product.movements)
        if row.part == part and row.custodian == custodian
    ]
    moved = [row for _, row in rows]
    counted_on = max((row.date for row in moved if row.kind == "counted"), default=None)
    uses = above(structure, part)
    used = [(at, made) for at, made in reports if made.sku in uses.quantities]
    each = {made.sku: Fraction(uses.quantities[made.sku]) for _, made in used}
    known = not any(made.sku in uses.at_least for _, made in used)
    item = product.item(part)
    consigned = (item.consigned if item is not None else None) or Consigned()
    reported = [made for _, made in used]
    return Account(
        part=part,
        custodian=custodian,
        issued=_sum(moved, "issued"),
        good=_pieces([(made, Fraction(made.good)) for made in reported], each, nested),
        in_process=_pieces(_begun(reported), each, nested) + _last(moved, "in process"),
        returned=_sum(moved, "returned"),
        counted=_last(moved, "counted"),
        carcasses=_sum(moved, "scrap with carcass"),
        claimed=_sum(moved, "scrap claimed"),
        per_unit=min(each.values()) if each and known else None,
        counted_on=counted_on,
        since=_issued_after(moved, counted_on),
        allowance=None if consigned.allowance is None else Fraction(consigned.allowance.fraction),
        value=consigned.value,
        buyable_elsewhere=consigned.buyable_elsewhere,
        identities=_identities(moved, reported) if consigned.identities else None,
        movements=tuple(at for at, _ in rows),
        reports=tuple(at for at, _ in used),
    )


def _sum(moved: Iterable[Movement], kind: str) -> Fraction:
    return sum((Fraction(row.qty) for row in moved if row.kind == kind), _ZERO)


def _last(moved: Iterable[Movement], kind: str) -> Fraction:
    """Return what the rows of the last day of a kind say together."""
    rows = [row for row in moved if row.kind == kind]
    last = max((row.date for row in rows), default=None)
    return sum((Fraction(row.qty) for row in rows if row.date == last), _ZERO)


def _issued_after(moved: Iterable[Movement], day: dt.date | None) -> Fraction:
    return sum(
        (Fraction(row.qty) for row in moved if row.kind == "issued" and (day is None or row.date > day)),
        _ZERO,
    )


def _begun(reported: Iterable[Made]) -> list[tuple[Made, Fraction]]:
    """Return the units in process by the last report of each thing and build."""
    last: dict[tuple[str, str | None], Made] = {}
    for made in reported:
        key = (made.sku, made.build)
        if key not in last or made.date >= last[key].date:
            last[key] = made
    return [(made, Fraction(made.in_process or 0)) for made in last.values()]


def _pieces(
    units: Sequence[tuple[Made, Fraction]], each: Mapping[str, Fraction], nested: Sequence[tuple[str, str]]
) -> Fraction:
    """Return the pieces in units reported: of the innermost things or the outermost, whichever is more."""
    inner, outer = {row[0] for row in nested}, {row[1] for row in nested}

    def total(left_out: set[str]) -> Fraction:
        rows = ((made, many) for made, many in units if made.sku not in left_out)
        return sum((many * each[made.sku] for made, many in rows), _ZERO)

    return max(total(inner), total(outer))


def _identities(moved: Iterable[Movement], reported: Iterable[Made]) -> Fraction:
    """Return the identities issued that were seen on no unit, carcass, return, count or thing in process.

    A count and what is in process stand for their last day.
    """
    rows = list(moved)
    issued = sum((Fraction(row.identities or 0) for row in rows if row.kind == "issued"), _ZERO)
    seen = sum((Fraction(made.identities or 0) for made in reported), _ZERO)
    for kind in ("returned", "scrap with carcass"):
        seen += sum((Fraction(row.identities or 0) for row in rows if row.kind == kind), _ZERO)
    for kind in ("counted", "in process"):
        last = max((row.date for row in rows if row.kind == kind), default=None)
        seen += sum(
            (Fraction(row.identities or 0) for row in rows if row.kind == kind and row.date == last), _ZERO
        )
    return max(_ZERO, issued - seen)


def _bound(accounts: Sequence[Account]) -> Bound | None:
    """Return the least bound over the parts that bound anything."""
    rooms = {account.part: account.unseen for account in accounts}
    known = {part: room for part, room in rooms.items() if room is not None}
    if not known:
        return None
    unseen = min(known.values())
    binding = tuple(part for part, room in known.items() if room == unseen)
    issues = [account.from_issues for account in accounts if account.from_issues is not None]
    identities = [account.identities for account in accounts if account.identities is not None]
    return Bound(
        unseen=unseen,
        binding=binding,
        from_issues=min(issues),
        with_identity=min(unseen, math.floor(min(identities))) if identities else None,
        to_lower={
            account.part: _to_lower(account, unseen) for account in accounts if account.part in binding
        },
        carcasses=min(_with_carcasses(account) for account in accounts if account.unseen is not None),
        undecided=tuple(
            account.part
            for account in accounts
            if account.buyable_elsewhere is None and account.per_unit and not account.surplus
        ),
    )


def _to_lower(account: Account, unseen: int) -> Fraction:
    """Return the pieces of a part to be shown before it leaves room for one unit less."""
    return account.unproven - account.per_unit_known * unseen + 1 if unseen else _ZERO


def _with_carcasses(account: Account) -> int:
    return math.floor(account.storyless / account.per_unit_known)
