"""From demand to what has to be at hand: attrition, loss at every reel mounted, lengths cut, rounded up once.

Demand is pooled over all uses first and rounded afterwards; rounding each line or each SKU buys too much.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.demand import Use
from ferrule.model.exact import total
from ferrule.model.records.product import Conventions
from ferrule.model.units import UNITS

__all__ = ["Gross", "Pack", "countable", "gross_of", "pieces_per_length"]

_ZERO = Fraction(0)
_COUNTED = ("count", "sets", "kits")


class Pack(Struct, frozen=True, kw_only=True):
    """The pack a part comes in, as far as losses go: its content, and whether it is mounted on a feeder."""

    size: Fraction | None = None
    mounted: bool = True


class Gross(Struct, frozen=True, kw_only=True):
    """What a demand needs at hand, with its working. All in the part's unit.

    ``demand`` is used up, ``attrition`` lost on the way, ``setup`` lost at ``mounts`` reels or strips,
    ``offcut`` lost where lengths are cut, ``total`` the sum, rounded up once where the part is counted in
    pieces. ``runs`` are separate set-ups. ``unknown`` says what is missing, which makes ``total`` too low.
    """

    demand: Fraction
    attrition: Fraction
    mounts: int
    setup: Fraction
    offcut: Fraction
    total: Fraction
    runs: int
    unknown: tuple[str, ...] = ()


def countable(unit: str) -> bool:
    """Return whether the unit counts whole things; lengths, masses and volumes are not rounded."""
    known = UNITS.get(unit)
    return known is not None and known.dimension in _COUNTED


def pieces_per_length(length: Fraction, cut: Fraction, kerf: Fraction) -> int:
    """Return how many pieces one length gives: each piece takes its cut and the kerf beside it."""
    return math.floor(length / (cut + kerf))


def gross_of(
    uses: Sequence[Use], unit: str, conventions: Conventions, pack: Pack, kerf: Fraction = _ZERO
) -> Gross:
    """Return what pooled uses of one part need at hand, from packs of a size.

    Add-on attrition needs ``D(1 + a)``, of-input ``D / (1 - a)``; a floor is the least lost in a run, the
    larger of both or their sum. ``mounts = max(runs, ceil(placed / (R - s)))`` and ``gross = placed +
    mounts * s`` for reels of R and a loss of s at each. Raises ValueError where a pack is all set-up loss or
    shorter than a cut.
    """
    counted = countable(unit)
    straight = [use for use in uses if use.cut is None]
    needed, placed = _placed(straight, conventions)
    if counted:
        placed = Fraction(math.ceil(placed))
    machine = [use for use in straight if use.machine and use.units and use.each]
    runs = {(use.run, use.assembly) for use in machine}
    loss = max((use.setup_loss or _ZERO for use in machine), default=_ZERO)
    mounts = _mounts(_by_machine(straight, placed, conventions), loss, len(runs), pack) if pack.mounted else 0
    lengths = _lengths([use for use in uses if use.cut is not None], conventions, pack, kerf)
    whole = placed + mounts * loss + lengths.total
    return Gross(
        demand=needed + lengths.demand,
        attrition=placed - needed + lengths.attrition,
        mounts=mounts if loss else 0,
        setup=mounts * loss,
        offcut=lengths.offcut,
        total=Fraction(math.ceil(whole)) if counted else whole,
        runs=len(runs),
        unknown=tuple(_unknown(uses)),
    )


def _unknown(uses: Iterable[Use]) -> list[str]:
    missing = []
    if any(use.attrition is None for use in uses):
        missing.append("attrition")
    if any(use.setup_loss is None for use in uses):
        missing.append("set-up loss")
    return missing


def _placed(uses: Iterable[Use], conventions: Conventions) -> tuple[Fraction, Fraction]:
    """Return the pieces needed, and with attrition: run by run because a floor holds for each run."""
    runs: dict[tuple[str, str], list[Use]] = {}
    for use in uses:
        runs.setdefault((use.run, use.assembly), []).append(use)
    needed: list[Fraction] = []
    lost: list[Fraction] = []
    for run in runs.values():
        pieces = [use.pieces for use in run]
        needed += pieces
        lost.append(_lost(run, pieces, conventions))
    known = total(needed)
    return known, total([known, *lost])


def _by_machine(uses: Sequence[Use], placed: Fraction, conventions: Conventions) -> Fraction:
    """Return what machines place of all that is placed: what hands take needs no further mount."""
    machine = [use for use in uses if use.machine]
    return (
        placed
        if len(machine) == len(uses)
        else min(placed, Fraction(math.ceil(_placed(machine, conventions)[1])))
    )


def _lost(uses: Sequence[Use], pieces: Sequence[Fraction], conventions: Conventions) -> Fraction:
    """Return what one run loses on the way, the floor in it; nothing where nothing is used."""
    rates = [_rate(use, conventions) for use in uses]
    lost = total(rate * each for rate, each in zip(rates, pieces, strict=True) if rate)
    floor = max(
        (use.floor for use, each in zip(uses, pieces, strict=True) if each and use.floor), default=_ZERO
    )
    return lost + floor if conventions.attrition_floor == "sum" else max(lost, floor)


def _rate(use: Use, conventions: Conventions) -> Fraction:
    rate = use.attrition or _ZERO
    if not rate or conventions.attrition == "add-on":
        return rate
    if rate >= 1:
        raise ValueError(f"attrition of {rate * 100} % of the input leaves nothing")
    return rate / (1 - rate)


def _mounts(placed: Fraction, loss: Fraction, runs: int, pack: Pack) -> int:
    if not runs:
        return 0
    if pack.size is None:
        return runs
    if pack.size <= loss:
        raise ValueError(f"a pack of {pack.size} is all lost at set-up")
    return max(runs, math.ceil(placed / (pack.size - loss)))


class _Lengths(Struct, frozen=True):
    demand: Fraction
    attrition: Fraction
    offcut: Fraction
    total: Fraction


_NO_LENGTHS = _Lengths(_ZERO, _ZERO, _ZERO, _ZERO)


def _lengths(uses: Sequence[Use], conventions: Conventions, pack: Pack, kerf: Fraction) -> _Lengths:
    """Return what cut lengths take: whole rolls as long as they are used up, then metre by metre.

    Each length is cut from rolls of its own; mixing lengths on one roll may save some.
    """
    by_cut: dict[Fraction, list[Use]] = {}
    for use in uses:
        by_cut.setdefault(use.cut or _ZERO, []).append(use)
    if not by_cut:
        return _NO_LENGTHS
    net, attrition, taken = _ZERO, _ZERO, _ZERO
    for cut, group in sorted(by_cut.items()):
        wanted, placed = _placed(group, conventions)
        pieces = math.ceil(placed)
        net += wanted * cut
        attrition += (pieces - wanted) * cut
        taken += _rolls(pieces, cut, kerf, pack.size)
    return _Lengths(net, attrition, taken - net - attrition, taken)


def _rolls(pieces: int, cut: Fraction, kerf: Fraction, size: Fraction | None) -> Fraction:
    if size is None:
        return pieces * (cut + kerf)
    fit = pieces_per_length(size, cut, kerf)
    if not fit:
        raise ValueError(f"a piece of {cut} does not fit into a length of {size}")
    full, rest = divmod(pieces, fit)
    return full * size + rest * (cut + kerf)
