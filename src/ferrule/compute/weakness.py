"""How much of a unit's cost rests on prices that are missing, expired, spoken or otherwise weak."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct

from ferrule.compute.cost import UnitCost

__all__ = ["Weakness", "weakness"]

_ZERO = Fraction(0)


class Weakness(Struct, frozen=True, kw_only=True):
    """How much of a cost rests on weak ground: share of the known cost by kind, and names without a price."""

    shares: Mapping[str, Fraction]
    missing: tuple[str, ...]

    @property
    def share(self) -> Fraction:
        """Return the share of all kinds together."""
        return sum(self.shares.values(), _ZERO)


def weakness(cost: UnitCost) -> Weakness:
    """Return the share of a cost that rests on missing, expired or otherwise weak prices.

    A price that is weak in several ways counts once, for its first. What has no price at all has no share;
    it is named.
    """
    total = cost.total
    shares: dict[str, Fraction] = {}
    for each in cost.contributions:
        if each.weak and each.amount and total:
            shares[each.weak[0]] = shares.get(each.weak[0], _ZERO) + each.amount / total
    missing = dict.fromkeys(each.name for each in cost.contributions if each.amount is None)
    return Weakness(shares=dict(sorted(shares.items())), missing=tuple(missing))
